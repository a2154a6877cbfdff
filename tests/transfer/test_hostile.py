"""Files that are no export, damaged ones, and forged ones: refused in plain words, nothing changed."""

import hashlib
import json
import stat
import struct
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ExportError, StoreError
from quickcheck.transfer import container, open_bundle, prove
from tests.transfer.filled import FULL_ONE, JPEG, WEBP, name_of
from tests.transfer.forging import EDITS, FULL, Members, edited, forged, members_of, packed, sealed


@pytest.fixture(name="members", scope="session")
def _members(exported: Path) -> Members:
    """Return the members of a sound export."""
    return members_of(exported)


@pytest.fixture(name="scratch", scope="session")
def _scratch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Name a file to put bytes into."""
    return tmp_path_factory.mktemp("hostile") / "file.zip"


def refused(content: bytes, scratch: Path) -> str:
    """Return in which words a file is refused; they fit into a few lines."""
    scratch.write_bytes(content)
    with pytest.raises(ExportError) as told, open_bundle(scratch):
        pass
    (fault,) = told.value.faults
    assert fault.remedy.startswith("Nothing was taken in.")
    assert len(str(fault)) < 1200
    return str(fault)


def test_forging_works(members: Members, scratch: Path) -> None:
    """What the tests below make is taken where nothing was changed in it."""
    scratch.write_bytes(forged(members))
    with open_bundle(scratch) as sound:
        assert sound.manifest.counts["inspections"] == 4
    assert prove(scratch).counts["photos"] == 3


@pytest.mark.parametrize("part", range(20))
def test_cut_short(exported: Path, scratch: Path, part: int) -> None:
    """A copy that ends too early, at whatever twentieth."""
    content = exported.read_bytes()
    told = refused(content[: len(content) * part // 20], scratch)
    assert "cut short" in told


@given(st.data())
def test_one_flipped_bit(exported: Path, scratch: Path, data: st.DataObject) -> None:
    """Any bit anywhere, also where no reader of zips looks."""
    content = bytearray(exported.read_bytes())
    where = data.draw(st.integers(0, len(content) - 1))
    content[where] ^= 1 << data.draw(st.integers(0, 7))
    refused(bytes(content), scratch)


@given(st.data())
def test_one_flipped_bit_under_a_new_seal(
    exported: Path, members: Members, scratch: Path, data: st.DataObject
) -> None:
    """Somebody who seals what was damaged gains nothing: other content is never handed out."""
    content = bytearray(exported.read_bytes()[:-71])
    where = data.draw(st.integers(0, len(content) - 3))
    content[where] ^= 1 << data.draw(st.integers(0, 7))
    scratch.write_bytes(sealed(bytes(content)))
    try:
        with open_bundle(scratch) as bundle:
            found = {name: bundle.read(name) for name in bundle.manifest.members}
    except ExportError:
        return
    assert found.items() <= members.items()  # a time or a right in a header, which nobody reads


def test_no_export(scratch: Path) -> None:
    """Empty files, other files, zips by other programs."""
    for content in (b"", b"PK\x05\x06" + bytes(18), b"text" * 1000, b"sha256 " + b"0" * 64):
        refused(content, scratch)
    assert "a zip" in refused(sealed(b"no zip at all"), scratch)


def linked(name: str, kind: int) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.external_attr = (kind | 0o777) << 16
    return info


NAMES = {
    "a way up": "../../evil.json",
    "an absolute path": "/etc/passwd",
    "a Windows path": "C:\\evil.json",
    "a backslash": "inspections\\..\\evil.json",
    "a device": "CON",
    "a device with a suffix": "NUL.json",
    "another device": "inspections/COM1.json",
    "a zip inside": "photos/more.zip",
    "a folder": "photos/",
    "a name with an end inside": "book.csv\0.exe",
    "a name in capitals": "MANIFEST.JSON",
    "a way up inside": "photos/../manifest.json",
    "an inspection in capitals": f"inspections/{FULL_ONE}.JSON",
    "a line break": "book.csv\n",
    "an empty name": "",
}


@pytest.mark.parametrize("kind", NAMES)
def test_names(members: Members, scratch: Path, kind: str) -> None:
    """Only names that an export has, so none that leads out or means something to a system."""
    info = zipfile.ZipInfo("x")
    info.filename = NAMES[kind]
    told = refused(packed([*members.items(), (info, b"{}")]), scratch)
    assert "name" in told or "one after the other" in told


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFDIR, stat.S_IFIFO, stat.S_IFCHR])
def test_links_and_devices(members: Members, scratch: Path, kind: int) -> None:
    """A member is a regular file."""
    entries = [(linked(n, kind) if n == "book.csv" else n, c) for n, c in members.items()]
    assert "a regular file" in refused(packed(list(entries)), scratch)


def test_a_name_twice(members: Members, scratch: Path) -> None:
    """Two readers might see two contents."""
    with pytest.warns(UserWarning, match="Duplicate name"):
        content = packed([*members.items(), ("book.csv", b"other")])
    assert "each name once" in refused(content, scratch)


def test_a_bomb(members: Members, scratch: Path) -> None:
    """What swells more than a hundredfold is not unpacked."""
    bomb = packed([("book.csv", bytes(50_000_000))], zipfile.ZIP_DEFLATED)
    assert "at most 100 bytes out of each" in refused(bomb, scratch)


def test_members_in_the_same_bytes(scratch: Path) -> None:
    """The directory names one member's bytes a thousand times: a bomb without ratio."""
    content = packed([("book.csv", b"a" * 64)])[:-71]
    start, end = content.index(b"PK\x01\x02"), content.index(b"PK\x05\x06")
    entry = content[start:end]
    entries = b"".join(entry.replace(b"book.csv", f"b{n:07}".encode()) for n in range(1000))
    tail = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, 1000, 1000, len(entries), start, 0)
    assert "name of a member" in refused(sealed(content[:start] + entries + tail), scratch)
    longer = packed([("book.csv", b"a" * 64), ("cards.json", b"{}")])[:-71]
    second = longer.rindex(b"PK\x01\x02")
    moved = longer[: second + 42] + bytes(4) + longer[second + 46 :]  # its place: the first's
    assert "one after the other" in refused(sealed(moved), scratch)


def test_something_before_the_zip(exported: Path, scratch: Path) -> None:
    """A program that is a zip as well."""
    content = b"#!/bin/sh\nexit\n" + exported.read_bytes()[:-71]
    assert "one after the other" in refused(sealed(content), scratch)


def test_a_password_and_another_method(members: Members, scratch: Path) -> None:
    """Nothing is asked for, and only two methods are known."""
    content = bytearray(packed(list(members.items()))[:-71])
    first = content.index(b"PK\x01\x02")
    content[first + 8] |= 1
    assert "without a password" in refused(sealed(bytes(content)), scratch)
    squeezed = packed(list(members.items()), zipfile.ZIP_BZIP2)
    assert "stored or deflated" in refused(squeezed, scratch)


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        ("MOST_MEMBERS", "members"),
        ("LARGEST_FILE", "bytes"),
        ("LARGEST_TOTAL", "unpacked"),
        ("LARGEST_MEMBER", "bytes"),
    ],
)
def test_bounds(
    exported: Path, scratch: Path, monkeypatch: pytest.MonkeyPatch, limit: str, words: str
) -> None:
    """Number and sizes are bounded before anything is unpacked."""
    monkeypatch.setattr(container, limit, 10)
    told = refused(exported.read_bytes(), scratch)
    assert "at most 10" in told
    assert words in told


def test_a_directory_that_fills_the_memory(
    exported: Path, scratch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The directory itself is read up to a size only."""
    monkeypatch.setattr(container, "_LARGEST_DIRECTORY", 100)
    monkeypatch.setattr(container, "_CHUNK", 50)
    assert "bytes at once" in refused(exported.read_bytes(), scratch)


def test_an_entry_that_lies_about_its_size(members: Members, scratch: Path) -> None:
    """What unpacks to more or fewer bytes than the directory says, or to others."""
    content = packed([("book.csv", b"a" * 64)], zipfile.ZIP_DEFLATED)[:-71]
    at = content.index(b"PK\x01\x02") + 24
    for size in (10, 300):
        lie = content[:at] + size.to_bytes(4, "little") + content[at + 4 :]
        refused(sealed(lie), scratch)
    whole = packed(list(members.items()))[:-71]
    assert refused(sealed(whole.replace(b"Too late", b"Too soon")), scratch)


LOST = {"manifest.json", "SHA256SUMS", "book.csv", "devices.json", "editions.json", "cards.json"}


@pytest.mark.parametrize(
    "name", sorted(LOST | {"photos.json", FULL, f"photos/{name_of(JPEG)}.jpg"})
)
def test_a_member_that_is_missing(members: Members, scratch: Path, name: str) -> None:
    """Whether the manifest was put right or not."""
    fewer = {n: c for n, c in members.items() if n != name}
    refused(packed(list(fewer.items())), scratch)
    if name not in {"manifest.json", "SHA256SUMS", "book.csv"}:
        refused(forged(fewer), scratch)


def test_a_member_too_many(members: Members, scratch: Path) -> None:
    """Also one with a fitting name of which nothing speaks."""
    extra = {**members, f"photos/{'0' * 64}.png": b"\x89PNG\r\n\x1a\n"}
    assert "something speaks of" in refused(forged(extra), scratch)
    assert "a list of all members" in refused(packed(list(extra.items())), scratch)


@pytest.mark.parametrize("kind", EDITS)
def test_content_that_no_book_has(members: Members, scratch: Path, kind: str) -> None:
    """Every hash is right, and yet it is refused."""
    name, change, words = EDITS[kind]
    assert words in refused(edited(members, name, change), scratch)


def test_corrections_in_a_circle(members: Members, scratch: Path) -> None:
    """Whoever follows them would never come to an end."""

    def circle(data: Any) -> None:
        one, two = (card["id"] for card in data["cards"][:2])
        moment = data["recalls"][0]["at"]
        data["recalls"] = [
            {"card_id": a, "kind": "corrected", "at": moment, "by_id": b}
            for a, b in ((one, two), (two, one))
        ]

    assert "come to an end" in refused(edited(members, "cards.json", circle), scratch)


@pytest.mark.parametrize(
    "text", [b"", b"{", b"[" * 100_000, b"\xff", b"1" * 5000, b"[]", b"7", b'"x"']
)
@pytest.mark.parametrize("name", [FULL, "cards.json", "devices.json", "manifest.json"])
def test_no_data(members: Members, scratch: Path, name: str, text: bytes) -> None:
    """What is no JSON, too deep, too long, or JSON of another form."""
    if (name, text) == ("devices.json", b"[]"):
        return
    content = packed(list({**members, name: text}.items()))
    if name != "manifest.json":
        content = forged({**members, name: text})
    refused(content, scratch)


def test_a_photo_that_is_a_page(members: Members, scratch: Path) -> None:
    """A browser must never get what only says that it is a picture."""
    page = b"<script>alert(1)</script>"
    name = f"photos/{name_of(WEBP)}.webp"
    data = json.loads(members["photos.json"])
    for one in data:
        if one["sha256"] == name_of(WEBP):
            one["content_sha256"] = hashlib.sha256(page).hexdigest()
    content = forged({**members, name: page, "photos.json": json.dumps(data).encode()})
    assert 'expected image/webp; got "no picture"' in refused(content, scratch)


def test_a_document_that_is_no_object(members: Members, scratch: Path) -> None:
    """A list has a hash as well."""

    def change(data: Any) -> None:
        data["revisions"][0] |= {"document": "[]", "sha256": hashlib.sha256(b"[]").hexdigest()}

    assert "a document that is an object" in refused(edited(members, FULL, change), scratch)


def test_no_file(tmp_path: Path) -> None:
    """It says what to look at."""
    with (
        pytest.raises(StoreError, match="whether its disk is in"),
        open_bundle(tmp_path / "none.zip"),
    ):
        pass
