"""`quickcheck serve` and `quickcheck demo`."""

import re
import socket
import stat
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from quickcheck.desk import Doors, Shelf, cards_of, issuer_here
from quickcheck.errors import StoreError
from quickcheck.store import KeyFiles, Store, open_store
from tests.cli.kit import printed_json, run
from tests.kit import Server

GENERAL = "us-electric-by-markings"
"""The reference that every book has from the start, for what no other one fits."""


@dataclass
class NotingServer:
    """Stands in for the server: starts, notes what it was given, and ends at once."""

    given: dict[str, Any] = field(default_factory=dict)

    def __call__(
        self,
        store: Store,
        shelf: Shelf,
        *,
        keys: KeyFiles,
        doors: Doors,
        started: Callable[[], None],
    ) -> None:
        """Note what it would serve."""
        started()
        books = store.book.list(100)
        self.given = {
            "references": sorted(shelf.current),
            "issuer": issuer_here(store, keys),
            "base_url": doors.home,
            "port": doors.port,
            "book": [saved.document.get("name") for saved in books],
            "editions": store.health()["editions"],
        }


def test_serve(data: Path) -> None:
    """`serve` serves the references of the data folder and an empty book, and says where."""
    server = NotingServer()
    result = run("serve", "--port", "8123", server=server)
    assert result.exit_code == 0
    assert result.stdout == "Open http://localhost:8123\n"
    assert server.given == {
        "references": ["loom-one", GENERAL],
        "issuer": "",
        "base_url": "http://localhost:8123",
        "port": 8123,
        "book": [],
        "editions": 2,
    }
    assert (data / "book.sqlite3").is_file()


def test_serve_json() -> None:
    """With --json the same is told as data."""
    told = printed_json(run("serve", "--json", server=NotingServer()))
    assert told == {"open": "http://localhost:8000", "references": ["loom-one", GENERAL]}


def test_demo_has_an_issuer(data: Path) -> None:
    """The demo makes itself one key, so that its cards are sealed, and keeps it at a later start."""
    first, second = NotingServer(), NotingServer()
    run("demo", server=first)
    run("demo", server=second)
    assert first.given["issuer"] == second.given["issuer"] == "Fettle & Daughter (invented)"
    (kept,) = (data / "demo" / "keys").glob("*.pem")
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_demo_has_cards(data: Path) -> None:
    """Its weekend ended in four cards, of which one was taken back; a later start adds none."""
    for _ in range(2):
        run("demo", server=NotingServer())
    with open_store(data / "demo" / "book.sqlite3") as store:
        found = [card for saved in store.book.list(100) for card in cards_of(store, saved.id)]
        states = sorted(card.seal.state for card in found)
    assert states == ["sealed", "sealed", "sealed", "withdrawn"]


def test_serve_finds_its_key(data: Path) -> None:
    """A key that `keys make` made is the one that `serve` seals with."""
    run("keys", "make", "Pegbox Lane")
    server = NotingServer()
    run("serve", server=server)
    assert server.given["issuer"] == "Pegbox Lane"


def test_base_url() -> None:
    """What a card's code leads to can be named."""
    server = NotingServer()
    run("serve", "--base-url", "https://cards.example", server=server)
    assert server.given["base_url"] == "https://cards.example"


def test_faulty_reference_is_told(data: Path) -> None:
    """A reference with faults does not hold the others up, and its faults are told."""
    (data / "references" / "bad.toml").write_text("format = 1", encoding="utf-8")
    server = NotingServer()
    result = run("serve", server=server)
    assert "bad.toml was not loaded" in result.stderr
    assert server.given["references"] == ["loom-one", GENERAL]


def test_demo_fills_the_book_once(data: Path) -> None:
    """The demo's book is full at the first start and has nothing twice at the second."""
    first, second = NotingServer(), NotingServer()
    run("demo", server=first)
    run("demo", server=second)
    assert len(first.given["references"]) == 4
    assert GENERAL in first.given["references"]
    assert len(first.given["book"]) >= 12
    assert "The Vicar" in first.given["book"]
    assert second.given == first.given
    assert not (data / "book.sqlite3").exists()


def test_demo_keeps_what_was_added(data: Path) -> None:
    """A later start keeps the demo's book as it was left; --fresh begins anew."""
    run("demo", server=NotingServer())
    note = data / "demo" / "note.txt"
    note.write_text("mine", encoding="utf-8")
    run("demo", server=NotingServer())
    assert note.exists()
    server = NotingServer()
    run("demo", "--fresh", server=server)
    assert not note.exists()
    assert "The Vicar" in server.given["book"]


@pytest.mark.parametrize("command", ["serve", "demo"])
@pytest.mark.parametrize("port", ["0", "65536", "eighty", "-1"])
def test_bad_port(command: str, port: str) -> None:
    """A port that is none is refused by the command line."""
    result = run(command, "--port", port, server=NotingServer())
    assert result.exit_code == 2
    assert "--port" in result.stderr


def test_folder_that_cannot_be_made(tmp_path: Path) -> None:
    """A data folder that can't be made is told with what to do."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = run("serve", "--data", tmp_path / "file" / "data", server=NotingServer())
    assert result.exit_code == StoreError.exit_code
    assert "Choose another with --data" in result.stderr


def test_damaged_book(data: Path) -> None:
    """A book that is no database is told, and left as it is."""
    (data / "book.sqlite3").write_bytes(b"not a database" * 100)
    result = run("serve", server=NotingServer())
    assert result.exit_code == StoreError.exit_code
    assert (data / "book.sqlite3").read_bytes() == b"not a database" * 100


@pytest.mark.browser
def test_real_process(tmp_path: Path) -> None:
    """The command, started from nothing, serves its pages, and ends when it is asked to."""
    with Server(tmp_path / "demo", tree=Path.cwd()) as server:
        assert server.get("/").status == 200
        assert len(re.findall(r'href="/inspect/', server.get("/book").text)) >= 12
        assert f"Open {server.url}" in server.log.read_text(encoding="utf-8")
        assert "Traceback" not in server.log.read_text(encoding="utf-8")


@pytest.mark.browser
def test_taken_port(tmp_path: Path) -> None:
    """A port that something listens on is told with what to do, and nothing is served."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        server = Server(tmp_path / "demo", port=listener.getsockname()[1])
        try:
            server.start()
            assert server.process
            assert server.process.wait(30) == StoreError.exit_code
        except RuntimeError as error:
            assert "--port" in str(error)  # noqa: PT017 – whichever the helper sees first
        else:
            assert "choose another with --port" in server.log.read_text(encoding="utf-8")
        finally:
            server.kill()
