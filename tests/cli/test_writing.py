"""`quickcheck reference new`, `import`, `compare` and `schema`."""

import datetime as dt
import json
import sys
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from quickcheck import paths
from quickcheck.errors import ReferenceFaultsError, StoreError
from quickcheck.reference import read_reference
from tests import kit
from tests.cli.kit import printed_json, run
from tests.cli.test_serving import NotingServer

NOTES = "Point;Variant;From;To;Give\nKnob;Bone;;1953;3\nKnob;Tin;1954-02;;\n"


@pytest.fixture(autouse=True)
def _in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_new() -> None:
    """A new reference is a file without faults, and never written over another."""
    assert run("reference", "new", "tin-whistles", "--title", "Whistles").exit_code == 0
    found = read_reference(Path("tin-whistles.toml"))
    assert (found.id, found.title) == ("tin-whistles", "Whistles")
    again = run("reference", "new", "tin-whistles")
    assert again.exit_code == StoreError.exit_code
    assert "expected a file that is not there yet" in again.stderr


def test_import_csv() -> None:
    """A table with semicolons, as spreadsheets of half of Europe write it, becomes a reference."""
    Path("My notes.csv").write_text(NOTES, encoding="utf-8-sig")
    assert run("reference", "import", "My notes.csv").exit_code == 0
    (point,) = read_reference(Path("my-notes.toml")).points
    assert [variant.label for variant in point.seen] == ["Bone", "Tin"]


def test_import_workbook() -> None:
    """In a workbook a month may be a date, and a year a number."""
    book = openpyxl.Workbook()
    book.active.append(["point", "variant", "from", "to"])
    book.active.append(["Knob", "Bone", 1951, dt.datetime(1953, 8, 14)])  # noqa: DTZ001  # no spreadsheet has zones
    book.active.append(["Knob", "Tin", dt.date(1953, 9, 1), None])
    book.save("notes.xlsx")
    assert run("reference", "import", "notes.xlsx", "--id", "n", "-o", "out.toml").exit_code == 0
    (point,) = read_reference(Path("out.toml")).points
    months = [(variant.first, variant.last) for variant in point.seen]
    assert months == [(12 * 1951, 12 * 1953 + 7), (12 * 1953 + 8, None)]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"point,variant\nKnob,\xff\n", "expected a table in UTF-8, or XLSX"),
        (b"PK\x03\x04 no workbook", "expected a workbook"),
        (b"point,variant,from\nKnob,Bone,1950,1951\n", "row 2: expected a word above every cell"),
        (b'point,variant\n"Knob"x,Bone\n', "expected a table as CSV"),
        (b"", 'expected a column "point"; got no rows'),
        (b"point,variant,from\n" + b"Knob,Bone,1950\n" * 6001, "expected at most 6000 rows"),
    ],
)
def test_import_what_is_no_table(content: bytes, message: str) -> None:
    """What is no table is refused with what to do, and nothing is written."""
    Path("notes.csv").write_bytes(content)
    result = run("reference", "import", "notes.csv")
    assert result.exit_code == ReferenceFaultsError.exit_code
    assert message in result.stderr
    assert not list(Path().glob("*.toml"))


def test_import_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without openpyxl a workbook is refused with the way out."""
    Path("notes.xlsx").write_bytes(b"PK\x03\x04")
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    assert "Save it as CSV" in run("reference", "import", "notes.xlsx").stderr


def test_import_nothing() -> None:
    """A table that is not there is told by its path."""
    assert "expected a table that can be read" in run("reference", "import", "none.csv").stderr


def test_compare(data: Path) -> None:
    """Two editions are compared, and the saved inspections that would be judged otherwise named."""
    run("demo", server=NotingServer())
    (file,) = (paths.DEMO / "references" / "hobbinsley-taffeta").glob("*.toml")
    folder = Path("newer")
    folder.mkdir()
    for each in file.parent.iterdir():
        (folder / each.name).write_bytes(each.read_bytes())
    text = file.read_text().replace("changed = 0.01", "changed = 0.5")
    assert text != file.read_text()
    (folder / file.name).write_text(text)
    words = ("reference", "compare", file.parent, folder, "--data", data / "demo")
    told = run(*words)
    assert told.exit_code == 0, told.stderr
    assert "changed: 0.01 → 0.5" in told.stdout
    assert "The rebuilt Taffeta: In doubt → Agrees" in told.stdout
    found = printed_json(run(*words, "--json"))
    (one,) = [each for each in found["affected"] if each["name"] == "The rebuilt Taffeta"]
    assert one["before"] == "in-doubt"
    assert {change["what"] for change in found["changes"]} == {"changed"}


def test_compare_an_edition_that_dropped_a_point(data: Path) -> None:
    """An inspection that the new edition can't judge is named with the reason."""
    run("serve", server=NotingServer())
    one, two = Path("one.toml"), Path("two.toml")
    one.write_text(kit.REFERENCE)
    two.write_text(kit.REFERENCE.replace('id = "knobs"', 'id = "buttons"'))
    told = run("reference", "compare", one, one, "--data", data)
    assert "Nothing differs" in told.stdout
    assert "0 saved inspections" in told.stdout


def test_schema() -> None:
    """What is printed is a schema of the standard."""
    jsonschema.Draft202012Validator.check_schema(json.loads(run("reference", "schema").stdout))
