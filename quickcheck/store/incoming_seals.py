"""Keys, cards and recalls of another book, taken into this one; what does not go together is told.

A card keeps its number and its bytes, because they are signed. Two programs that sealed with one key
may both have given a number to one serial: then the card that is here stays, the other is not taken,
and that is told. It is still sound: its seal is in its bytes. It only stands in no log here.

A revoked key is revoked here too. A key that was retired elsewhere is retired here, unless a card was
sealed with it here since: that card would look as if somebody had made it with a key out of use.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from sqlalchemy import Connection, func, insert, select, update

from quickcheck.store import queries
from quickcheck.store.carried import CarriedCard, CarriedKey, CarriedRecall, columns, selected
from quickcheck.store.seal_tables import CardRow, IssuerKeyRow, RecallRow
from quickcheck.store.session import Database


@dataclass(frozen=True, slots=True)
class Seals:
    """All that a book knows of keys and cards."""

    keys: Sequence[CarriedKey]
    cards: Sequence[CarriedCard]
    recalls: Sequence[CarriedRecall]


@dataclass(frozen=True, slots=True)
class SealsTaken:
    """What was new, and what could not be taken, each in a sentence."""

    keys: tuple[CarriedKey, ...] = ()  # believed from now on
    cards: int = 0
    recalls: int = 0
    clashes: tuple[str, ...] = ()


_ROWS: Final = {CarriedKey: IssuerKeyRow, CarriedCard: CardRow, CarriedRecall: RecallRow}


def take_seals(database: Database, seals: Seals) -> SealsTaken:
    """Take keys, cards and recalls, in one transaction."""
    with database.writing() as connection:
        keys, clashes = _take_keys(connection, seals.keys)
        cards, beside = _take_cards(connection, seals.cards)
        recalls, refused = _take_recalls(connection, seals.recalls)
        if keys or cards or recalls:
            queries.count(connection)
    return SealsTaken(tuple(keys), len(cards), len(recalls), (*clashes, *beside, *refused))


def _take_keys(
    connection: Connection, carried: Sequence[CarriedKey]
) -> tuple[list[CarriedKey], list[str]]:
    known = {row.id: CarriedKey(*row) for row in connection.execute(selected(CarriedKey))}
    new = [key for key in carried if key.id not in known]
    _add(connection, new)
    clashes: list[str] = []
    for key in carried:
        if key.id in known:
            clashes += _end(connection, known[key.id], key)
    return new, clashes


def _end(connection: Connection, ours: CarriedKey, theirs: CarriedKey) -> Iterator[str]:
    """Let a key sign no more that signs no more elsewhere; yield why not."""
    if (ours.public, ours.issuer) != (theirs.public, theirs.issuer):
        yield f"key {ours.id}: there it is another one, of {theirs.issuer}; ours was kept"
        return
    last = select(func.max(CardRow.issued)).where(CardRow.key_id == ours.id)
    sealed = connection.scalar(last)
    retired, revoked = ours.retired or theirs.retired, ours.revoked or theirs.revoked
    if retired and sealed and sealed > retired and not ours.retired:
        retired = None
        if not revoked:
            yield (
                f"key {ours.id}: it was retired there on {theirs.retired:%Y-%m-%d %H:%M}, and "
                "sealed cards here since; it stays in use here"
            )
    if (retired, revoked) != (ours.retired, ours.revoked):
        values = {"retired": retired, "revoked": revoked}
        connection.execute(update(IssuerKeyRow).where(IssuerKeyRow.id == ours.id).values(**values))


def _take_cards(
    connection: Connection, carried: Iterable[CarriedCard]
) -> tuple[list[CarriedCard], list[str]]:
    here = [CarriedCard(*row) for row in connection.execute(selected(CarriedCard))]
    known = {card.id: card for card in here}
    numbers = {(card.key_id, card.serial, card.number): card.id for card in here}
    sources = {card.source for card in here}
    new, clashes = [], []
    for card in carried:
        place = (card.key_id, card.serial, card.number)
        if card.id in known:
            continue
        if place in numbers:
            clashes.append(
                f"card {card.id}: number {card.number} of key {card.key_id} for the serial "
                f'"{card.serial}" is card {numbers[place]} here; it was not taken'
            )
            continue
        # Both books sealed one unsealed card. Which of the two a third asking gets is settled here.
        new.append(replace(card, source=None) if card.source in sources else card)
    _add(connection, new)
    return new, clashes


def _take_recalls(
    connection: Connection, carried: Iterable[CarriedRecall]
) -> tuple[list[CarriedRecall], list[str]]:
    cards = set(connection.scalars(select(CardRow.id)))
    known = {
        row.card_id: CarriedRecall(*row) for row in connection.execute(selected(CarriedRecall))
    }
    new, clashes = [], []
    for recall in carried:
        ours = known.get(recall.card_id)
        if ours is None and {recall.card_id, recall.by_id or recall.card_id} <= cards:
            new.append(recall)
        elif ours is None:
            clashes.append(f"card {recall.card_id}: it is {recall.kind} there, and not in this log")
        elif (ours.kind, ours.by_id) != (recall.kind, recall.by_id):
            clashes.append(
                f"card {recall.card_id}: it is {recall.kind} there and {ours.kind} here; "
                "ours was kept"
            )
    _add(connection, new)
    return new, clashes


def _add(
    connection: Connection, records: Sequence[CarriedKey | CarriedCard | CarriedRecall]
) -> None:
    if records:
        rows = [columns(one) for one in records]
        connection.execute(insert(_ROWS[type(records[0])]), rows)
