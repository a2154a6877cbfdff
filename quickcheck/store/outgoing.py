"""The book as it is taken elsewhere: whole, of one moment, and without keeping anybody waiting.

All of it in one transaction would be of one moment too, but SQLite lets nobody save while somebody
reads, and a book full of photos takes a minute. Rows are only ever added, so it is enough that *which*
rows there are is read in one transaction (an `Extent`, a few hundred bytes an inspection); what they
hold is then read piece by piece, and is the same whenever that is done.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final, TypeVar
from uuid import UUID

from sqlalchemy import BindParameter, Connection, Select, bindparam, func, select

from quickcheck.errors import StoreError
from quickcheck.store.access_tables import BookRow
from quickcheck.store.carried import (
    CarriedBook,
    CarriedCard,
    CarriedDevice,
    CarriedDifference,
    CarriedEdition,
    CarriedInspection,
    CarriedKey,
    CarriedLate,
    CarriedParked,
    CarriedPhoto,
    CarriedPlace,
    CarriedRecall,
    CarriedRevision,
    CarriedShow,
    CarriedTally,
    CarriedWord,
    selected,
)
from quickcheck.store.documented_tables import DocumentedRow
from quickcheck.store.seal_tables import CardRow, IssuerKeyRow, RecallRow
from quickcheck.store.session import Database
from quickcheck.store.show import ShowRow
from quickcheck.store.sync_tables import (
    DeviceRow,
    DifferenceRow,
    InspectionPhotoRow,
    ParkedRow,
    PhotoRow,
    ServerRow,
)
from quickcheck.store.tables import (
    ConflictRow,
    EditionPictureRow,
    EditionRow,
    InspectionRow,
    PictureRow,
    RevisionRow,
    Row,
)
from quickcheck.store.tally import DeviceTallyRow

_Document = TypeVar("_Document", CarriedRevision, CarriedLate, CarriedParked)

COUNTED: Final[Mapping[str, type[Row]]] = {
    "books": BookRow,
    "editions": EditionRow,
    "pictures": PictureRow,
    "inspections": InspectionRow,
    "revisions": RevisionRow,
    "late": ConflictRow,
    "parked": ParkedRow,
    "places": InspectionPhotoRow,
    "photos": PhotoRow,
    "differences": DifferenceRow,
    "papers": DocumentedRow,
    "devices": DeviceRow,
    "tallies": DeviceTallyRow,
    "shows": ShowRow,
    "keys": IssuerKeyRow,
    "cards": CardRow,
    "recalls": RecallRow,
}
"""What is carried. What the database has of its own, and what lets somebody in, is not."""

_of_inspection: Final[BindParameter[UUID]] = bindparam("inspection")
_OPENED: Final = select(
    InspectionRow.edition_hash, InspectionRow.opened, InspectionRow.book_id, InspectionRow.visit
).where(InspectionRow.id == _of_inspection)
_REVISIONS: Final = (
    selected(CarriedRevision)
    .where(RevisionRow.inspection_id == _of_inspection, RevisionRow.number <= bindparam("current"))
    .order_by(RevisionRow.number)
)
_BESIDE: Final[Mapping[type[Any], Select[*tuple[Any, ...]]]] = {
    kind: selected(kind)
    .add_columns(row.id)
    .where(row.inspection_id == _of_inspection)
    .order_by(row.id)
    for kind, row in ((CarriedLate, ConflictRow), (CarriedParked, ParkedRow))
}
_PHOTO: Final = select(PhotoRow.content).where(PhotoRow.sha256 == bindparam("name"))
_PICTURE: Final = select(PictureRow.content).where(PictureRow.hash == bindparam("name"))
_CANONICAL: Final = select(EditionRow.canonical).where(EditionRow.hash == bindparam("name"))


@dataclass(frozen=True, slots=True)
class Extent:
    """Which rows a book has at a moment; all in an order that does not hang on the database."""

    book: str
    epoch: str
    counts: Mapping[str, int]
    current: Mapping[UUID, int]  # inspection → its revision; 0: all there is was parked
    late: Mapping[UUID, frozenset[int]]
    parked: Mapping[UUID, frozenset[int]]
    places: Mapping[UUID, tuple[CarriedPlace, ...]]
    differences: Mapping[UUID, tuple[CarriedDifference, ...]]
    papers: Mapping[UUID, tuple[CarriedWord, ...]]
    books: tuple[CarriedBook, ...]
    editions: tuple[CarriedEdition, ...]
    photos: tuple[CarriedPhoto, ...]
    devices: tuple[CarriedDevice, ...]
    tallies: tuple[CarriedTally, ...]
    shows: tuple[CarriedShow, ...]
    keys: tuple[CarriedKey, ...]
    cards: tuple[CarriedCard, ...]
    recalls: tuple[CarriedRecall, ...]

    @property
    def pictures(self) -> tuple[str, ...]:
        """The hashes of all pictures of references, each once."""
        return tuple(sorted({one for each in self.editions for one in each.pictures.values()}))


class Outgoing:
    """Reads what is carried; changes nothing."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def extent(self) -> Extent:
        """Return which rows there are, all of one moment."""
        with self._database.reading() as connection:
            return _extent(connection)

    def counts(self) -> dict[str, int]:
        """Return how many rows of each kind there are."""
        with self._database.reading() as connection:
            return _counts(connection)

    def inspection(self, extent: Extent, inspection: UUID) -> CarriedInspection:
        """Return an inspection as it stood at the moment of the extent."""
        current = extent.current[inspection]
        which = {"inspection": inspection, "current": current}
        with self._database.reading() as connection:
            opened = connection.execute(_OPENED, which).one_or_none() if current else None
            revisions = connection.execute(_REVISIONS, which).all() if current else ()
            late = _beside(connection, CarriedLate, inspection, known=extent.late)
            parked = _beside(connection, CarriedParked, inspection, known=extent.parked)
        return CarriedInspection(
            id=inspection,
            edition_hash=opened.edition_hash if opened else None,
            opened=opened.opened if opened else None,
            book_id=opened.book_id if opened else None,
            visit=opened.visit if opened else None,
            revisions=tuple(self._proved(CarriedRevision(*row)) for row in revisions),
            late=tuple(map(self._proved, late)),
            parked=tuple(map(self._proved, parked)),
            photos=extent.places.get(inspection, ()),
            differences=extent.differences.get(inspection, ()),
            papers=extent.papers.get(inspection, ()),
        )

    def canonical(self, edition: str) -> bytes:
        """Return the text of an edition."""
        return self._content(_CANONICAL, edition, expected=edition)

    def picture(self, name: str) -> bytes:
        """Return the content of a reference's picture."""
        return self._content(_PICTURE, name, expected=name)

    def photo(self, photo: CarriedPhoto) -> bytes:
        """Return the content of a photo."""
        return self._content(_PHOTO, photo.sha256, expected=photo.content_sha256)

    def _content(self, query: Select[*tuple[Any, ...]], name: str, *, expected: str) -> bytes:
        with self._database.reading() as connection:
            content: bytes = connection.scalar(query, {"name": name})
        self._prove(content, expected)
        return content

    def _proved(self, record: _Document) -> _Document:
        self._prove(record.document.encode(), record.sha256)
        return record

    def _prove(self, content: bytes, expected: str) -> None:
        came = sha256(content).hexdigest()
        if came != expected:
            raise StoreError.of(
                f"{self._database.place}: export",
                expected=f"content with the SHA-256 {expected}",
                came=came,
                remedy="The book is damaged: keep a copy of it and put back the last backup.",
            )


def _extent(connection: Connection) -> Extent:
    book, epoch = connection.execute(select(ServerRow.book, ServerRow.epoch)).one()
    parked = _ids(connection, ParkedRow)
    opened = connection.execute(select(InspectionRow.id, InspectionRow.current))
    current = dict.fromkeys(parked, 0) | {row.id: row.current for row in opened}
    return Extent(
        book=book,
        epoch=epoch,
        counts=_counts(connection),
        current=dict(sorted(current.items())),
        late=_ids(connection, ConflictRow),
        parked=parked,
        places=_of_inspections(connection, CarriedPlace, InspectionPhotoRow),
        differences=_of_inspections(connection, CarriedDifference, DifferenceRow),
        papers=_of_inspections(connection, CarriedWord, DocumentedRow),
        books=_all(connection, CarriedBook),
        editions=_editions(connection),
        photos=_all(connection, CarriedPhoto),
        devices=_all(connection, CarriedDevice),
        tallies=_all(connection, CarriedTally),
        shows=_all(connection, CarriedShow),
        keys=_all(connection, CarriedKey),
        cards=_all(connection, CarriedCard),
        recalls=_all(connection, CarriedRecall),
    )


def _counts(connection: Connection) -> dict[str, int]:
    counts = [
        select(func.count()).select_from(row).scalar_subquery().label(name)
        for name, row in COUNTED.items()
    ]
    return dict(connection.execute(select(*counts)).one()._asdict())


def _all(connection: Connection, kind: type[Any]) -> tuple[Any, ...]:
    """Return all rows of a kind by their keys; databases have orders of their own for text."""
    return tuple(kind(*row) for row in sorted(connection.execute(selected(kind)).all(), key=_first))


def _first(row: Any) -> Any:
    return row[0]


def _ids(
    connection: Connection, row: type[ConflictRow] | type[ParkedRow]
) -> dict[UUID, frozenset[int]]:
    found = defaultdict(set)
    for inspection, id_ in connection.execute(select(row.inspection_id, row.id)):
        found[inspection].add(id_)
    return {inspection: frozenset(ids) for inspection, ids in found.items()}


def _of_inspections(
    connection: Connection,
    kind: type[Any],
    row: type[InspectionPhotoRow] | type[DifferenceRow] | type[DocumentedRow],
) -> dict[UUID, tuple[Any, ...]]:
    found = defaultdict(list)
    for *values, inspection in connection.execute(selected(kind).add_columns(row.inspection_id)):
        found[inspection].append(tuple(values))
    return {key: tuple(kind(*each) for each in sorted(rows)) for key, rows in found.items()}


def _editions(connection: Connection) -> tuple[CarriedEdition, ...]:
    named: defaultdict[str, dict[str, str]] = defaultdict(dict)
    columns = EditionPictureRow.edition_hash, EditionPictureRow.name, EditionPictureRow.picture_hash
    for edition, name, picture in connection.execute(select(*columns)):
        named[edition][name] = picture
    rows: list[Any] = sorted(connection.execute(selected(CarriedEdition)).all(), key=_first)
    return tuple(CarriedEdition(*(*row, dict(sorted(named[row[0]].items())))) for row in rows)


def _beside(
    connection: Connection,
    kind: type[Any],
    inspection: UUID,
    *,
    known: Mapping[UUID, frozenset[int]],
) -> tuple[Any, ...]:
    """Return what was kept beside the revisions at that moment, in the order in which it came."""
    if inspection not in known:
        return ()
    rows = connection.execute(_BESIDE[kind], {"inspection": inspection})
    return tuple(kind(*row) for *row, id_ in rows if id_ in known[inspection])
