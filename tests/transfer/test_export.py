"""An export: all of the book, of one moment, the same each time, readable without the program."""

import csv
import hashlib
import io
import json
import resource
import sqlite3
import stat
import subprocess
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from quickcheck.desk import check_export, export_book, judge_sheet
from quickcheck.desk.exporting import COLUMNS, _Rows
from quickcheck.errors import ExportError, StoreError
from quickcheck.readings.months import parse_month
from quickcheck.store import CarriedInspection, Extent, Sent, Store, open_store, outgoing
from quickcheck.store.tables import Row
from quickcheck.transfer import Sheet, open_bundle, proving, take, write_book, writing
from quickcheck.transfer.writing import defused
from tests.store.samples import document, reference
from tests.transfer.filled import (
    FROM_PHONE,
    FULL_ONE,
    IN_A_VISIT,
    JPEG,
    NEVER_OPENED,
    NOW,
    OTHER_EDITION,
    at,
    name_of,
    rows,
)


def written(path: Path) -> dict[str, bytes]:
    """Return all members of an export."""
    with zipfile.ZipFile(path) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def test_an_empty_book_takes_all_of_it(book: Store, place: Path, other: Store) -> None:
    """Row for row, but for what a book has of its own and what must stay secret."""
    exported = export_book(book, place.with_name("x.zip"), now=NOW)
    with open_bundle(exported.path) as sound:
        taken = take(other, sound)
    theirs, ours = rows(place), rows(place.with_name("other.sqlite3"))
    assert theirs == ours
    assert all(theirs.values())  # nothing is the same because there is none of it
    assert (taken.editions, taken.devices, taken.photos) == (2, 2, 3)
    assert ([each.called for each in taken.books], taken.show) == (["Balcony"], True)
    assert (len(taken.seals.keys), taken.seals.cards, taken.seals.recalls) == (3, 4, 2)
    assert not taken.beside
    assert other.book.history(FULL_ONE) == book.book.history(FULL_ONE)
    assert other.book.undecided() == book.book.undecided()
    assert other.book.list(matching="hyperlink poplin") == book.book.list(matching="hyperlink")
    assert other.photos.get(FULL_ONE, name_of(JPEG)).content == JPEG
    assert other.check() == ()


def test_the_same_book_gives_the_same_bytes(book: Store, tmp_path: Path) -> None:
    """Twice at one time: the same file; at another time only the manifest and its sum differ."""
    files = [
        export_book(book, tmp_path / f"{n}.zip", now=when).path
        for n, when in enumerate((NOW, NOW, at(60)))
    ]
    assert files[0].read_bytes() == files[1].read_bytes()
    first, later = written(files[0]), written(files[2])
    assert {name for name in first if first[name] != later[name]} == {"manifest.json", "SHA256SUMS"}


def test_names_and_rights(book: Store, tmp_path: Path) -> None:
    """A folder gets a file with the day in its name, a second one with a number; both are 0600."""
    folder = tmp_path / "stick"
    folder.mkdir()
    names = [export_book(book, folder, now=NOW).path.name for _ in range(3)]
    days = [f"quickcheck-book-2026-04-11{n}.zip" for n in ("", "-2", "-3")]
    assert names == days
    assert sorted(path.name for path in folder.iterdir()) == sorted(days)
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()} == {0o600}


def test_anybody_can_check_it(exported: Path, tmp_path: Path) -> None:
    """`unzip -t` finds no error; `sha256sum --check` reads the list of sums, which names all."""
    tested = subprocess.run(["unzip", "-tq", exported], capture_output=True, text=True, check=False)
    assert tested.returncode == 0, tested.stdout
    subprocess.run(["unzip", "-qq", exported, "-d", tmp_path], check=True)
    told = subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    members = set(written(exported)) - {"SHA256SUMS"}
    assert {line.removesuffix(": OK") for line in told.stdout.splitlines()} == members
    end = exported.read_bytes()
    assert end.endswith(b"sha256 " + hashlib.sha256(end[:-64]).hexdigest().encode())


def test_what_is_in_it(exported: Path) -> None:
    """Each kind of member by its name; every document as text that its hash is of, with its sender."""
    found = written(exported)
    inspections = {
        f"inspections/{one}.json"
        for one in (FULL_ONE, FROM_PHONE, NEVER_OPENED, OTHER_EDITION, IN_A_VISIT)
    }
    assert {name for name in found if name.startswith("inspections/")} == inspections
    assert found[f"photos/{name_of(JPEG)}.jpg"] == JPEG
    assert found[f"references/{reference().hash}.json"] == reference().canonical
    full = json.loads(found[f"inspections/{FULL_ONE}.json"])
    kinds = [each["kind"] for each in full["revisions"]]
    assert kinds == ["answer", "answer", "undo", "answer", "back"]
    for each in (*full["revisions"], *full["late"]):
        assert hashlib.sha256(each["document"].encode()).hexdigest() == each["sha256"]
    assert list(full["devices"].values()) == ["Device 1"]
    manifest = json.loads(found["manifest.json"])
    assert manifest["counts"]["revisions"] == 8
    assert manifest["counts"]["parked"] == 3
    assert len(manifest["members"]) == len(found) - 2


def test_nothing_secret_is_in_it(book: Store, place: Path) -> None:
    """No secret half of a key, no token, code or passphrase, nor what one could be tried against."""
    now = datetime.now(UTC)
    book.access.set_up("quartered walnut lantern ferry", "482915", now)
    assert book.access.check_passphrase("quartered walnut lantern ferry", now)
    path = export_book(book, place.with_name("x.zip"), now=NOW).path
    content = b"\n".join(written(path).values())
    kept = {
        "device": ["token_sha256"],
        "ended_visit": ["token_sha256"],
        "offer": ["code_sha256"],
        "organizer_secret": ["passphrase", "pin"],
    }
    with sqlite3.connect(place) as file:
        hashed = [
            row[0].encode()
            for table, columns in kept.items()
            for column in columns
            for row in file.execute(f"SELECT {column} FROM {table}")  # noqa: S608
        ]
    pems = [
        line.encode()
        for pem in (place.parent / "keys").iterdir()
        for line in pem.read_text().splitlines()
    ]
    assert len(hashed) == 2 + 1 + 1 + 2
    assert len(pems) == 3
    assert not [secret for secret in (*hashed, *pems) if secret in content]
    assert b"PRIVATE" not in content


def test_the_sheet_for_viewing(exported: Path) -> None:
    """One row an inspection that was opened, in order of opening, with a byte order mark."""
    content = written(exported)["book.csv"]
    assert content.startswith(b'\xef\xbb\xbf"opened"')
    head, *found = csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""))
    assert tuple(head) == COLUMNS
    rows_ = [dict(zip(head, row, strict=True)) for row in found]
    assert [row["opened"][11:19] for row in rows_] == [
        "09:00:00",
        "09:09:00",
        "09:11:00",
        "09:15:00",
    ]
    full, phone, other, _ = rows_
    assert full["name"] == "Too late"  # it was brought back, and stands
    assert (full["claim"], full["verdict"]) == ("1953-03..1953-05", "Too little seen")
    first, last = full["reads as"].split("..")
    verdict = judge_sheet(reference(), document(name="Too late")).verdict
    assert [(parse_month(first), parse_month(last))] == list(verdict.reads_as)
    assert len(full["cards"].split()) == 3
    assert phone["name"] == "Ünïcode 木   🎸"
    assert phone["serial"] == "'+1"
    assert (other["name"], other["edition"]) == ("'-2+3", "2026-12")
    assert not any("owner" in column for column in head)


@pytest.mark.parametrize(
    "cell",
    ["=1+1", "+1", "-1", "@SUM(A1)", " =1", "\t=1", "\r\n=1", "\x00=1", "＝1", "＋1", "－1", "＠a"],
)
def test_no_cell_is_a_formula(cell: str) -> None:
    """Whatever a spreadsheet may take for the start of a formula gets an apostrophe before it."""
    assert defused(cell).startswith("'")
    assert not set("\t\r\n\x00") & set(defused(cell))


def test_an_inspection_that_can_not_be_judged(book: Store, tmp_path: Path) -> None:
    """It is exported all the same, and its row says so."""
    wrong = document(answers={"nothing": {"seen": "x"}}, name="Odd")
    book.book.save(FROM_PHONE, wrong, revision=1, now=at(20))
    path = export_book(book, tmp_path / "x.zip", now=NOW).path
    assert b'"Odd"' in written(path)["book.csv"]
    assert b'"can\'t be judged"' in written(path)["book.csv"]


def test_who_saves_meanwhile_neither_waits_nor_is_half_in_it(
    book: Store, place: Path, other: Store
) -> None:
    """It is the book of the moment in which the export began; a save in between is done at once."""
    before, row_of = rows(place), _Rows(book)

    def saving(extent: Extent, one: CarriedInspection) -> tuple[str, ...]:
        book.book.amend(one.id, lambda document: document.update(more=str(one.id)), now=at(30))
        book.book.receive(FULL_ONE, reference(), _late(one), now=at(31))
        book.book.park(NEVER_OPENED, _late(one), edition_hash="e" * 64, reason="", now=at(32))
        book.devices.welcome(at(33))
        return row_of(extent, one)

    with writing.new_file(place.with_name("x.zip")) as (_, file):
        write_book(book, file, Sheet(COLUMNS, saving), now=NOW)
    assert rows(place) != before
    with open_bundle(place.with_name("x.zip")) as sound:
        take(other, sound)
    assert rows(place.with_name("other.sqlite3")) == before


def _late(one: CarriedInspection) -> Sent:
    return Sent(document(name=f"Meanwhile {one.id}"), 1)


def test_a_row_that_is_overlooked(
    book: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is counted in the book must be what went by, or there is no export."""
    whole = book.outgoing.extent()
    fewer = replace(whole, photos=whole.photos[1:])
    monkeypatch.setattr(book.outgoing, "extent", lambda: fewer)
    with pytest.raises(StoreError, match="all that the book holds"):
        export_book(book, tmp_path / "x.zip", now=NOW)
    assert not list(tmp_path.glob("*.zip*"))


@pytest.mark.parametrize("table", ["revision", "photo"])
def test_a_damaged_book(book: Store, place: Path, table: str) -> None:
    """A document or photo that is not what its hash says ends the export, and leaves no file."""
    column, wrong = ("document", "'{}'") if table == "revision" else ("content", "x'00'")
    with sqlite3.connect(place) as file:
        for (name,) in file.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            file.execute(f"DROP TRIGGER {name}")
        file.execute(f"UPDATE {table} SET {column} = {wrong}")  # noqa: S608
    with pytest.raises(StoreError, match="The book is damaged"):
        export_book(book, place.with_name("x.zip"), now=NOW)
    assert not list(place.parent.glob("*.zip*")) + list(place.parent.glob(".*.part"))


@contextmanager
def small_disk(size: int) -> Iterator[None]:
    """Let no file grow beyond a size."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_no_room(book: Store, tmp_path: Path) -> None:
    """A disk that takes no more leaves no half file, and says so."""
    with small_disk(3000), pytest.raises(StoreError, match="a folder with room"):
        export_book(book, tmp_path / "x.zip", now=NOW)
    assert not [path for path in tmp_path.iterdir() if "zip" in path.name]


def test_no_room_for_the_proof(
    book: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An export that can't be proved is not called done, and not left."""

    def full(_path: Path, **_more: Any) -> Store:
        raise StoreError.of("proof", expected="room on the disk", came="none", remedy="Make room.")

    monkeypatch.setattr(proving, "open_store", full)
    with pytest.raises(ExportError, match="room on the disk"):
        export_book(book, tmp_path / "x.zip", now=NOW)
    assert not [path for path in tmp_path.iterdir() if "zip" in path.name]


@pytest.mark.parametrize("roomy", [True, False])
def test_where_it_is_proved(
    exported: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, roomy: bool
) -> None:
    """Among the system's temporary files if there is room, else beside the file; nothing stays."""
    copy = tmp_path / "copy.zip"
    copy.write_bytes(exported.read_bytes())
    monkeypatch.setattr(proving, "_ROOM", 0 if roomy else 10**15)
    places: list[Path] = []
    opened = proving.open_store
    monkeypatch.setattr(
        proving, "open_store", lambda path: (places.append(path.parent), opened(path))[1]
    )
    assert check_export(copy).manifest.counts["inspections"] == 4
    (place,) = places
    assert (place.parent == tmp_path) is not roomy
    assert not place.exists()


def test_a_book_that_would_come_out_otherwise(
    book: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Should taking it in lose something, the comparison finds it: no export."""
    monkeypatch.setattr("quickcheck.store.incoming.Incoming.photos", lambda *_: 0)
    with pytest.raises(ExportError, match="the same after it was taken into an empty one"):
        export_book(book, tmp_path / "x.zip", now=NOW)
    assert not list(tmp_path.glob("*.zip"))


def test_nothing_is_written_over(
    book: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name that is taken is refused, also one that somebody took meanwhile."""
    target = tmp_path / "x.zip"
    target.write_bytes(b"mine")
    with pytest.raises(StoreError, match="there already"):
        export_book(book, target, now=NOW)
    target.unlink()
    proved = writing.settle
    monkeypatch.setattr(
        "quickcheck.desk.exporting.settle", lambda file: (target.write_bytes(b"mine"), proved(file))
    )
    with pytest.raises(StoreError, match="there already"):
        export_book(book, target, now=NOW)
    assert target.read_bytes() == b"mine"


def test_a_folder_that_is_not_there(book: Store, tmp_path: Path) -> None:
    """It says what to do."""
    with pytest.raises(StoreError, match="name another folder"):
        export_book(book, tmp_path / "no" / "x.zip", now=NOW)


def test_what_squeezes_too_well_is_stored(tmp_path: Path) -> None:
    """A long history of nearly the same document stays within the ratio that is read."""
    with open_store(tmp_path / "long.sqlite3") as store:
        store.library.keep(reference(), now=NOW)
        long = document(note="x" * 100_000)
        store.book.open(FULL_ONE, reference(), long, now=NOW)
        for n in range(3):
            store.book.save(FULL_ONE, {**long, "n": n}, revision=n + 1, now=NOW)
        path = export_book(store, tmp_path / "x.zip", now=NOW).path
    with zipfile.ZipFile(path) as zipped:
        info = zipped.getinfo(f"inspections/{FULL_ONE}.json")
    assert info.compress_type == zipfile.ZIP_STORED


def test_an_empty_book(other: Store, tmp_path: Path) -> None:
    """There is nothing in it but the first book's name, and it is proved as any other."""
    done = export_book(other, tmp_path / "x.zip", now=NOW)
    assert {name: count for name, count in done.manifest.counts.items() if count} == {"books": 1}


def test_every_table_is_carried_or_left_on_purpose() -> None:
    """A new table must be carried, or be named here with its reason."""
    own = {
        "server": "which book it is",
        "start": "when a program was started",
        "tally": "how many writes devices were told of",
        "edition_picture": "in editions",
        "offer": "lets somebody in, for a quarter of an hour",
        "ended_visit": "tokens of visits that are over; the visits are in the inspections",
        "organizer_secret": "a secret",
        "secret_try": "tries at a secret",
    }
    carried = {row.__tablename__ for row in outgoing.COUNTED.values()}
    assert carried | own.keys() == set(Row.metadata.tables)


def test_two_books_of_one_content(tmp_path: Path) -> None:
    """What is exported hangs on what was saved, not on the order of rows in the database.

    But for when the first book was made, which is when the database was.
    """
    files = []
    for n in range(2):
        with open_store(tmp_path / f"{n}.sqlite3") as store:
            for edition in ("2026-11", "2026-12")[:: 1 - 2 * n]:
                store.library.keep(reference(edition), now=NOW)
            for one in (FULL_ONE, FROM_PHONE)[:: 1 - 2 * n]:
                store.book.open(one, reference(), document(name=str(one)), now=NOW)
            files.append(written(export_book(store, tmp_path / f"{n}.zip", now=NOW).path))
    first, second = files
    assert {n for n in first if first[n] != second[n]} <= {
        *("manifest.json", "SHA256SUMS", "books.json")
    }
