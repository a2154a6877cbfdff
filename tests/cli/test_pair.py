"""`quickcheck pair`: a code for one device."""

import re
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from quickcheck.store import Role, open_store
from tests.cli.kit import printed_json, run

BASE = "https://show.example/"


def test_the_code_pairs_one_device(data: Path) -> None:
    """Address, typed code and symbol are one; it lets one device in, in that role and book."""
    with open_store(data / "book.sqlite3") as store:
        book = store.access.new_book("Balcony", datetime.now(UTC))
    result = run(
        "pair", "--role", "kiosk", "--book", "balcony", "--name", "Desk 1", "--base-url", BASE
    )
    assert result.exit_code == 0, result.output
    (address,) = re.findall(r"https://show\.example/pair/[0-9a-z]{26}", result.stdout)
    (typed,) = re.findall(r"^  ((?:[0-9A-Z]{5}-){5}[0-9A-Z])$", result.stdout, re.MULTILINE)
    assert read_symbol(result.stdout) == address
    assert "No organizer is set up" in result.stdout
    with open_store(data / "book.sqlite3") as store:
        _, device = store.access.pair(typed, datetime.now(UTC))
        assert (device.role, device.book, device.name) == (Role.KIOSK, book.id, "Desk 1")


def test_as_json(data: Path) -> None:
    """The same for a script: a dealer's phone and the first book where nothing else is said."""
    open_store(data / "book.sqlite3").close()
    told = printed_json(run("pair", "--json"))
    assert told["address"] == f"http://localhost:8000/pair/{told['code']}"
    assert (told["role"], told["book"]) == ("dealer", "This book")
    assert datetime.fromisoformat(told["until"]) > datetime.now(UTC)


def test_a_book_that_is_not_there(data: Path) -> None:
    """It is told which there are."""
    open_store(data / "book.sqlite3").close()
    result = run("pair", "--book", "Cellar")
    assert result.exit_code == 7
    assert 'expected one of This book; got "Cellar"' in result.stderr


def test_no_book_at_all(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """None is made to pair somebody with; where the environment names one, it is that one."""
    result = run("pair")
    assert result.exit_code == 7
    assert "a data folder with a book" in result.stderr
    monkeypatch.setenv("QUICKCHECK_DATABASE_URL", f"sqlite:///{tmp_path}/elsewhere.sqlite")
    assert run("pair").exit_code == 0
    assert not (data / "book.sqlite3").exists()


def read_symbol(text: str) -> str:
    """Return what a camera reads off a terminal whose letters are light on dark."""
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0), "\xa0": (0, 0)}
    lines = [line for line in text.splitlines() if line and set(line) <= set(halves)]
    width = max(map(len, lines))
    rows = [[halves[sign][half] for sign in line.ljust(width)] for line in lines for half in (0, 1)]
    picture = np.kron(np.array(rows, np.uint8), np.ones((8, 8), np.uint8))
    (found,) = zxingcpp.read_barcodes(np.pad(picture, 32, constant_values=255))
    return str(found.text)
