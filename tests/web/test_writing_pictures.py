"""Pictures that are added to a reference in the browser, and kept with its edition."""

import io
from pathlib import Path

import pytest
from PIL import Image

from quickcheck import desk
from quickcheck.desk import pictures
from quickcheck.errors import ReferenceFaultsError, StoreError
from quickcheck.reference import read_reference
from quickcheck.web.writing import LARGEST_WITH_FILES
from tests.store.pictures import photo
from tests.web.checklist import Changing
from tests.web.kit import PICTURE, REFERENCE, Site, assert_says

ADD = "/references/write/pictures"
OTHER = PICTURE.replace(b"9 9", b"8 8")
NEXT = REFERENCE.replace('edition = "2026-04"', 'edition = "2026-05"')


class TestAdd(Changing):
    """What holds at every endpoint."""

    path = ADD

    def test_too_large_body(self, site: Site) -> None:
        """A text and its pictures may be larger than other forms, and no larger than that."""
        before = site.counts()
        assert_says(site.post(self.path, {"text": "x" * LARGEST_WITH_FILES}), 413, "Too large")
        assert site.counts() == before


def add(site: Site, text: str, *files: tuple[str, bytes], held: tuple[str, ...] = ()) -> object:
    """Send files with the text and the pictures that are held."""
    new = [(io.BytesIO(content), name) for name, content in files]
    return site.post(ADD, {"text": text, "new": new, "picture": list(held)})


def carried(page: object) -> tuple[str, ...]:
    """Return the values of the form's pictures."""
    pieces = page.text.split('name="picture" value="')[1:]  # type: ignore[attr-defined]
    return tuple(piece.partition('"')[0] for piece in pieces)


def test_a_drawing_is_added_and_kept(writer: Site, folder: Path) -> None:
    """It gets a name of its own, is seen beside its variant, and lies beside the text when kept."""
    page = add(writer, NEXT, ("New Knob (2).SVG", OTHER))
    assert_says(page, 200, "Of no variant yet", 'picture = "new-knob-2.svg"')
    assert " data-unkept" in page.text  # type: ignore[attr-defined]
    [value] = carried(page)
    name, digest = value.split()
    shown = writer.get(f"{ADD}/{digest}.svg")
    assert (shown.data, shown.mimetype) == (OTHER, "image/svg+xml")
    text = NEXT.replace('"wood.svg"', f'"{name}"')
    form = {"text": text, "picture": value}
    part = writer.post("/references/write/check", form, X_Part="1")
    assert_says(part, 200, ": Wood")
    assert "Of no variant" not in part.text
    assert writer.post("/references/write/keep", form).status_code == 303
    assert (folder / "loom-one" / name).read_bytes() == OTHER
    made = read_reference(folder / "loom-one")
    assert (made.edition, list(made.pictures)) == ("2026-05", [name])


def test_the_pictures_that_are_here(writer: Site) -> None:
    """Those of the edition on the shelf are shown too."""
    page = writer.get("/references/write?of=loom-one")
    assert_says(page, 200, ": Wood", 'picture = "wood.svg"')
    assert f"/references/{writer.reference.hash[:16]}/pictures/wood.svg" in page.text


@pytest.mark.parametrize(
    ("file", "content", "name"),
    [
        ("knob.jpg", photo("JPEG"), "knob.webp"),
        ("knob.webp", photo("WEBP"), "knob.webp"),
        ("..\\..\\Knob.PNG", photo("PNG"), "knob.png"),
        ("aux.png", photo("PNG"), "picture-aux.png"),
        ("???.svg", OTHER, "picture.svg"),
        ("wood.svg", OTHER, "wood-2.svg"),
        ("WOOD.svg", PICTURE, "wood.svg"),
        ("x" * 90 + ".svg", OTHER, "x" * 40 + ".svg"),
    ],
)
def test_names_are_ours(writer: Site, file: str, content: bytes, name: str) -> None:
    """Small letters and digits, no device's, by what it is; never that of another picture."""
    [value] = carried(add(writer, REFERENCE, (file, content)))
    assert value.split()[0] == name


def test_a_heavy_png_becomes_webp() -> None:
    """What PNG can't make small enough is written as WebP."""
    out = io.BytesIO()
    Image.effect_noise((700, 600), 90).convert("RGB").save(out, "PNG")
    wide = Image.merge("RGB", [Image.effect_noise((700, 600), 90) for _ in range(3)])
    wide.save(out := io.BytesIO(), "PNG")
    name, made = desk.add_picture("noise.png", out.getvalue(), beside={})
    assert name == "noise.webp"
    assert len(made) <= 200_000


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (PICTURE.replace(b"<path", b"<script/><path"), "an svg picture that only draws"),
        (PICTURE.replace(b"<path", b"<use href='//x'/><path"), "an svg picture that only draws"),
        (PICTURE.replace(b"<path", b"<path onclick='1'/><path"), "an svg picture that only draws"),
        (b"plain text", "no well-formed XML"),
        (b"\x89PNG\r\n\x1a\n damaged", "expected a JPEG, PNG or WebP"),
        (b"GIF89a", "expected an svg picture"),
    ],
)
def test_what_can_not_be_a_picture(writer: Site, content: bytes, words: str) -> None:
    """The page says what is wrong with which file; the others are taken all the same."""
    page = add(writer, REFERENCE, ("bad.svg", content), ("good.svg", OTHER))
    assert_says(page, 422, words)
    assert [value.split()[0] for value in carried(page)] == ["good.svg"]


def test_nothing_chosen(writer: Site) -> None:
    """Without a file the text comes back, and what was held is still there."""
    held = carried(add(writer, REFERENCE, ("a.svg", OTHER)))
    assert carried(add(writer, REFERENCE, ("", b""), held=held)) == held


def test_what_is_not_held(writer: Site) -> None:
    """A hash of nothing, a path in its place and a wrong kind lead nowhere."""
    assert writer.get(f"{ADD}/{'0' * 64}.svg").status_code == 404
    assert writer.get(f"{ADD}/..%2floom.svg").status_code == 404
    page = add(writer, REFERENCE, ("a.svg", OTHER))
    digest = carried(page)[0].split()[1]
    assert writer.get(f"{ADD}/{digest}.html").status_code == 404
    text = NEXT.replace('"wood.svg"', '"gone.svg"')
    form = {"text": text, "picture": [f"gone.svg {'0' * 64}", "con.svg x", "odd"]}
    assert_says(writer.post("/references/write/keep", form), 422, "no such file")


def test_a_held_picture_that_was_changed(writer: Site, folder: Path) -> None:
    """A file that is not what its name says is not shown."""
    digest = carried(add(writer, REFERENCE, ("a.svg", OTHER)))[0].split()[1]
    (folder / ".pictures" / digest).write_bytes(PICTURE)
    assert writer.get(f"{ADD}/{digest}.svg").status_code == 404


def test_only_the_latest_are_held(
    writer: Site, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder does not grow: what came first goes."""
    monkeypatch.setattr(pictures, "_MOST_HELD", 2)
    shelf = desk.shelf_from(desk.Folders(folder))
    for number in range(4):
        desk.hold(shelf, PICTURE.replace(b"9 9", b"9 %d" % number))
    assert len(list((folder / ".pictures").iterdir())) == 2
    assert pictures._age(folder / "none") == 0.0
    assert list(desk.shelf_from(shelf.folders).current) == ["loom-one"]


def test_no_folder_to_hold_it_in(site: Site) -> None:
    """Where references can't be written, that is said."""
    assert_says(add(site, REFERENCE, ("a.svg", OTHER)), 503, "by hand")
    assert_says(site.get(f"{ADD}/{'0' * 64}.svg"), 404, "Nothing here")


def test_another_picture_of_that_name_beside_the_file(folder: Path, writer: Site) -> None:
    """What lies there already is never replaced: the edition before has it."""
    (folder / "loom-one" / "taken.svg").write_bytes(PICTURE)
    shelf = desk.shelf_from(desk.Folders(folder))
    text = NEXT.replace('"wood.svg"', '"taken.svg"')
    with pytest.raises(ReferenceFaultsError, match="no other picture beside the file has"):
        desk.keep_text(shelf, text, store=writer.store, pictures={"taken.svg": OTHER})
    assert (folder / "loom-one" / "loom.toml").read_text() == REFERENCE
    assert "taken.svg" in desk.pictures_beside(shelf, text)


def test_until_the_text_is_there_nothing_changed(
    folder: Path, writer: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A failure between pictures and text leaves the edition before, whole."""
    shelf = desk.shelf_from(desk.Folders(folder))
    text = NEXT.replace('"wood.svg"', '"new.svg"')
    write = pictures.write_whole

    def fails(file: Path, content: bytes) -> None:
        if file.suffix == ".toml":
            raise OSError("no room")
        write(file, content)

    monkeypatch.setattr(desk.writing, "write_whole", fails)
    with pytest.raises(StoreError, match="no room"):
        desk.keep_text(shelf, text, store=writer.store, pictures={"new.svg": OTHER})
    assert read_reference(folder / "loom-one").hash == writer.reference.hash
