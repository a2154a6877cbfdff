"""A book of the step before sealing, with something in it, brought up to date."""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

import pytest
from alembic import command

from quickcheck.store import open_store
from quickcheck.store.schema import STEPS, alembic_config
from quickcheck.store.session import connect
from tests.store.samples import document, reference
from tests.store.sealing import card, new_signer

INSPECTION = UUID(int=7)
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)


@pytest.fixture(name="old")
def _old(place: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, list[tuple[object, ...]]]:
    """Make a book at step 0002 with an inspection, a device and a start; return all its rows."""
    database = connect(place, patience=5)
    with database.writing() as connection:
        command.upgrade(alembic_config(connection), "0002")
    database.close()
    monkeypatch.setattr("quickcheck.store.schema.STEPS", ("0001", "0002"))
    with open_store(place) as store:
        store.library.keep(reference())
        store.book.open(INSPECTION, reference(), document(name="Old"), now=NOW)
        store.book.save(INSPECTION, document(name="Newer"), revision=1, now=NOW)
        store.devices.welcome(NOW)
    monkeypatch.undo()
    return rows_of(place)


def rows_of(place: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table of the file."""
    with sqlite3.connect(place) as file:
        names = [
            name for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type='table'")
        ]
        rows = {
            name: file.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall()  # noqa: S608
            for name in names
            if name != "alembic_version"
        }
    file.close()
    return rows


def test_what_was_there_is_there(
    place: Path, tmp_path: Path, old: dict[str, list[tuple[object, ...]]]
) -> None:
    """Every row is as it was, the tables of sealing are beside it, and cards can be issued."""
    assert "card" not in old
    assert len(old["revision"]) == 2
    with open_store(place) as store:
        assert store.health()["schema"] == STEPS[-1]
        assert store.book.get(INSPECTION).name == "Newer"
        now = rows_of(place)
        assert {name: now[name] for name in old if name != "start"} == {
            name: rows for name, rows in old.items() if name != "start"
        }
        assert set(now) - set(old) == {"issuer_key", "card", "recall", "show"}
        issued = store.cards.issue(card(), new_signer(store, tmp_path / "keys"))
        assert store.cards.check(issued.data).stands


def test_an_older_program_leaves_it_alone(
    place: Path, old: dict[str, list[tuple[object, ...]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that knows two steps refuses a book of more."""
    newest = STEPS[-1]
    open_store(place).close()
    monkeypatch.setattr("quickcheck.store.schema.STEPS", ("0001", "0002"))
    with pytest.raises(Exception, match=f'up to step 0002; got a database at step "{newest}"'):
        open_store(place)
