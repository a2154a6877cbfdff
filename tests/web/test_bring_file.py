"""A reference from a file or a zip: read with limits, never unpacked, refused where it is odd."""

import io
import zipfile

import pytest

from quickcheck import desk
from quickcheck.errors import ReferenceFaultsError
from quickcheck.web.writing import LARGEST_WITH_FILES
from tests.web import packing
from tests.web.checklist import Changing
from tests.web.kit import PICTURE, REFERENCE, Site, assert_says
from tests.web.packing import GOOD, good, packed

PATH = "/references/write/file"
OTHER = REFERENCE.replace('id = "loom-one"', 'id = "loom-two"')
BOMB = b"0" * 3_000_000


class TestBring(Changing):
    """What holds at every endpoint."""

    path = PATH

    def test_too_large_body(self, site: Site) -> None:
        """A text and its pictures may be larger than other forms, and no larger than that."""
        before = site.counts()
        assert_says(site.post(self.path, {"text": "x" * LARGEST_WITH_FILES}), 413, "Too large")
        assert site.counts() == before


def sent(site: Site, content: bytes, name: str = "loom.zip") -> object:
    return site.post(PATH, {"file": (io.BytesIO(content), name)})


def test_a_text_alone(site: Site) -> None:
    """A TOML file is shown as it is, with what is wrong in it."""
    assert_says(sent(site, OTHER.encode(), "two.toml"), 200, "no such file", "Line ")
    bad = sent(site, b"\xff\xfe\x00", "loom.toml")
    assert_says(bad, 422, "expected text in UTF-8, or a zip")
    assert_says(sent(site, b"", "x.toml"), 400, "No text came")
    assert_says(site.post(PATH, {}), 400, "No text came")


@pytest.mark.parametrize("inside", ["", "loom-one/"])
def test_a_zip(writer: Site, inside: str) -> None:
    """Text and pictures, in a folder or not; what systems put beside them is passed over."""
    members = [(f"{inside}{name}", content) for name, content in good()]
    beside = [("__MACOSX/._loom.toml", b"x"), (f"{inside}.DS_Store", b"x"), ("unused.svg", b"no")]
    page = sent(writer, packed([*members, *beside[: 2 if inside else 3]]))
    assert_says(page, 200, "No faults. 6 points", "wood.svg")
    assert 'name="picture" value="wood.svg ' in page.text


ODD = {
    "up": (packed([*good(), ("../wood2.svg", PICTURE)]), "names without a way to other folders"),
    "up inside": (packed([*good(), ("a/../../b.svg", PICTURE)]), "names without a way"),
    "absolute": (packed([*good(), ("/etc/x.svg", PICTURE)]), "names without a way"),
    "drive": (packed([*good(), ("C:x.svg", PICTURE)]), "names without a way"),
    "backslash": (
        packing.renamed(packed([*good(), ("a/b.svg", PICTURE)]), "a/b.svg", "a\\b.svg"),
        "names without a way",
    ),
    "NUL": (
        packing.renamed(packed([*good(), ("ab.svgxyz", PICTURE)]), "ab.svgxyz", "ab.svg\0yz"),
        "names without a way",
    ),
    "device": (packed([*good(), ("con.svg", PICTURE)]), "named in letters and digits"),
    "device with more": (packed([*good(), ("LPT1.a.png", PICTURE)]), "named in letters"),
    "hidden": (packed([*good(), (".x.svg", PICTURE)]), "named in letters and digits"),
    "elsewhere": (packed([*good(), ("deep/wood2.svg", PICTURE)]), "beside the text"),
    "program": (packed([*good(), ("run.exe", b"MZ")]), "beside the text svg, png and webp"),
    "twice": (packed([*good(), ("WOOD.svg", PICTURE)]), "each name once"),
    "two texts": (packed([*good(), ("b.toml", b"x")]), "one .toml file"),
    "no text": (packed([("wood.svg", PICTURE)]), "one .toml file"),
    "nothing": (packed([]), "one .toml file"),
    "zip in it": (packing.quine(), "beside the text"),
    "link": (packed(good(), mode=packing.LINK), "plain files, no links"),
    "password": (packed(good(), flags=1), "files without a password"),
    "another packing": (packed(good(), method=zipfile.ZIP_LZMA), "plain files or deflated ones"),
    "bomb": (packed([*good(), ("big.svg", BOMB)]), "files that grow 100 times at most"),
    "many": (packed([*good(), *((f"{n}.svg", b"x") for n in range(200))]), "at most 200 files"),
    "text too long": (
        packed([("loom.toml", b"#" * 1_000_001)], method=zipfile.ZIP_STORED),
        "at most 1 MB",
    ),
    "no UTF-8": (packed([("loom.toml", b"\xff")]), "text in UTF-8"),
    "cut": (packed(good())[:-30], "a zip that is whole"),
    "damaged": (packed(good())[:60] + b"\0\0\0\0" + packed(good())[64:], "a zip that is whole"),
    "a script in a drawing": (
        packed([("loom.toml", GOOD["loom.toml"]), ("wood.svg", b"<svg onload='1'/>")]),
        "an svg picture",
    ),
    "no picture": (
        packed([("loom.toml", b'x = "wood.png"'), ("wood.png", b"text")]),
        "a JPEG, PNG or WebP",
    ),
}


@pytest.mark.parametrize("why", ODD)
def test_what_is_odd_is_refused(site: Site, why: str) -> None:
    """Whatever it is, the page says what, and nothing is held or written."""
    content, words = ODD[why]
    assert_says(sent(site, content), 422, words)


def test_more_in_all_than_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the members are said to be in all counts, before any is read."""
    monkeypatch.setattr(desk.packages, "_MOST_BYTES", 100)
    with pytest.raises(ReferenceFaultsError, match="at most 50 MB in all"):
        desk.unpacked(packed(good()), name="x")


def test_a_size_that_is_not_true() -> None:
    """A member that says it is small gives no more than that, and is told to be damaged."""
    false = packing.claimed(packed([("loom.toml", BOMB)]), len(BOMB), 1000)
    with pytest.raises(ReferenceFaultsError, match="a zip that is whole"):
        desk.unpacked(false, name="x")


def test_nested_too_deep(site: Site) -> None:
    """A text of tables in tables is refused by its depth."""
    text = b"x = " + b"[" * 40 + b"]" * 40
    assert_says(sent(site, text, "x.toml"), 200, "at most 32 tables or lists")
