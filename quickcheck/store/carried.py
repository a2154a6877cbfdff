"""What is taken from one book to another, as frozen values.

Each record is a row, its fields named and ordered as the row's columns, so that reading, writing and
the form in a file follow from the names alone. Nothing here is a secret: a device is carried without
its token, a key without its secret half.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Select, select

from quickcheck.store.access_tables import BookRow
from quickcheck.store.documented_tables import DocumentedRow
from quickcheck.store.seal_tables import CardRow, IssuerKeyRow, RecallRow
from quickcheck.store.show import ShowRow
from quickcheck.store.sync_tables import (
    DeviceRow,
    DifferenceRow,
    InspectionPhotoRow,
    ParkedRow,
    PhotoRow,
)
from quickcheck.store.tables import ConflictRow, EditionRow, RevisionRow, Row
from quickcheck.store.tally import DeviceTallyRow


@dataclass(frozen=True, slots=True)
class CarriedBook:
    """A dealer's book by name."""

    id: UUID
    name: str
    made: datetime


@dataclass(frozen=True, slots=True)
class CarriedRevision:
    """One saved document; ``document`` is the text that ``sha256`` is of."""

    number: int
    back: int | None
    kind: str
    saved: datetime
    sha256: str
    document: str
    device_id: UUID | None


@dataclass(frozen=True, slots=True)
class CarriedLate:
    """A document that came too late to become a revision."""

    base: int
    current: int
    saved: datetime
    sha256: str
    document: str
    device_id: UUID | None


@dataclass(frozen=True, slots=True)
class CarriedParked:
    """A document that could not become a revision."""

    edition_hash: str
    base: int
    current: int
    reason: str
    saved: datetime
    sha256: str
    document: str
    device_id: UUID | None
    book_id: UUID
    visit: UUID | None


@dataclass(frozen=True, slots=True)
class CarriedWord:
    """One word about an inspection's papers; all of it empty where there are none that count."""

    number: int
    back: int | None
    kind: str
    first: int | None
    last: int | None
    doubt: float | None
    note: str
    said: datetime


@dataclass(frozen=True, slots=True)
class CarriedPlace:
    """That a photo was announced at a point, whether it came or not."""

    point: str
    sha256: str
    announced: datetime


@dataclass(frozen=True, slots=True)
class CarriedDifference:
    """A revision that the phone judged otherwise."""

    revision: int
    phone: str
    server: str
    rules: int
    noticed: datetime


@dataclass(frozen=True, slots=True)
class CarriedInspection:
    """An inspection with all that was ever received of it.

    ``edition_hash``, ``opened`` and ``book_id`` are None where it was never opened, and all there
    is was parked; ``visit`` is the one at a kiosk, if it was one.
    """

    id: UUID
    edition_hash: str | None
    opened: datetime | None
    book_id: UUID | None
    visit: UUID | None
    revisions: tuple[CarriedRevision, ...]
    late: tuple[CarriedLate, ...]
    parked: tuple[CarriedParked, ...]
    photos: tuple[CarriedPlace, ...]
    differences: tuple[CarriedDifference, ...]
    papers: tuple[CarriedWord, ...]


@dataclass(frozen=True, slots=True)
class CarriedEdition:
    """One edition of a reference; ``pictures`` are name → SHA-256 of the content."""

    hash: str
    reference_id: str
    title: str
    edition: str
    kept: datetime
    pictures: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CarriedPhoto:
    """A photo, without its content: ``sha256`` is its name, ``content_sha256`` what it is."""

    sha256: str
    content_type: str
    content_sha256: str
    made: datetime


@dataclass(frozen=True, slots=True)
class CarriedDevice:
    """What a device was called and used as; nothing that would let anybody in."""

    id: UUID
    name: str
    first_seen: datetime
    last_seen: datetime
    role: str
    book_id: UUID
    visit: UUID | None
    revoked: datetime | None


@dataclass(frozen=True, slots=True)
class CarriedTally:
    """What a device told of the inspections that were begun on it."""

    device_id: UUID
    made: int
    waiting: int
    discarded: int
    settled_before: int
    discarded_before: int
    told: datetime


@dataclass(frozen=True, slots=True)
class CarriedShow:
    """What was last said of the show."""

    name: str
    opens: date
    closes: date
    base_url: str
    noted: datetime


@dataclass(frozen=True, slots=True)
class CarriedKey:
    """The public half of a key."""

    id: str
    public: bytes
    issuer: str
    made: datetime
    retired: datetime | None
    revoked: datetime | None


@dataclass(frozen=True, slots=True)
class CarriedCard:
    """A card of the issue log; ``data`` are the bytes that went out."""

    id: str
    key_id: str
    serial: str
    number: int
    issued: datetime
    data: bytes
    source: str | None
    inspection_id: UUID | None


@dataclass(frozen=True, slots=True)
class CarriedRecall:
    """That a card was withdrawn or corrected."""

    card_id: str
    kind: str
    at: datetime
    by_id: str | None


_ROWS: Final[Mapping[type[Any], type[Row]]] = {
    CarriedBook: BookRow,
    CarriedRevision: RevisionRow,
    CarriedLate: ConflictRow,
    CarriedParked: ParkedRow,
    CarriedWord: DocumentedRow,
    CarriedPlace: InspectionPhotoRow,
    CarriedDifference: DifferenceRow,
    CarriedEdition: EditionRow,
    CarriedPhoto: PhotoRow,
    CarriedDevice: DeviceRow,
    CarriedTally: DeviceTallyRow,
    CarriedShow: ShowRow,
    CarriedKey: IssuerKeyRow,
    CarriedCard: CardRow,
    CarriedRecall: RecallRow,
}


def selected(kind: type[Any]) -> Select[*tuple[Any, ...]]:
    """Return the statement that reads all rows of a kind, columns in the order of the fields."""
    row = _ROWS[kind]
    names = [field.name for field in fields(kind) if field.name != "pictures"]
    return select(*(getattr(row, name) for name in names))


def columns(record: Any, **more: Any) -> dict[str, Any]:
    """Return what is inserted for a record."""
    return {field.name: getattr(record, field.name) for field in fields(record)} | more
