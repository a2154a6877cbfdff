"""An export taken into a book: all of it that is not there yet, and a list of what became of what."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, TypeVar
from uuid import UUID

from quickcheck.store import BookTaken, CarriedInspection, CarriedPhoto, Fate, SealsTaken, Store
from quickcheck.transfer.bundle import Bundle

_Each = TypeVar("_Each")
_BATCH: Final = 4 * 1024 * 1024
"""Bytes taken in one transaction: one at a time would wait for the disk thousands of times, and all at
once would keep everybody else waiting, and hold all photos in memory."""


@dataclass(frozen=True)
class Taken:
    """What became of an export."""

    books: tuple[BookTaken, ...]
    show: bool  # whether there was none here
    editions: int  # of those that were new
    devices: int
    photos: int
    inspections: Mapping[Fate, int]
    beside: tuple[UUID, ...]  # of these two versions are kept since now
    seals: SealsTaken

    @property
    def changed(self) -> bool:
        """Whether anything was added."""
        more = sum(count for fate, count in self.inspections.items() if fate is not Fate.SAME)
        seals = len(self.seals.keys) + self.seals.cards + self.seals.recalls
        place = len(self.books) + self.show + self.devices
        return bool(place + self.editions + self.photos + more + seals)


def take(store: Store, bundle: Bundle) -> Taken:
    """Take a sound export into a book; the same again adds nothing.

    First what others lean on: books and editions before inspections, inspections before photos and cards. Each
    step is kept when it is done, so whoever is stopped in between takes the same file again.
    """
    incoming = store.incoming
    editions = sum(incoming.edition(one, of.kept) for of, one in bundle.references())
    place = incoming.place(bundle.place)
    fates: list[tuple[UUID, Fate]] = []
    for some in batches((one, _size(one)) for one in bundle.inspections()):
        fates += zip((one.id for one in some), incoming.inspections(some), strict=True)
    photos = sum(incoming.photos(dict(some)) for some in batches(_photos(bundle)))
    return Taken(
        place.books,
        place.show,
        editions,
        place.devices,
        photos,
        inspections=Counter(fate for _, fate in fates),
        beside=tuple(one for one, fate in fates if fate is Fate.BESIDE),
        seals=incoming.seals(bundle.seals),
    )


def _size(one: CarriedInspection) -> int:
    documents = [each.document for each in one.revisions]
    documents += [each.document for each in one.late]
    documents += [each.document for each in one.parked]
    return sum(map(len, documents))


def _photos(bundle: Bundle) -> Iterator[tuple[tuple[CarriedPhoto, bytes], int]]:
    for photo in bundle.photos:
        content = bundle.photo(photo)
        yield (photo, content), len(content)


def batches(sized: Iterable[tuple[_Each, int]]) -> Iterator[list[_Each]]:
    """Gather what comes with its size into lists that are not much larger than a batch."""
    some: list[_Each] = []
    total = 0
    for each, size in sized:
        some.append(each)
        total += size
        if total >= _BATCH:
            yield some
            some, total = [], 0
    if some:
        yield some
