"""`quickcheck export`, `import` and `health`: what they say, and their exit codes."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from quickcheck.desk import report_health
from quickcheck.desk.health import has_wal_fault
from quickcheck.store import Sent, Store, open_store
from tests.cli.kit import printed_json, run
from tests.store.samples import document, reference
from tests.store.sealing import ISSUED, card, new_signer
from tests.transfer.filled import FULL_ONE, NOW, OTHER_EDITION, fill

BOOK = "book.sqlite3"


@pytest.fixture(name="full")
def _full(data: Path) -> Path:
    """Fill the book of the data folder."""
    with open_store(data / BOOK) as store:
        fill(store, data / "keys")
    return data


@pytest.fixture(name="file")
def _file(full: Path, tmp_path: Path) -> Path:
    """Return an export of it."""
    file = tmp_path / "taken along.zip"
    assert run("export", "-o", file).exit_code == 0
    return file


def test_export(full: Path, tmp_path: Path) -> None:
    """It names the file and how much is in it, and says done only after the comparison."""
    result = run("export", "--output", tmp_path)
    assert result.exit_code == 0
    first, last = result.stdout.splitlines()
    (path,) = tmp_path.glob("*.zip")
    assert first.startswith(f"{path}: 2 books, 2 editions")
    assert "4 inspections, 8 revisions" in first
    assert last == "Read back, taken into an empty book and compared: the same. Done."


def test_export_as_json(full: Path, tmp_path: Path) -> None:
    """The same, as data, with which book it is."""
    told = printed_json(run("export", "-o", tmp_path / "x.zip", "--json"))
    with open_store(full / BOOK) as store:
        assert told["counts"] == store.outgoing.counts()
    assert told["file"] == str(tmp_path / "x.zip")
    assert (told["format"], len(told["book"])) == (1, 32)


def test_a_copy_is_checked(file: Path, tmp_path: Path) -> None:
    """A sound copy is told as an export is; a damaged one is exit code 16; no book is needed."""
    copy = tmp_path / "copy.zip"
    copy.write_bytes(file.read_bytes())
    checked = run("export", "--check", copy, "--data", tmp_path / "none")
    assert checked.exit_code == 0
    assert "the same. Done." in checked.stdout
    copy.write_bytes(file.read_bytes()[:-1])
    damaged = run("export", "--check", copy)
    assert damaged.exit_code == 16
    assert "Nothing was taken in. Take another copy" in damaged.stderr
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("command", ["export", "health"])
def test_no_book(data: Path, command: str) -> None:
    """Exit code 7, and no book is made."""
    result = run(command)
    assert result.exit_code == 7
    assert "a data folder with a book" in result.stderr
    assert not (data / BOOK).exists()


def test_a_book_in_a_database(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the environment names the book, no file in the data folder is looked for."""
    monkeypatch.setenv("QUICKCHECK_DATABASE_URL", f"sqlite:///{tmp_path}/elsewhere.sqlite")
    assert run("export", "-o", tmp_path / "x.zip").exit_code == 0
    assert run("health").exit_code == 0
    assert not (data / BOOK).exists()


def test_a_name_that_is_taken(file: Path) -> None:
    """Exit code 9: nothing is written over."""
    result = run("export", "-o", file)
    assert result.exit_code == 9
    assert "there already" in result.stderr


def test_import(file: Path, tmp_path: Path) -> None:
    """What is new, which keys are believed from now on; the second time nothing."""
    home = tmp_path / "home"
    first = run("import", file, "--data", home)
    assert first.exit_code == 0
    lines = first.stdout.splitlines()
    assert lines[0] == "5 inspections: new"
    assert "New besides: 3 photos, 2 editions, 2 devices, 4 cards, 2 recalls" in lines
    assert sum(line.startswith("A key that is believed from now on") for line in lines) == 3
    assert 'A book that is new here: "Balcony"' in lines
    assert "The show: its name, its days and the address of its codes" in lines
    assert lines[-1] == "Done."
    again = run("import", file, "--data", home)
    assert again.stdout.splitlines()[0] == "5 inspections: here already"
    assert again.stdout.splitlines()[-1] == "Done: all of it was here already."


def test_import_as_json(file: Path, tmp_path: Path) -> None:
    """The same, as data."""
    told = printed_json(run("import", file, "--data", tmp_path / "home", "--json"))
    assert told["inspections"] == {"new": 5, "same": 0, "grown": 0, "beside": 0}
    assert (told["photos"], told["cards"], len(told["keys"])) == (3, 4, 3)
    assert told["clashes"] == told["two_versions"] == []
    assert (told["books"], told["show"]) == ([{"name": "Balcony", "called": "Balcony"}], True)


def test_import_where_a_book_has_the_name(file: Path, tmp_path: Path) -> None:
    """It is told what the other one is called here."""
    with open_store(tmp_path / "home" / BOOK) as store:
        store.access.new_book("Balcony", NOW)
    result = run("import", file, "--data", tmp_path / "home")
    told = 'A book that is new here: "Balcony", called "Balcony (2)" as that name was taken'
    assert told in result.stdout.splitlines()


def test_import_of_two_versions(full: Path, file: Path, tmp_path: Path) -> None:
    """Both are kept, and the inspection is named."""
    home = tmp_path / "home"
    run("import", file, "--data", home)
    for folder, name in ((full, "here"), (home, "there")):
        with open_store(folder / BOOK) as store:
            store.book.save(OTHER_EDITION, document(name=name), revision=1, now=NOW)
    run("export", "-o", tmp_path / "later.zip")
    result = run("import", tmp_path / "later.zip", "--data", home)
    assert result.exit_code == 0
    assert f"  {OTHER_EDITION}" in result.stdout
    assert "both versions are kept, choose in the app" in result.stdout


def test_import_with_a_clash(full: Path, tmp_path: Path) -> None:
    """Exit code 8: all but what is listed is there."""
    files = []
    home = tmp_path / "home"
    with open_store(full / BOOK) as store, open_store(home / BOOK) as other:
        signer = new_signer(other, home / "keys")
        store.keys.add(other.keys.get(signer.id))
        other.cards.issue(card(), signer)
        clashing = store.cards.issue(card(issued=ISSUED + timedelta(days=1)), signer)
        files.append(clashing.id)
    run("export", "-o", tmp_path / "x.zip")
    result = run("import", tmp_path / "x.zip", "--data", home)
    assert result.exit_code == 8
    assert f"Not taken: card {files[0]}: number 1" in result.stdout
    assert "5 inspections: new" in result.stdout


def test_import_of_no_export(data: Path, tmp_path: Path) -> None:
    """Exit code 13, and no book is made for it; a file that is not there is 9."""
    wrong = tmp_path / "wrong.zip"
    wrong.write_bytes(b"PK")
    result = run("import", wrong, "--json")
    assert result.exit_code == 16
    assert printed_json(result)["error"] == "ExportError"
    assert run("import", tmp_path / "none.zip").exit_code == 9
    assert not (data / BOOK).exists()


def test_health(data: Path) -> None:
    """A book in order: exit code 0, and that nothing needs anybody."""
    with open_store(data / BOOK) as store:
        store.library.keep(reference())
        store.devices.welcome(NOW)
    result = run("health", "--check")
    assert result.exit_code == 0
    assert result.stdout.splitlines()[-1] == "Nothing needs you."
    assert "inspections: 0" in result.stdout
    assert '"Device 1": last seen 2026-04-11T09:00:00+00:00, unsent unknown' in result.stdout
    assert "Damage: none" in result.stdout


def test_health_that_needs_a_person(full: Path) -> None:
    """Two versions, a phone that judged otherwise, one that has something unsent: exit code 30."""
    with open_store(full / BOOK) as store:
        _, device = store.devices.welcome(NOW)
        store.devices.tell(device, now=NOW, unsent=3, skew=150.0)
    result = run("health")
    assert result.exit_code == 30
    needs = [line for line in result.stdout.splitlines() if line.startswith("Needs you: ")]
    assert needs == [
        "Needs you: The clock of Device 3 is off by 150 s.",
        "Needs you: A phone judged otherwise than this server; one of the two is at fault.",
        "Needs you: Device 3 had 3 unsent at 2026-04-11 09:00. Open the app there, near the server.",
        "Needs you: Of 1 inspections two versions are kept: choose.",
    ]
    assert f"Two versions kept: {FULL_ONE}" in result.stdout
    as_json = run("health", "--json")
    assert as_json.exit_code == 30
    assert printed_json(as_json)["needs"] == [line.removeprefix("Needs you: ") for line in needs]


def test_who_sends_right_now_needs_nobody(store: Store) -> None:
    """A phone that told of something unsent a minute ago is still sending it."""
    _, device = store.devices.welcome(NOW)
    store.devices.tell(device, now=NOW, unsent=3)
    assert report_health(store, now=NOW + timedelta(minutes=9))["needs"] == []
    (need,) = report_health(store, now=NOW + timedelta(minutes=11))["needs"]
    assert need.startswith("Device 1 had 3 unsent")


def test_damage_needs_a_person(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was found when the whole book was read."""
    monkeypatch.setattr(store, "check", lambda: ("row 7 missing from index",))
    report = report_health(store, now=datetime.now(UTC), check=True)
    assert report["needs"] == [
        "The book is damaged: keep a copy of it and put back the last backup."
    ]


@pytest.mark.parametrize("version", [(3, 40, 1), (3, 51, 3)])
def test_what_is_only_to_be_known(
    store: Store, monkeypatch: pytest.MonkeyPatch, version: tuple[int, int, int]
) -> None:
    """A fault of SQLite that does not touch this book is told, and needs nobody."""
    monkeypatch.setattr("sqlite3.sqlite_version_info", version)
    report = report_health(store, now=NOW)
    assert bool(report["warnings"]) is has_wal_fault(version)
    assert report["needs"] == []


@pytest.fixture(name="store")
def _store(data: Path) -> object:
    """Open the book of the data folder."""
    with open_store(data / BOOK) as store:
        yield store


def test_parked_only(store: Store, data: Path, tmp_path: Path) -> None:
    """A book in which nothing but a parked document stands goes there and back too."""
    store.book.park(FULL_ONE, Sent(document(), 0), edition_hash="f" * 64, reason="none", now=NOW)
    assert run("export", "-o", tmp_path / "x.zip").exit_code == 0
    told = printed_json(run("import", tmp_path / "x.zip", "--data", tmp_path / "home", "--json"))
    assert told["inspections"]["new"] == 1
