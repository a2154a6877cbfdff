"""An export that was read from end to end and found sound, and what it holds."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from quickcheck.errors import StoreError, shown
from quickcheck.reference import Reference
from quickcheck.store import (
    CarriedBook,
    CarriedCard,
    CarriedDevice,
    CarriedEdition,
    CarriedInspection,
    CarriedKey,
    CarriedPhoto,
    CarriedRecall,
    CarriedShow,
    CarriedTally,
    PlaceCarried,
    Seals,
)
from quickcheck.transfer import checks
from quickcheck.transfer.checks_place import check_place
from quickcheck.transfer.container import Container, opened
from quickcheck.transfer.manifest import Manifest, check_sums, read_manifest
from quickcheck.transfer.members import (
    BOOKS,
    CARDS,
    DEVICES,
    EDITIONS,
    MANIFEST,
    PHOTOS,
    SHEET,
    SHOW,
    SUFFIXES,
    TALLIES,
    Tally,
    inspection_name,
    photo_name,
)
from quickcheck.transfer.plain import data_of, record, records, unfit


class Bundle:
    """What an export holds; every content is held against the manifest each time it is read."""

    def __init__(self, container: Container) -> None:
        self._container = container
        self.manifest: Manifest = read_manifest(container)
        self.place = PlaceCarried(
            self._list(CarriedBook, BOOKS),
            self._list(CarriedDevice, DEVICES),
            self._list(CarriedTally, TALLIES),
            self._list(CarriedShow, SHOW),
        )
        self.books = check_place(self.place)
        self.editions = self._list(CarriedEdition, EDITIONS)
        self.photos = self._list(CarriedPhoto, PHOTOS)
        self.seals = self._seals()

    def references(self) -> Iterator[tuple[CarriedEdition, Reference]]:
        """Yield every edition, read and checked."""
        for one in self.editions:
            where = f"references/{one.hash}.json"
            pictures = {
                name: self.read(f"references/pictures/{digest}")
                for name, digest in one.pictures.items()
            }
            yield one, checks.edition_of(one, self.read(where), pictures, where=where)

    def inspections(self) -> Iterator[CarriedInspection]:
        """Yield every inspection, read and checked."""
        editions = {one.hash for one in self.editions}
        for name in self.manifest.members:
            if name.startswith("inspections/"):
                data = data_of(self.read(name), name)
                if isinstance(data, dict):
                    data.pop("devices", None)  # their names stand in a member of their own
                one = record(CarriedInspection, data, name)
                if inspection_name(one.id) != name:
                    raise unfit(name, "the inspection of that name", one.id)
                checks.check_inspection(one, editions, self.books, where=name)
                yield one

    def photo(self, photo: CarriedPhoto) -> bytes:
        """Return the content of a photo."""
        return self.read(photo_name(photo.sha256, photo.content_type))

    def read(self, name: str) -> bytes:
        """Return the content of a member."""
        content = self._container.read(name) if name in self.manifest.members else None
        if content is None:
            raise unfit(name, "a member of that name", "none")
        self._prove(name, hashlib.sha256(content).hexdigest())
        return content

    def check(self) -> None:
        """Read all of it; ExportError tells the first thing that is not as it should be."""
        check_sums(self._container, self.manifest)
        for name in self.manifest.members:
            digest = hashlib.sha256()
            for chunk in self._container.chunks(name):
                digest.update(chunk)
            self._prove(name, digest.hexdigest())
        tally = Tally()
        tally.add(books=len(self.place.books), devices=len(self.place.devices))
        tally.add(tallies=len(self.place.tallies), shows=len(self.place.shows))
        tally.add(editions=sum(1 for _ in self.references()))
        tally.add(pictures=len({p for one in self.editions for p in one.pictures.values()}))
        tally.add(keys=len(self.seals.keys), cards=len(self.seals.cards))
        tally.add(recalls=len(self.seals.recalls))
        for inspection in self.inspections():
            tally.inspection(inspection)
        for photo in self.photos:
            self._check_photo(photo)
        tally.add(photos=len(self.photos))
        self._check_counts(tally)

    def _check_photo(self, photo: CarriedPhoto) -> None:
        if photo.content_type not in SUFFIXES:
            raise unfit(PHOTOS, f"one of {', '.join(SUFFIXES)}", photo.content_type)
        name = photo_name(photo.sha256, photo.content_type)
        start = next(self._container.chunks(name), b"") if name in self.manifest.members else b""
        checks.check_photo(photo, start, name)
        if self.manifest.members[name][1] != photo.content_sha256:
            raise unfit(name, f"content with the SHA-256 {photo.content_sha256}", "another")

    def _check_counts(self, tally: Tally) -> None:
        """Refuse counts other than what was read, and members that nothing speaks of."""
        if dict(self.manifest.counts) != tally.counts:
            raise unfit(MANIFEST, f"the counts {tally.counts}", self.manifest.counts)
        spoken = {BOOKS, DEVICES, TALLIES, SHOW, EDITIONS, PHOTOS, CARDS, SHEET}
        spoken |= {photo_name(one.sha256, one.content_type) for one in self.photos}
        spoken |= {f"references/{one.hash}.json" for one in self.editions}
        spoken |= {f"references/pictures/{p}" for e in self.editions for p in e.pictures.values()}
        more = [
            name
            for name in self.manifest.members
            if name not in spoken and not name.startswith("inspections/")
        ]
        if more:
            raise unfit(MANIFEST, "members that something speaks of", more[0])

    def _list(self, kind: type[Any], name: str) -> tuple[Any, ...]:
        return records(kind, data_of(self.read(name), name), name)

    def _seals(self) -> Seals:
        data = data_of(self.read(CARDS), CARDS)
        if not isinstance(data, dict) or data.keys() != {"keys", "cards", "recalls"}:
            raise unfit(CARDS, "keys, cards and recalls", data)
        seals = Seals(
            records(CarriedKey, data["keys"], f"{CARDS}: keys"),
            records(CarriedCard, data["cards"], f"{CARDS}: cards"),
            records(CarriedRecall, data["recalls"], f"{CARDS}: recalls"),
        )
        checks.check_seals(seals, CARDS)
        return seals

    def _prove(self, name: str, came: str) -> None:
        expected = self.manifest.members[name][1]
        if came != expected:
            raise unfit(name, f"content with the SHA-256 {expected}", came)


@contextmanager
def open_bundle(path: Path) -> Iterator[Bundle]:
    """Read an export from end to end and hand it out; ExportError if anything is not as it should be.

    What was read is read again when it is taken, and held against the same hashes.
    """
    try:
        with opened(path) as container:
            bundle = Bundle(container)
            bundle.check()
            yield bundle
    except OSError as error:
        raise StoreError.of(
            str(path),
            expected="a file that can be read",
            came=shown(error.strerror or str(error)),
            remedy="Name an export, and look whether its disk is in and sound.",
        ) from error
