"""What must hold inside an export before anything of it is taken in.

That a member is what the manifest says proves only that nothing was damaged. Here it is asked whether
a book could have said so: numbers that follow each other, hashes that are of their documents, cards
that their keys sealed.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from hashlib import sha256
from typing import Final
from uuid import UUID

from quickcheck.card import CardHead, IssuerKey, Recall, RecallKind, head, split
from quickcheck.errors import CardError, QuickcheckError
from quickcheck.reference import Reference, reference_from_canonical
from quickcheck.store import (
    THIS_BOOK,
    CarriedCard,
    CarriedEdition,
    CarriedInspection,
    CarriedKey,
    CarriedLate,
    CarriedParked,
    CarriedPhoto,
    CarriedRecall,
    CarriedRevision,
    Kind,
    Seals,
    content_type,
    is_hash,
    serial_key,
)
from quickcheck.transfer.checks_place import check_once, check_words
from quickcheck.transfer.plain import data_of, unfit

_Document = CarriedRevision | CarriedLate | CarriedParked
_KINDS: Final = frozenset(Kind) - {Kind.LATE, Kind.PARKED}


def check_inspection(
    one: CarriedInspection, editions: Collection[str], books: Collection[UUID], *, where: str
) -> None:
    """Refuse a history that no book has."""
    last = len(one.revisions)
    begun = {each is not None for each in (one.opened, one.edition_hash, one.book_id)}
    if begun != {bool(one.revisions)}:
        words = "an edition, a book, a time of opening and revisions, or none of these"
        raise unfit(where, words, "some")
    named = {one.book_id or THIS_BOOK, *(parked.book_id for parked in one.parked)}
    if not named <= set(books):
        raise unfit(where, "books that are in this file", sorted(map(str, named)))
    if one.edition_hash is not None and one.edition_hash not in editions:
        raise unfit(where, "an edition that is in this file", one.edition_hash)
    if not last and (one.visit or one.late or one.photos or one.differences or one.papers):
        raise unfit(where, "nothing but parked documents, as it was never opened", "more")
    _check_numbers(one, where)
    documents: Iterable[_Document] = (*one.revisions, *one.late, *one.parked)
    for document in documents:
        _check_document(document.document, document.sha256, where)
    if not all(is_hash(place.sha256) for place in one.photos):
        raise unfit(f"{where}: photos", "names of 64 hex digits", "others")
    check_once(_keys(one), where)
    check_words(one.papers, f"{where}: papers")


def _check_numbers(one: CarriedInspection, where: str) -> None:
    for number, revision in enumerate(one.revisions, start=1):
        below = revision.back is None or 0 < revision.back < number
        if revision.number != number or not below:
            raise unfit(where, f"revision {number}", f"{revision.number}, back {revision.back}")
        if revision.kind not in _KINDS:
            raise unfit(f"{where}: kind", ", ".join(sorted(_KINDS)), revision.kind)
    numbers = [late.current for late in one.late] + [each.revision for each in one.differences]
    if not all(1 <= number <= len(one.revisions) for number in numbers):
        raise unfit(where, f"numbers of revisions up to {len(one.revisions)}", numbers)


def _keys(one: CarriedInspection) -> Iterator[object]:
    yield from ((late.base, late.sha256) for late in one.late)
    yield from (("parked", parked.base, parked.sha256) for parked in one.parked)
    yield from ((place.point, place.sha256) for place in one.photos)
    yield from (each.revision for each in one.differences)


def _check_document(text: str, digest: str, where: str) -> None:
    if sha256(text.encode()).hexdigest() != digest:
        raise unfit(where, f"a document with the SHA-256 {digest}", "another")
    if not isinstance(data_of(text.encode(), where), dict):
        raise unfit(where, "a document that is an object", text)


def edition_of(
    carried: CarriedEdition, canonical: bytes, pictures: Mapping[str, bytes], *, where: str
) -> Reference:
    """Return the reference; its reader looks at every picture too."""
    try:
        reference = reference_from_canonical(canonical, pictures)
    except QuickcheckError as error:
        raise unfit(where, "a reference without faults", str(error)) from error
    told = (carried.hash, carried.reference_id, carried.title, carried.edition)
    is_ = (reference.hash, reference.id, reference.title, reference.edition)
    if told != is_:
        raise unfit(where, f"the edition {told}", is_)
    return reference


def check_photo(photo: CarriedPhoto, start: bytes, where: str) -> None:
    """Refuse a photo that by its first bytes is something else than it says."""
    if content_type(start) != photo.content_type:
        raise unfit(where, photo.content_type, content_type(start) or "no picture")


def check_seals(seals: Seals, where: str) -> None:
    """Refuse keys, cards and recalls that do not belong together."""
    try:
        keys = {key.id: _key(key, where) for key in seals.keys}
        for card in seals.cards:
            _check_card(card, keys.get(card.key_id), f"{where}: card {card.id}")
        for recall in seals.recalls:
            Recall(recall.card_id, RecallKind(recall.kind), recall.at, recall.by_id)
    except (CardError, ValueError) as error:
        raise unfit(where, "keys, cards and recalls as they are issued", str(error)) from error
    check_once(_unique(seals), where)
    _check_recalls(seals.recalls, {card.id for card in seals.cards}, where)


def _unique(seals: Seals) -> Iterator[object]:
    yield from (("key", key.id) for key in seals.keys)
    yield from (("card", card.id) for card in seals.cards)
    yield from ((card.key_id, card.serial, card.number) for card in seals.cards)
    yield from (("source", card.source) for card in seals.cards if card.source)
    yield from (("recall", recall.card_id) for recall in seals.recalls)


def _key(carried: CarriedKey, where: str) -> IssuerKey:
    key = IssuerKey(
        carried.public, carried.issuer, carried.made, carried.retired, revoked=carried.revoked
    )
    if key.id.hex() != carried.id:
        raise unfit(where, f"the key {carried.id}", key.id.hex())
    return key


def _check_card(card: CarriedCard, key: IssuerKey | None, where: str) -> None:
    sealed = split(card.data)
    if sealed is None or key is None or not key.verifies(sealed.message, sealed.signature):
        raise unfit(where, "a card that a key in this file sealed", "another")
    front: CardHead = head(card.data)
    told = (card.id, card.key_id, card.serial, card.number, card.issued)
    serial = serial_key(front.serial_text)
    is_ = (sealed.card_id, sealed.key_id.hex(), serial, front.number, front.issued)
    if told != is_ or not (card.source is None or is_hash(card.source)):
        raise unfit(where, f"what the card itself says, {is_}", told)


def _check_recalls(recalls: Iterable[CarriedRecall], cards: set[str], where: str) -> None:
    """Refuse recalls of cards that are not here, and cards that correct each other in a circle."""
    by = {recall.card_id: recall.by_id for recall in recalls}
    for first, card in by.items():
        passed = set()
        if first not in cards or (card and card not in cards):
            raise unfit(where, "recalls of cards that are in this file", first)
        after = card
        while after in by and after not in passed:
            passed.add(after)
            after = by[after]
        if after in passed:
            raise unfit(where, "corrections that come to an end", first)
