"""``quickcheck move``, and a book that stands where the environment says."""

import json
from pathlib import Path

import pytest

from quickcheck.store import open_store
from tests.cli.kit import run
from tests.postgres import Cluster, programs

pytestmark = [
    pytest.mark.postgresql,
    pytest.mark.skipif(programs() is None, reason="PostgreSQL is not installed"),
]


def test_a_book_moves(data: Path, postgresql: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables, counts and hashes are told; from then on the environment names the book."""
    open_store(data / "book.sqlite3").close()
    address = postgresql.new()
    moved = run("move", address)
    assert moved.exit_code == 0
    assert "Moved, and the same in both: 19 rows." in moved.stdout
    again = run("move", address, "--json")
    assert again.exit_code == 9
    assert "an empty database" in json.loads(again.stdout)["faults"][0]["expected"]
    monkeypatch.setenv("QUICKCHECK_DATABASE_URL", address)
    assert run("keys", "list").exit_code == 0
    fresh = json.loads(run("move", postgresql.new(), "--json").stdout)
    assert fresh["tally"]["rows"] == 16
