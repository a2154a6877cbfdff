"""Cards as they are looked at: the seal first, then what the code says, judged again."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from quickcheck.card import (
    STANDING,
    CardHead,
    Seal,
    SealState,
    Signer,
    data_of,
    decode_any,
    digits,
    head,
    sign_recalls,
)
from quickcheck.desk.judging import Judged, judge_sheet
from quickcheck.errors import NotFoundError
from quickcheck.store import Issued, Store

PASSED_ON: Final = STANDING | {SealState.CORRECTED, SealState.WITHDRAWN, SealState.UNSEALED}
"""States in which a page repeats what a card says; in the others it may be a stranger's word."""


@dataclass(frozen=True)
class ShownCard:
    """A card rebuilt from its code alone, with what its seal is worth."""

    data: bytes
    seal: Seal
    front: CardHead | None = None  # None where nothing of it is passed on
    judged: Judged | None = None  # judged again, None where its edition is not here
    others: tuple[datetime, ...] = ()  # when other cards for its serial were issued
    instead: str = ""  # the digits of the card that took its place

    @property
    def differs(self) -> bool:
        """Whether it is judged otherwise today than it says."""
        if self.front is None or self.judged is None:
            return False
        verdict = self.judged.verdict
        today = (verdict.rules, verdict.verdict, verdict.reads_as[0][0], verdict.reads_as[-1][1])
        return today != (self.front.rules, self.front.verdict, *self.front.reads_as)


def read_card(store: Store, text: str) -> ShownCard:
    """Read a card from its digits; CardError for what is none.

    An unsealed card whose edition is not here is a NotFoundError: nothing would be left of it but
    a verdict that nobody vouches for and that can't be judged again.
    """
    data = data_of(text)
    seal = store.cards.check(data)
    if seal.state not in PASSED_ON:
        return ShownCard(data, seal)
    front = head(data)
    judged = _judged(store, data, front, needed=seal.state is SealState.UNSEALED)
    others = store.cards.others(front.serial_text, but=seal.card or "")
    by = seal.recall.by if seal.recall else None
    instead = digits(store.cards.get(by).data) if by else ""
    return ShownCard(data, seal, front, judged, others, instead)


def _judged(store: Store, data: bytes, front: CardHead, *, needed: bool) -> Judged | None:
    try:
        reference = store.library.find(front.reference)
    except NotFoundError:
        if needed:
            raise
        return None
    return judge_sheet(reference, decode_any(data, reference).document())


@dataclass(frozen=True)
class CardOfInspection:
    """A card that an inspection has in the issue log."""

    issued: Issued
    seal: Seal

    @property
    def digits(self) -> str:
        """What its address ends in."""
        return digits(self.issued.data)


def cards_of(store: Store, inspection: UUID) -> tuple[CardOfInspection, ...]:
    """Return the cards of an inspection, the last issued first."""
    found = reversed(store.cards.of_inspection(inspection))
    return tuple(CardOfInspection(issued, store.cards.check(issued.data)) for issued in found)


def signed_recalls(store: Store, signer: Signer, now: datetime) -> str:
    """Return the recall list of this moment, signed."""
    return sign_recalls(store.cards.recall_list(now), signer)
