"""What is in an export: each member's name, its content, and which record stands where."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from quickcheck.store import COUNTED, CarriedInspection, Extent, Outgoing
from quickcheck.transfer.plain import json_of, plain

FORMAT: Final = 1
MANIFEST: Final = "manifest.json"
SUMS: Final = "SHA256SUMS"
SHEET: Final = "book.csv"
BOOKS: Final = "books.json"
DEVICES: Final = "devices.json"
TALLIES: Final = "tallies.json"
SHOW: Final = "show.json"
EDITIONS: Final = "editions.json"
CARDS: Final = "cards.json"
PHOTOS: Final = "photos.json"
SUFFIXES: Final[Mapping[str, str]] = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}

_HASH: Final = "[0-9a-f]{64}"
_UUID: Final = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
_LISTS: Final = ("books", "devices", "tallies", "show", "editions", "cards", "photos")
NAMES: Final = re.compile(
    rf"manifest\.json|SHA256SUMS|book\.csv|(?:{'|'.join(_LISTS)})\.json"
    rf"|inspections/{_UUID}\.json|photos/{_HASH}\.(?:jpg|png|webp)"
    rf"|references/{_HASH}\.json|references/pictures/{_HASH}",
    re.ASCII,
)
"""Every name that a member can have; so no name leads anywhere, whatever unpacks it."""


@dataclass(frozen=True, slots=True)
class Member:
    """One file of an export."""

    name: str
    content: bytes

    @property
    def is_squeezed(self) -> bool:
        """Whether it is text; pictures are small already."""
        return self.name.endswith((".json", ".csv", SUMS))


@dataclass
class Tally:
    """How many records of each kind went by."""

    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(COUNTED, 0))

    def add(self, **more: int) -> None:
        """Count some."""
        for name, count in more.items():
            self.counts[name] += count

    def inspection(self, one: CarriedInspection) -> None:
        """Count an inspection and what belongs to it."""
        self.add(
            inspections=one.opened is not None,
            revisions=len(one.revisions),
            late=len(one.late),
            parked=len(one.parked),
            places=len(one.photos),
            differences=len(one.differences),
            papers=len(one.papers),
        )


def inspection_name(one: object) -> str:
    """Return the name of an inspection's member."""
    return f"inspections/{one}.json"


def photo_name(sha256: str, content_type: str) -> str:
    """Return the name of a photo's member."""
    return f"photos/{sha256}.{SUFFIXES[content_type]}"


def members(book: Outgoing, extent: Extent, tally: Tally) -> Iterator[Member | CarriedInspection]:
    """Yield every member that is made from the book alone, and each inspection before its own."""
    place = {
        BOOKS: extent.books,
        DEVICES: extent.devices,
        TALLIES: extent.tallies,
        SHOW: extent.shows,
    }
    for name, records in place.items():
        yield Member(name, json_of(plain(records)))
    yield Member(EDITIONS, json_of(plain(extent.editions)))
    for edition in extent.editions:
        yield Member(f"references/{edition.hash}.json", book.canonical(edition.hash))
    for picture in extent.pictures:
        yield Member(f"references/pictures/{picture}", book.picture(picture))
    seals = {"keys": extent.keys, "cards": extent.cards, "recalls": extent.recalls}
    yield Member(CARDS, json_of({name: plain(each) for name, each in seals.items()}))
    tally.add(editions=len(extent.editions), pictures=len(extent.pictures))
    tally.add(**{name: len(each) for name, each in seals.items()})
    tally.add(books=len(extent.books), devices=len(extent.devices))
    tally.add(tallies=len(extent.tallies), shows=len(extent.shows))
    names = {str(device.id): device.name for device in extent.devices}
    for id_ in extent.current:
        one = book.inspection(extent, id_)
        tally.inspection(one)
        yield one
        yield Member(inspection_name(id_), json_of(_with_names(one, names)))
    yield Member(PHOTOS, json_of(plain(extent.photos)))
    for photo in extent.photos:
        yield Member(photo_name(photo.sha256, photo.content_type), book.photo(photo))
    tally.add(photos=len(extent.photos))


def _with_names(one: CarriedInspection, names: Mapping[str, str]) -> dict[str, Any]:
    """Return an inspection as data, with the names of the devices that wrote it."""
    wrote = {str(each.device_id) for each in one.revisions}
    wrote |= {str(each.device_id) for each in one.late}
    wrote |= {str(each.device_id) for each in one.parked}
    return {**plain(one), "devices": {id_: names[id_] for id_ in sorted(wrote & names.keys())}}
