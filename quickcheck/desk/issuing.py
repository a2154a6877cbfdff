"""Cards as they are made: sealed where an issuer's key is at hand, and each only once."""

from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from quickcheck.card import (
    Card,
    Recall,
    SealState,
    Signer,
    card_of,
    data_of,
    decode,
    decode_any,
    encode,
    head,
    split,
)
from quickcheck.desk.judging import Judged, judge_sheet
from quickcheck.errors import CardError, ConflictError, NotFoundError, shown
from quickcheck.store import Issued, KeyFiles, Store, signer_for


def signer_needed(store: Store, keys: KeyFiles | None) -> Signer:
    """Return the key to seal with; NotFoundError where no issuer's key is in use here.

    StoreError where there is one and it can't be read: that is no reason to go on without a seal.
    """
    if keys is None:
        raise NotFoundError.of(
            "key",
            expected="an issuer key",
            came="a server that was started without a folder of keys",
            remedy="Seal the card at a station that has one.",
        )
    return signer_for(store.keys, keys)


def signer_here(store: Store, keys: KeyFiles | None) -> Signer | None:
    """Return the key to seal with, or None; StoreError as above."""
    try:
        return signer_needed(store, keys)
    except NotFoundError:
        return None


def issuer_here(store: Store, keys: KeyFiles | None) -> str:
    """Return in whose name cards are sealed here; "" where they are not."""
    signer = signer_here(store, keys)
    return store.keys.get(signer.id).issuer if signer else ""


def make_card(judged: Judged, *, interest: str, now: datetime) -> Card:
    """Return the card of an inspection as it was judged here."""
    return card_of(judged.sheet, judged.verdict, issued=now, interest=interest)


def issue_card(store: Store, signer: Signer | None, card: Card, *, inspection: UUID) -> bytes:
    """Return the bytes that the code carries: sealed, or as they are where there is no key.

    A card of the inspection that says the same and stands is given again.
    """
    if signer is None:
        return encode(card)
    same = _same(store, card, inspection)
    return same.data if same else _sealed(store, signer, card, inspection=inspection).data


def correct_card(
    store: Store, signer: Signer, card: Card, *, inspection: UUID, instead_of: str
) -> bytes:
    """Issue a card in place of another of the same inspection; ConflictError if it says the same."""
    old = _of_inspection(store, instead_of, inspection)
    if store.cards.check(old.data).state is SealState.WITHDRAWN:
        raise ConflictError.of(
            f"card {old.id}",
            expected="a card that stands",
            came="one that was withdrawn",
            remedy="Make a new card; nothing takes the place of one that was taken back.",
        )
    new = _same(store, card, inspection) or _sealed(store, signer, card, inspection=inspection)
    if new.id == old.id:
        raise ConflictError.of(
            "card",
            expected="something that has changed since that card",
            came="the same answers, marks and interest",
            remedy="Change what is wrong in the inspection first, or withdraw the card.",
        )
    store.cards.correct(old.id, by=new.id, now=card.head.issued)
    return new.data


def withdraw_card(store: Store, card_id: str, *, inspection: UUID, now: datetime) -> Recall:
    """Take a card of an inspection back, for good."""
    return store.cards.withdraw(_of_inspection(store, card_id, inspection).id, now=now)


def seal_again(
    store: Store, signer: Signer, digits: str, *, now: datetime, inspection: UUID | None = None
) -> bytes:
    """Judge the answers of an unsealed card and seal what comes of it; what it says is not believed.

    The same unsealed card gives the same sealed one. NotFoundError when its edition is not here.
    """
    data = data_of(digits)
    if split(data):
        raise CardError.of(
            "card",
            expected="an unsealed card",
            came="one that names a key",
            remedy="Open it: its page says what its seal is worth.",
        )
    reference = store.library.find(head(data).reference)
    told = decode(data, reference)
    judged = judge_sheet(reference, told.document())
    card = make_card(judged, interest=told.head.interest, now=now)
    if inspection and (same := _same(store, card, inspection)):
        return same.data
    source = sha256(data).hexdigest()
    return store.cards.issue(card, signer, source=source, inspection=inspection).data


def _sealed(store: Store, signer: Signer, card: Card, *, inspection: UUID) -> Issued:
    """Seal a card; pressed twice in a minute, it is the same one."""
    source = sha256(encode(card)).hexdigest()
    return store.cards.issue(card, signer, source=source, inspection=inspection)


_LASTING = frozenset({SealState.SEALED, SealState.RETIRED})
"""States in which a card may be handed out once more."""


def _same(store: Store, card: Card, inspection: UUID) -> Issued | None:
    """Return a card of the inspection that says the same, at whatever time, and stands."""
    for issued in reversed(store.cards.of_inspection(inspection)):
        front = head(issued.data)
        if front.reference != card.head.reference:
            continue
        before = decode_any(issued.data, card.reference)
        dated = replace(before.head, issued=card.head.issued, number=card.head.number)
        if replace(before, head=dated) == card and store.cards.check(issued.data).state in _LASTING:
            return issued
    return None


def _of_inspection(store: Store, card_id: str, inspection: UUID) -> Issued:
    for issued in store.cards.of_inspection(inspection):
        if issued.id == card_id:
            return issued
    raise NotFoundError.of(
        "card",
        expected="a card of this inspection",
        came=shown(card_id),
        remedy="Choose one of those listed.",
    )
