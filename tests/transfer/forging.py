"""Exports that were tampered with by somebody who knows how they are made."""

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from tests.transfer.filled import FULL_ONE, NEVER_OPENED

Members = dict[str, bytes]
FULL = f"inspections/{FULL_ONE}.json"
NOBODY = "00000000-0000-4000-8000-00000000dead"


def members_of(path: Path) -> Members:
    with zipfile.ZipFile(path) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def sealed(zipped: bytes) -> bytes:
    """Return the bytes of a zip, made without a comment, with the seal of their own hash."""
    body = zipped[:-2] + (71).to_bytes(2, "little") + b"sha256 "
    return body + hashlib.sha256(body).hexdigest().encode()


def packed(
    entries: list[tuple[zipfile.ZipInfo | str, bytes]], method: int = zipfile.ZIP_STORED
) -> bytes:
    """Return a zip of these members, sealed."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as zipped:
        for name, content in entries:
            zipped.writestr(name, content)
    return sealed(out.getvalue())


def consistent(members: Mapping[str, bytes]) -> Members:
    """Return members whose manifest and sums are right for what they are now."""
    rest = {n: c for n, c in members.items() if n not in {"manifest.json", "SHA256SUMS"}}
    manifest = json.loads(members["manifest.json"])
    manifest["members"] = [
        {"name": n, "bytes": len(c), "sha256": hashlib.sha256(c).hexdigest()}
        for n, c in rest.items()
    ]
    rest["manifest.json"] = json.dumps(manifest).encode()
    sums = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in rest.items())
    return {**rest, "SHA256SUMS": sums.encode()}


def forged(members: Mapping[str, bytes]) -> bytes:
    """Return a zip of members, everything in it consistent."""
    return packed(list(consistent(members).items()))


def edited(members: Mapping[str, bytes], name: str, change: Callable[[Any], object]) -> bytes:
    """Return a consistent zip in one member of which the data were changed."""
    data = json.loads(members[name])
    change(data)
    return forged({**members, name: json.dumps(data).encode()})


def at_(*path: Any, put: Any) -> Callable[[Any], object]:
    """Return what sets one value inside some data."""

    def change(data: Any) -> None:
        for step in path[:-1]:
            data = data[step]
        data[path[-1]] = put

    return change


EDITS: dict[str, tuple[str, Callable[[Any], object], str]] = {
    "another format": ("manifest.json", at_("format", put=2), "a higher one is of a newer program"),
    "no counts": ("manifest.json", at_("counts", put=3), "a table of whole numbers"),
    "other counts": ("manifest.json", at_("counts", "late", put=9), "the counts"),
    "no time": ("manifest.json", at_("made", put="yesterday"), "a moment in UTC"),
    "one field more": ("manifest.json", at_("more", put=1), "the fields"),
    "another document": (
        FULL,
        at_("revisions", 0, "document", put="{}"),
        "a document with the SHA",
    ),
    "a number left out": (FULL, at_("revisions", 0, "number", put=7), "revision 1"),
    "back to itself": (FULL, at_("revisions", 1, "back", put=2), "revision 2"),
    "another kind": (FULL, at_("revisions", 0, "kind", put="late"), "kind"),
    "a number too large": (FULL, at_("revisions", 0, "number", put=2**31), "a whole number"),
    "a truth for a number": (FULL, at_("revisions", 0, "number", put=True), "a whole number"),
    "a moment without zone": (FULL, at_("opened", put="2026-04-11T09:00:00"), "a moment in UTC"),
    "no edition": (FULL, at_("edition_hash", put=None), "or none of these"),
    "an unknown edition": (
        FULL,
        at_("edition_hash", put="0" * 64),
        "an edition that is in this file",
    ),
    "another inspection": (FULL, at_("id", put=str(NEVER_OPENED)), "the inspection of that name"),
    "no UUID": (FULL, at_("id", put="{00000000-0000-0000-0000-000000000001}"), "a UUID"),
    "late for a revision to come": (
        FULL,
        at_("late", 0, "current", put=99),
        "numbers of revisions",
    ),
    "twice": (FULL, lambda data: data["late"].append(data["late"][0]), "everything once"),
    "no list": (FULL, at_("late", put={}), "a list"),
    "no photo's name": (FULL, at_("photos", 0, "sha256", put="../x"), "names of 64 hex digits"),
    "half a character": (FULL, at_("photos", 0, "point", put="\ud800"), "text"),
    "no character": (FULL, at_("photos", 0, "point", put="a\0"), "text"),
    "late and never opened": (
        f"inspections/{NEVER_OPENED}.json",
        at_(
            "photos",
            put=[
                {"point": "", "sha256": "0" * 64, "announced": "2026-04-11T09:00:00.000001+00:00"}
            ],
        ),
        "nothing but parked",
    ),
    "another edition's title": ("editions.json", at_(0, "title", put="Other"), "the edition"),
    "another picture": (
        "editions.json",
        lambda data: data[0]["pictures"].update(
            dict.fromkeys(data[0]["pictures"], next(iter(data[1]["pictures"].values())))
        ),
        "a reference without faults",
    ),
    "pictures out of order": (
        "editions.json",
        lambda data: data[0].update(pictures=dict(reversed(data[0]["pictures"].items()))),
        "a table, in order",
    ),
    "a photo of another kind": (
        "photos.json",
        at_(0, "content_type", put="image/svg+xml"),
        "one of",
    ),
    "a photo of another name": ("photos.json", at_(0, "sha256", put="0" * 64), "photo"),
    "other content of a photo": (
        "photos.json",
        at_(0, "content_sha256", put="0" * 64),
        "content with",
    ),
    "another seal": (
        "cards.json",
        lambda data: data["cards"][0].update(data=data["cards"][0]["data"][:-128] + "00" * 64),
        "a card that a key in this file sealed",
    ),
    "no card": ("cards.json", at_("cards", 0, "data", put="00"), "keys, cards and recalls"),
    "another number": (
        "cards.json",
        at_("cards", 0, "number", put=77),
        "what the card itself says",
    ),
    "no hex": ("cards.json", at_("cards", 0, "data", put="AB"), "hex digits"),
    "another key": ("cards.json", at_("keys", 0, "id", put="00000000"), "key"),
    "no key": ("cards.json", at_("keys", 0, "public", put="00"), "keys, cards and recalls"),
    "no recall": ("cards.json", at_("recalls", 0, "kind", put="burnt"), "keys, cards and recalls"),
    "a recall of no card": (
        "cards.json",
        at_("recalls", 0, "card_id", put="a" * 16),
        "recalls of cards",
    ),
    "a card twice": (
        "cards.json",
        lambda data: data["cards"].append(data["cards"][0]),
        "everything once",
    ),
    "no cards": ("cards.json", lambda data: data.pop("cards"), "keys, cards and recalls"),
    "no name": ("devices.json", at_(0, "name", put=7), "text"),
    "a device for everything": ("devices.json", at_(0, "role", put="root"), "organizer"),
    "a device of no book": ("devices.json", at_(0, "book_id", put=NOBODY), "books that are in"),
    "a tally of no device": ("tallies.json", at_(0, "device_id", put=NOBODY), "devices that are"),
    "no first book": (
        "books.json",
        lambda data: data.remove(next(one for one in data if one["name"] == "This book")),
        "the first book",
    ),
    "a book without a name": ("books.json", at_(0, "name", put=" "), "a name for each book"),
    "two books of a name": (
        "books.json",
        lambda data: data.append({**data[0], "id": NOBODY, "name": data[0]["name"].upper()}),
        "everything once",
    ),
    "an inspection of no book": (FULL, at_("book_id", put=NOBODY), "books that are in this file"),
    "opened in no book": (FULL, at_("book_id", put=None), "or none of these"),
    "two shows": ("show.json", lambda data: data.append(data[0]), "one show, or none"),
    "a show that ends first": ("show.json", at_(0, "closes", put="2026-04-01"), "ends on the day"),
    "a day that is none": ("show.json", at_(0, "opens", put="2026-04-31"), "a day, as in"),
    "codes that lead elsewhere": (
        "show.json",
        at_(0, "base_url", put="javascript:x"),
        "an address",
    ),
    "papers out of order": (FULL, at_("papers", 0, "number", put=2), "word 1"),
    "papers of another kind": (FULL, at_("papers", 0, "kind", put="rumour"), "a kind of papers"),
    "no papers with a note": (FULL, at_("papers", 1, "note", put="x"), "or nothing at all"),
    "a doubt that is no number": (
        FULL,
        at_("papers", 0, "doubt", put=float("nan")),
        "with a point",
    ),
}
