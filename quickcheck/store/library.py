"""The library: every edition of a reference that an inspection or a card ever needed."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Final

from sqlalchemy import Connection, bindparam, select

from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.reference import Reference, reference_from_canonical
from quickcheck.store import queries
from quickcheck.store.documents import storable
from quickcheck.store.session import Database
from quickcheck.store.tables import EditionPictureRow, EditionRow, PictureRow

_HASH: Final = re.compile("[0-9a-f]{64}")
_SHORTEST_PREFIX: Final = 8  # bytes; what a card carries

_CANONICAL: Final = select(EditionRow.canonical).where(EditionRow.hash == bindparam("hash"))
_PICTURES: Final = (
    select(EditionPictureRow.name, PictureRow.hash, PictureRow.content)
    .join(PictureRow, PictureRow.hash == EditionPictureRow.picture_hash)
    .where(EditionPictureRow.edition_hash == bindparam("hash"))
)


@dataclass(frozen=True, slots=True)
class Edition:
    """One edition as listed: the author's label, and when it was kept."""

    hash: str
    reference_id: str
    title: str
    edition: str
    kept: datetime


class Library:
    """Editions by their hash; none is ever changed or taken away."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._parsed: dict[str, Reference] = {}

    def keep(self, reference: Reference, *, now: datetime | None = None) -> None:
        """Keep an edition with its pictures; one that is already kept stays as it is."""
        if reference.hash in self._parsed:
            return
        with self._database.writing() as connection:
            known = connection.scalar(_CANONICAL, {"hash": reference.hash})
            if known is None:
                _insert(connection, reference, now or datetime.now(UTC))
        self._parsed[reference.hash] = reference

    def get(self, edition_hash: str) -> Reference:
        """Return an edition exactly as it was when it was kept."""
        found = self._parsed.get(edition_hash)
        if found is None:
            found = self._parsed[edition_hash] = self._load(edition_hash)
        return found

    def find(self, prefix: bytes) -> Reference:
        """Return the edition whose hash begins with these 8 bytes or more."""
        query = select(EditionRow.hash).where(EditionRow.hash.startswith(prefix.hex())).limit(2)
        with self._database.reading() as connection:
            hashes = connection.scalars(query).all()
        if len(hashes) != 1 or len(prefix) < _SHORTEST_PREFIX:
            raise _missing(prefix.hex())
        return self.get(hashes[0])

    def editions(self, reference_id: str) -> tuple[Edition, ...]:
        """Return the editions of a reference, the last one kept first."""
        query = select(
            EditionRow.hash,
            EditionRow.reference_id,
            EditionRow.title,
            EditionRow.edition,
            EditionRow.kept,
        ).where(EditionRow.reference_id == storable(reference_id))
        with self._database.reading() as connection:
            rows = connection.execute(query.order_by(EditionRow.kept.desc(), EditionRow.hash))
            return tuple(Edition(*row) for row in rows)

    def _load(self, edition_hash: str) -> Reference:
        if not _HASH.fullmatch(edition_hash):
            raise _missing(edition_hash)
        with self._database.reading() as connection:
            canonical = connection.scalar(_CANONICAL, {"hash": edition_hash})
            pictures = connection.execute(_PICTURES, {"hash": edition_hash}).all()
        if canonical is None:
            raise _missing(edition_hash)
        self._prove(edition_hash, canonical)
        for _, picture_hash, content in pictures:
            self._prove(picture_hash, content)
        return reference_from_canonical(canonical, {name: data for name, _, data in pictures})

    def _prove(self, expected: str, content: bytes) -> None:
        came = sha256(content).hexdigest()
        if came != expected:
            raise StoreError.of(
                f"{self._database.place}: library",
                expected=f"content with the SHA-256 {expected}",
                came=came,
                remedy="The file is damaged: keep a copy of it and put back the last backup.",
            )


def _insert(connection: Connection, reference: Reference, now: datetime) -> None:
    """Insert an edition; where somebody else just did, that one stands."""
    row = {
        "hash": reference.hash,
        "reference_id": reference.id,
        "title": reference.title,
        "edition": reference.edition,
        "canonical": reference.canonical,
        "kept": now,
    }
    if not queries.added(connection, EditionRow, row):
        return
    for name, picture_hash in _keep_pictures(connection, reference.pictures).items():
        named = {"edition_hash": reference.hash, "name": name, "picture_hash": picture_hash}
        queries.added(connection, EditionPictureRow, named)


def _keep_pictures(connection: Connection, pictures: Mapping[str, bytes]) -> dict[str, str]:
    """Insert the contents that are new; return each name's hash."""
    hashes = {name: sha256(content).hexdigest() for name, content in pictures.items()}
    # In order, as two editions with the same pictures may be kept at once.
    for picture_hash, name in sorted((each, name) for name, each in hashes.items()):
        queries.added(connection, PictureRow, {"hash": picture_hash, "content": pictures[name]})
    return hashes


def _missing(came: str) -> NotFoundError:
    return NotFoundError.of(
        "edition of a reference",
        expected="the hash of an edition that is kept here",
        came=shown(came),
        remedy="Add the reference file of that edition, then try again.",
    )
