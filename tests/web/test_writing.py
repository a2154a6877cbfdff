"""`/references/write`: a reference written in the browser."""

import io
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.errors import StoreError
from quickcheck.reference import read_reference
from tests import kit as plain
from tests.web.checklist import Page
from tests.web.kit import PICTURE, REFERENCE, Site, assert_says

NOTES = b"point,variant,from,to\nKnob,Bone,1950,1953\nKnob,Tin,1954,\n"


class TestBegin(Page):
    """What holds at every endpoint."""

    path = "/references/write"
    methods = frozenset({"GET", "POST"})


def test_what_to_begin_with(writer: Site) -> None:
    """A table, one point, or a reference that is here."""
    page = writer.get("/references/write")
    assert_says(page, 200, "From a spreadsheet", "Begin with one point", "Loom One (invented)")
    assert_says(writer.get("/references/write?of="), 200, "No faults. 1 points")


def test_from_a_table(writer: Site) -> None:
    """A table that is sent becomes a text; one that is none is refused on the same page."""
    table = {"name": "Tin whistles", "table": (io.BytesIO(NOTES), "notes.csv")}
    page = writer.post("/references/write", table)
    assert_says(page, 200, "No faults. 1 points")
    assert "tin-whistles" in page.text
    bad = {"name": "x", "table": (io.BytesIO(b"\xff\xfe"), "notes.csv")}
    assert_says(writer.post("/references/write", bad), 422, "expected a table in UTF-8, or XLSX")
    assert_says(writer.post("/references/write", {"name": "x"}), 422, "expected a column")


def test_the_text_that_is_here(writer: Site) -> None:
    """A reference is shown as its author wrote it, with its pictures at hand."""
    page = writer.get("/references/write?of=loom-one")
    assert_says(page, 200, "No faults. 6 points")
    assert_says(writer.get("/references/write?of=none"), 404, "expected one of loom-one")


def test_a_text_that_is_nowhere(site: Site) -> None:
    """A reference whose file is in no folder of the server can't be edited here."""
    assert_says(site.get("/references/write?of=loom-one"), 404, "none in the folders")


def test_a_part_for_the_script(writer: Site) -> None:
    """The script gets the faults with their lines alone; without it the whole page comes."""
    text = REFERENCE.replace("odds = 5", "odds = -5")
    part = writer.post("/references/write/check", {"text": text}, X_Part="1")
    line = text.split("\n").index("odds = -5") + 1
    assert f'data-line="{line}"' in part.text
    assert "<html" not in part.text
    whole = writer.post("/references/write/check", {"text": text.replace("\n", "\r\n")})
    assert_says(whole, 200, "1 to mend", f"Line {line}")
    good = writer.post("/references/write/check", {"text": REFERENCE}, X_Part="1")
    assert_says(good, 200, "No faults. 6 points", "Knobs")


def test_many_faults_are_not_all_listed(writer: Site) -> None:
    """Of more faults than anybody reads the first are shown, and how many there are."""
    text = REFERENCE + "".join(f"zz{n} = 1\n" for n in range(60))
    page = writer.post("/references/write/check", {"text": text}, X_Part="1")
    assert_says(page, 200, "60 to mend", "And 20 more.")


def test_no_text(writer: Site) -> None:
    """Nothing is no text."""
    assert_says(writer.post("/references/write/check", {"text": " "}), 400, "No text came")


def test_keep(writer: Site, folder: Path) -> None:
    """A new edition is in its own file, on the shelf and in the library, and is shown."""
    text = REFERENCE.replace('edition = "2026-04"', 'edition = "2026-05"  # mine')
    reply = writer.post("/references/write/keep", {"text": text})
    assert (reply.status_code, reply.location) == (303, "/references/loom-one")
    assert (folder / "loom-one" / "loom.toml").read_text() == text
    assert_says(writer.get("/references/loom-one"), 200, "Edition 2026-05")
    made = read_reference(folder / "loom-one")
    assert writer.store.library.get(made.hash).edition == "2026-05"


def test_keep_another(writer: Site, folder: Path) -> None:
    """A reference of another id is a file of its own; its pictures would come with it."""
    text = plain.REFERENCE.replace('id = "loom-one"', 'id = "loom-two"')
    assert writer.post("/references/write/keep", {"text": text}).status_code == 303
    assert (folder / "loom-two.toml").read_text() == text
    assert_says(writer.get("/references"), 200, "Loom One (invented)")


def test_keep_the_label_of_another(writer: Site, folder: Path) -> None:
    """A changed text under the label of the edition that is here is refused, and nothing is written."""
    text = REFERENCE.replace("odds = 5", "odds = 6")
    reply = writer.post("/references/write/keep", {"text": text})
    assert_says(reply, 422, "expected a label that no other edition has", "1 to mend")
    assert "odds = 5" in (folder / "loom-one" / "loom.toml").read_text()


def test_keep_with_faults(writer: Site) -> None:
    """A text with faults is not kept."""
    reply = writer.post(
        "/references/write/keep", {"text": REFERENCE.replace("odds = 5", "odds = 0")}
    )
    assert_says(reply, 422, "1 to mend")


def test_keep_where_nothing_can_be_written(site: Site, tmp_path: Path) -> None:
    """Where there is no folder, or it can't be written, that is told with the way out."""
    text = REFERENCE.replace("2026-04", "2026-05")
    assert_says(site.post("/references/write/keep", {"text": text}), 503, "Save it as a file")
    (tmp_path / "taken").write_text("a file")
    shelf = desk.Shelf({}, {}, folders=desk.Folders(tmp_path / "taken"))
    with pytest.raises(StoreError, match="expected a folder that can be written"):
        desk.keep_text(shelf, plain.REFERENCE, store=site.store)


def test_pictures_come_along(site: Site, tmp_path: Path) -> None:
    """A reference that came with the program is kept with its pictures in a folder of its own."""
    came = tmp_path / "came"
    came.mkdir()
    (came / "loom.toml").write_text(REFERENCE)
    (came / "wood.svg").write_bytes(PICTURE)
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "bad.toml").write_text("no toml [")
    shelf = desk.shelf_from(desk.Folders(tmp_path / "own", beside=(came,)))
    text = REFERENCE.replace("2026-04", "2026-05")
    made = desk.keep_text(shelf, text, store=site.store)
    assert read_reference(tmp_path / "own" / "loom-one").hash == made.hash
    again = desk.shelf_from(shelf.folders)
    assert again.current["loom-one"].edition == "2026-05"
