"""The issue log: every card that was sealed, byte for byte, and what became of it.

A card's number is in its signed bytes, so it is taken and the card sealed inside one transaction:
two programs that issue at once never give a number twice.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, Row, bindparam, func, insert, select

from quickcheck.card import (
    Card,
    IssuerKey,
    KeyRing,
    Known,
    Recall,
    RecallKind,
    RecallList,
    Seal,
    Signer,
    check_seal,
    seal,
    split,
)
from quickcheck.card.front import WIDTHS
from quickcheck.errors import CardError, ConflictError, NotFoundError, shown
from quickcheck.store import queries
from quickcheck.store.keys import all_keys, key_to_write
from quickcheck.store.records import in_utc
from quickcheck.store.scope import Scoped
from quickcheck.store.seal_tables import CardRow, RecallRow

_HIGHEST: Final = (1 << WIDTHS["number"]) - 1
_NO_PART_OF_A_SERIAL: Final = re.compile(r"[^0-9A-Z?]+")

_CARDS: Final = select(
    CardRow.id,
    CardRow.key_id,
    CardRow.serial,
    CardRow.number,
    CardRow.issued,
    CardRow.data,
    CardRow.source,
    CardRow.inspection_id,
)
_ONE: Final = _CARDS.where(CardRow.id == bindparam("card"))
_BY_SOURCE: Final = _CARDS.where(CardRow.source == bindparam("source"))
_OF_INSPECTION: Final = _CARDS.where(CardRow.inspection_id == bindparam("inspection")).order_by(
    CardRow.issued, CardRow.id
)
_LAST_NUMBER: Final = select(func.max(CardRow.number)).where(
    CardRow.key_id == bindparam("key"), CardRow.serial == bindparam("serial")
)
_DATES: Final = (
    select(CardRow.issued)
    .where(CardRow.serial == bindparam("serial"), CardRow.id != bindparam("card"))
    .order_by(CardRow.issued.desc())
)
_RECALLS: Final = select(RecallRow.card_id, RecallRow.kind, RecallRow.at, RecallRow.by_id)
_RECALL: Final = _RECALLS.where(RecallRow.card_id == bindparam("card"))


@dataclass(frozen=True, slots=True)
class Issued:
    """A card of the log; ``data`` are the sealed bytes that went out."""

    id: str
    key_id: bytes
    serial: str  # as `serial_key` has it
    number: int
    issued: datetime
    data: bytes
    source: str | None = None
    inspection: UUID | None = None


def serial_key(text: str) -> str:
    """Return what makes two spellings of a serial number one: its letters and digits, in capitals.

    Otherwise a blank more would begin a new count. A question mark stands for a sign that can't be
    read, and is kept.
    """
    return _NO_PART_OF_A_SERIAL.sub("", text.upper())


class Cards(Scoped):
    """What left the building under a seal; nothing of it is ever changed or taken away.

    What a card says is anybody's; which inspection it was made from, and taking it back, is the
    scope's.
    """

    def issue(
        self,
        card: Card,
        signer: Signer,
        *,
        source: str | None = None,
        inspection: UUID | None = None,
    ) -> Issued:
        """Give a card the next number for its serial, seal it, and keep what was sealed.

        ``source`` is a SHA-256 of what it is made from (64 hex digits); the same again gives the
        card that it gave before. ConflictError if the key was retired in between.
        """
        with self._database.writing() as connection:
            if inspection:
                self.scope.check(connection, inspection)
            key = key_to_write(connection, signer.id)
            if source and (row := connection.execute(_BY_SOURCE, {"source": source}).one_or_none()):
                return _issued(row)
            _check_key(key, signer, card.head.issued)
            issued = _sealed(connection, card, signer)
            issued = replace(issued, source=source, inspection=inspection)
            if not queries.added(connection, CardRow, _columns(issued)):
                # Only the source can be there: somebody else sealed it by another key.
                return _issued(connection.execute(_BY_SOURCE, {"source": source}).one())
            queries.count(connection)
        return issued

    def get(self, card_id: str) -> Issued:
        """Return a card of the log."""
        with self._database.reading() as connection:
            return _find(connection, card_id)

    def inspection_of(self, card_id: str) -> UUID | None:
        """Return what a card was made from; None where another book issued it, or nothing says."""
        with self._database.reading() as connection:
            row = connection.execute(_ONE, {"card": card_id}).one_or_none()
            found = _issued(row).inspection if row else None
            return found if found and self.scope.owns(connection, found) else None

    def of_inspection(self, inspection: UUID) -> tuple[Issued, ...]:
        """Return the cards that were made from an inspection, the first issued first."""
        with self._database.reading() as connection:
            self.scope.check(connection, inspection)
            rows = connection.execute(_OF_INSPECTION, {"inspection": inspection})
            return tuple(_issued(row) for row in rows)

    def counts(self, inspections: Iterable[UUID]) -> dict[UUID, int]:
        """Return how many cards were made from each of some inspections that have any."""
        query = (
            select(CardRow.inspection_id, func.count())
            .where(CardRow.inspection_id.in_(list(inspections)))
            .group_by(CardRow.inspection_id)
        )
        with self._database.reading() as connection:
            counts = {row[0]: int(row[1]) for row in connection.execute(query) if row[0]}
            mine = self.scope.owned(connection, counts)
        return {inspection: counts[inspection] for inspection in counts if inspection in mine}

    def others(self, serial_text: str, *, but: str = "") -> tuple[datetime, ...]:
        """Return when other cards for a serial were issued, by whatever key, the last one first.

        ``but`` is the card that is looked at. Without a serial nothing tells instruments apart, so
        there are no others.
        """
        serial = serial_key(serial_text)
        if not serial:
            return ()
        with self._database.reading() as connection:
            rows = connection.scalars(_DATES, {"serial": serial, "card": but})
            return tuple(rows)

    def withdraw(self, card_id: str, *, now: datetime) -> Recall:
        """Take a card back; ConflictError if it was corrected."""
        return self._recall(card_id, RecallKind.WITHDRAWN, by=None, now=now)

    def correct(self, card_id: str, *, by: str, now: datetime) -> Recall:
        """Put another issued card in the place of one; ConflictError where either was recalled."""
        return self._recall(card_id, RecallKind.CORRECTED, by=by, now=now)

    def _recall(self, card_id: str, kind: RecallKind, *, by: str | None, now: datetime) -> Recall:
        """Note a recall; the same one again gives the first."""
        with self._database.writing() as connection:
            # Two recalls that have to do with each other wait; in order, so not in a circle.
            cards = [self._mine(connection, each) for each in (card_id, by) if each]
            for key_id in sorted({card.key_id for card in cards}):
                key_to_write(connection, key_id)
            before = _recall_of(connection, card_id)
            if before and (before.kind, before.by) == (kind, by):
                return before
            _check_recall(connection, card_id, before, by=by)
            recall = Recall(card_id, kind, in_utc(now).replace(microsecond=0), by)
            row = {"card_id": card_id, "kind": kind, "at": recall.at, "by_id": by}
            connection.execute(insert(RecallRow).values(**row))
            queries.count(connection)
        return recall

    def _mine(self, connection: Connection, card_id: str) -> Issued:
        """Return a card of the scope; one that was made from no inspection is the organizer's."""
        card = _find(connection, card_id)
        inspection = card.inspection
        if self.scope.everything or (inspection and self.scope.owns(connection, inspection)):
            return card
        raise _no_card(card_id)

    def check(self, data: bytes) -> Seal:
        """Say what the seal of a card is worth, by all that is known here."""
        sealed = split(data)
        recalls: dict[str, Recall] = {}
        logged: frozenset[bytes] = frozenset()
        with self._database.reading() as connection:
            ring = KeyRing.of(all_keys(connection))
            if sealed:
                row = connection.execute(_ONE, {"card": sealed.card_id}).one_or_none()
                logged = frozenset({row.data} if row else ())
                found = _recall_of(connection, sealed.card_id)
                recalls = {found.card: found} if found else {}
        return check_seal(data, Known(ring, recalls, logged))

    def recall_list(self, now: datetime) -> RecallList:
        """Return all recalls and revoked keys, to be signed and published."""
        with self._database.reading() as connection:
            recalls = tuple(_recall_in(row) for row in connection.execute(_RECALLS))
            ring = KeyRing.of(all_keys(connection))
        return RecallList(now, recalls, ring.revoked())


def _check_key(key: IssuerKey, signer: Signer, issued: datetime) -> None:
    if key.public == signer.public and key.in_use and key.stood_at(issued):
        return
    raise ConflictError.of(
        "key",
        expected=f"a key in use since before {issued:%Y-%m-%d %H:%M}",
        came=f"{key.id.hex()}, which is not",
        remedy="It was retired in between, or the clock is wrong. Look at the clock and try again.",
    )


def _sealed(connection: Connection, card: Card, signer: Signer) -> Issued:
    """Seal a card with the next number for its serial."""
    serial = serial_key(card.head.serial_text)
    last = connection.scalar(_LAST_NUMBER, {"key": signer.id.hex(), "serial": serial}) or 0
    if last >= _HIGHEST:
        raise CardError.of(
            "number",
            expected=f"at most {_HIGHEST} cards by one key for one serial (or for none)",
            came=f"one more than {last}",
            remedy="Rotate the key: quickcheck keys rotate.",
        )
    done = seal(replace(card, head=replace(card.head, number=last + 1)), signer)
    issued = in_utc(card.head.issued)
    return Issued(done.card_id, signer.id, serial, last + 1, issued, done.data)


def _columns(issued: Issued) -> Mapping[str, Any]:
    return {
        "id": issued.id,
        "key_id": issued.key_id.hex(),
        "serial": issued.serial,
        "number": issued.number,
        "issued": issued.issued,
        "data": issued.data,
        "source": issued.source,
        "inspection_id": issued.inspection,
    }


def _issued(row: Row[*tuple[Any, ...]]) -> Issued:
    name, key_id, *rest = row
    return Issued(name, bytes.fromhex(key_id), *rest)


def _find(connection: Connection, card_id: str) -> Issued:
    row = connection.execute(_ONE, {"card": card_id}).one_or_none()
    if row is None:
        raise _no_card(card_id)
    return _issued(row)


def _no_card(card_id: str) -> NotFoundError:
    return NotFoundError.of(
        "card",
        expected="a card of the issue log",
        came=shown(card_id),
        remedy="It was issued by another book, or never.",
    )


def _recall_in(row: Row[*tuple[Any, ...]]) -> Recall:
    return Recall(row.card_id, RecallKind(row.kind), row.at, row.by_id)


def _recall_of(connection: Connection, card_id: str) -> Recall | None:
    row = connection.execute(_RECALL, {"card": card_id}).one_or_none()
    return _recall_in(row) if row else None


def _check_recall(
    connection: Connection, card_id: str, before: Recall | None, *, by: str | None
) -> None:
    """Refuse a second recall of a card, and a correction by one that does not stand itself."""
    if before:
        raise _recalled_already(card_id, before)
    if by is None:
        return
    _find(connection, by)
    if ended := _recall_of(connection, by):
        raise _recalled_already(by, ended)
    if by == card_id:
        raise ConflictError.of(
            f"card {card_id}",
            expected="another card in its place",
            came="the same",
            remedy="Issue a new card first, or withdraw this one.",
        )


def _recalled_already(card_id: str, before: Recall) -> ConflictError:
    return ConflictError.of(
        f"card {card_id}",
        expected="a card that nobody recalled",
        came=f"one that was {before.kind}",
        remedy="A recall is for good: issue a new card.",
    )
