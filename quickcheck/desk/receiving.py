"""Documents that devices send: judged again, and kept even if they can't be taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from quickcheck.desk.judging import Document, Judged, judge_sheet
from quickcheck.errors import AnswerError, Fault, NotFoundError, ReadingError, shown
from quickcheck.store import Differing, Outcome, Received, Sent, Store, canonical

_COMPARED: Final = (
    *("rules", "verdict", "claimed", "reads_as", "equally"),
    *("flagged", "odd", "declared", "apart"),
)
"""What a phone tells of its own judgement that must be the same to the letter."""


@dataclass(frozen=True)
class Receipt:
    """What became of a document that a device sent; with ``cause`` it was parked for that."""

    received: Received
    judged: Judged | None = None
    cause: str = ""  # "edition" or "faults"
    faults: tuple[Fault, ...] = ()


def receive(
    store: Store, inspection: UUID, sent: Sent, *, edition_hash: str, now: datetime
) -> Receipt:
    """Take a document that a device sent; judge it again; keep it even if it can't be taken."""
    try:
        reference = store.library.get(edition_hash)
        judged = judge_sheet(reference, sent.document)
    except (NotFoundError, AnswerError, ReadingError) as error:
        cause = "edition" if isinstance(error, NotFoundError) else "faults"
        received = store.book.park(
            inspection, sent, edition_hash=edition_hash, reason=str(error), now=now
        )
        return Receipt(received, cause=cause, faults=error.faults)
    received = store.book.receive(
        inspection, reference, sent, now=now, differing=_differing(sent.document, judged)
    )
    if received.outcome is Outcome.PARKED:
        return Receipt(received, cause="edition", faults=_another_edition(received, edition_hash))
    return Receipt(received, judged)


def _differing(document: Document, judged: Judged) -> Differing | None:
    told = document.get("judged")
    if not isinstance(told, Mapping):
        return None
    ours = judged.verdict.as_json()
    other = [name for name in _COMPARED if name in told and told[name] != ours[name]]
    if not other:
        return None
    phone, server = ({name: side[name] for name in other} for side in (told, ours))
    return Differing(canonical(phone), canonical(server), judged.verdict.rules)


def _another_edition(received: Received, edition_hash: str) -> tuple[Fault, ...]:
    kept = received.current.reference_hash if received.current else ""
    return (
        Fault(
            "reference",
            f"the edition that the inspection began with, {kept}",
            shown(edition_hash),
            "Judge it by that edition, or begin a new inspection by the other.",
        ),
    )
