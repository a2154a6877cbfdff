"""A book of an older step, with something in it, brought up to date."""

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
_AT = "2026-04-11 12:00:00.000000"
_CHANGED = frozenset({"start", "server", "inspection"})
"""Tables that a later step or the opening itself changes."""


@pytest.fixture(name="old", params=["0002", "0003"])
def _old(place: Path, request: pytest.FixtureRequest) -> dict[str, list[tuple[object, ...]]]:
    """Make a book as an older program left it; return all its rows."""
    with open_store(place) as store:
        store.library.keep(reference())
        store.book.open(INSPECTION, reference(), document(name="The Old One"), now=NOW)
        revisions = rows_of(place)["revision"]
        editions = {
            name: rows_of(place)[name] for name in ("edition", "picture", "edition_picture")
        }
    place.unlink()
    database = connect(place, patience=5)
    with database.writing() as connection:
        command.upgrade(alembic_config(connection), request.param)
    database.close()
    with sqlite3.connect(place) as file:
        for name, rows in editions.items():
            _insert(file, name, rows)
        edition = editions["edition"][0][0]
        inspection = (INSPECTION.hex, edition, 1, _AT, _AT, "The Old One", "", "the old one\n52-47")
        _insert(file, "inspection", [inspection])
        _insert(file, "revision", revisions)
        file.execute("UPDATE server SET commits = 41")
        _insert(file, "start", [(1, "ab" * 16, 3, _AT)])
    file.close()
    return rows_of(place)


def _insert(file: sqlite3.Connection, table: str, rows: list[tuple[object, ...]]) -> None:
    marks = ", ".join("?" * len(rows[0]))
    file.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)  # noqa: S608


def rows_of(place: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table of the file."""
    with sqlite3.connect(place) as file:
        query = "SELECT name FROM sqlite_master WHERE type = 'table'"
        names = [name for (name,) in file.execute(query) if not name.startswith("finding")]
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
    """Every row is as it was, the new tables are beside it, and cards can be issued."""
    with open_store(place) as store:
        assert store.health()["schema"] == STEPS[-1]
        assert store.book.get(INSPECTION).name == "The Old One"
        now = rows_of(place)
        kept = set(old) - _CHANGED
        assert {name: now[name] for name in kept} == {name: old[name] for name in kept}
        assert set(now) - set(old) >= {"tally"}
        issued = store.cards.issue(card(), new_signer(store, tmp_path / "keys"))
        assert store.cards.check(issued.data).stands


@pytest.mark.parametrize("words", ["old", "o", "47", "2-4"])
def test_what_was_there_is_found(
    place: Path, old: dict[str, list[tuple[object, ...]]], words: str
) -> None:
    """Words that an older program kept are found as those of today are."""
    with open_store(place) as store:
        assert [saved.id for saved in store.book.list(matching=words)] == [INSPECTION]
        assert store.health()["found_by"] == "index"


def test_what_was_told_is_still_counted(
    place: Path, old: dict[str, list[tuple[object, ...]]]
) -> None:
    """Marks that devices remember are not taken for writes that are gone."""
    (server,) = old["server"]
    with open_store(place) as store:
        assert store.server.standing(NOW).commits == 41
        mark = f"{server[1]}.{'ab' * 16}.41"
        assert store.server.compare(mark, NOW).epoch == server[2]


def test_an_older_program_leaves_it_alone(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that knows two steps refuses a book of today."""
    open_store(place).close()
    monkeypatch.setattr("quickcheck.store.schema.STEPS", ("0001", "0002"))
    with pytest.raises(Exception, match=rf'up to step 0002; got a database at step "{STEPS[-1]}"'):
        open_store(place)
