"""What becomes of an inspection that comes from another book: pure, and the same however often.

==================================  ============================================================
here                                what is done
==================================  ============================================================
not here                            it is added as it is
here, with the same history         nothing
here, and ours goes on from theirs  nothing
here, and theirs goes on from ours  their further revisions go on top
here, and both went on              theirs come in as late documents, written on the last revision
                                    that both have: the book says that two versions are kept, and a
                                    person chooses
here, begun with another edition    theirs are parked, as for a device that sends such a one
==================================  ============================================================

What papers say goes the same way, but of two that went on apart the word that was said last stands:
the others are below it, and an undo brings them back.

So nothing is overwritten, and nothing is refused: somebody who comes home with five laptops must not
have to decide on the command line what only a look at both versions can tell.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any
from uuid import UUID

from quickcheck.store.carried import (
    CarriedDifference,
    CarriedInspection,
    CarriedLate,
    CarriedParked,
    CarriedRevision,
    CarriedWord,
)
from quickcheck.store.tables import THIS_BOOK


class Fate(StrEnum):
    """What became of an inspection."""

    NEW = "new"
    SAME = "same"
    GROWN = "grown"  # something was added, and nobody need choose
    BESIDE = "beside"  # two versions are kept


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be added; ``fate`` is what becomes of it if any of that is not here yet."""

    fate: Fate
    revisions: tuple[CarriedRevision, ...] = ()
    late: tuple[CarriedLate, ...] = ()
    parked: tuple[CarriedParked, ...] = ()
    differences: tuple[CarriedDifference, ...] = ()


def plan(here: tuple[CarriedRevision, ...], edition: str | None, there: CarriedInspection) -> Plan:
    """Return what to add to the revisions that are here (of that edition; None: not opened)."""
    if edition is None or there.edition_hash is None:
        fate = Fate.NEW if edition is None else Fate.GROWN
        return Plan(fate, there.revisions, there.late, there.parked, there.differences)
    if edition != there.edition_hash:
        return Plan(Fate.BESIDE, parked=there.parked + tuple(_parked(there, len(here))))
    common = _common(here, there.revisions)
    told = tuple(one for one in there.differences if one.revision <= common)
    if common == len(there.revisions):
        return Plan(Fate.GROWN, (), there.late, there.parked, told)
    if common == len(here):
        more = there.revisions[common:]
        return Plan(Fate.GROWN, more, there.late, there.parked, there.differences)
    late = (*_moved(there.late, common, len(here)), *_late(here, there.revisions, common))
    return Plan(Fate.BESIDE, (), late, there.parked, told)


def in_book(there: CarriedInspection, book: UUID, visit: UUID | None) -> CarriedInspection:
    """Return an inspection as one of the book and the visit that it is of here.

    What is parked would otherwise be somebody else's, and hide the inspection from both.
    """
    parked = tuple(replace(one, book_id=book, visit=visit) for one in there.parked)
    return replace(there, book_id=book, visit=visit, parked=parked)


def further_words(
    here: tuple[CarriedWord, ...], there: tuple[CarriedWord, ...]
) -> tuple[CarriedWord, ...]:
    """Return what to add to the words about papers that are here."""
    common = _common(here, there)
    if common == len(here):
        return there[common:]
    known = set(map(_what_it_says, here))
    more = [one for one in there[common:] if _what_it_says(one) not in known]
    if more and here[-1].said >= more[-1].said:
        more.append(here[-1])  # ours was said last, and stands
    return tuple(
        replace(one, number=number + 1, back=number)
        for number, one in enumerate(more, start=len(here))
    )


def _what_it_says(word: CarriedWord) -> CarriedWord:
    return replace(word, number=0, back=None)


def _common(here: tuple[Any, ...], there: tuple[Any, ...]) -> int:
    """Return how many revisions, or words about papers, both histories begin with."""
    for number, (ours, theirs) in enumerate(zip(here, there, strict=False)):
        if ours != theirs:
            return number
    return min(len(here), len(there))


def _late(
    here: tuple[CarriedRevision, ...], there: tuple[CarriedRevision, ...], common: int
) -> Iterator[CarriedLate]:
    """Yield their further revisions as late documents; what stands in ours was received before."""
    received = {one.sha256 for one in here[common:]}
    for one in there[common:]:
        if one.sha256 not in received:
            yield _late_of(one, base=common, current=len(here))


def _moved(late: Iterable[CarriedLate], common: int, current: int) -> Iterator[CarriedLate]:
    """Yield their late documents, the numbers of revisions that are not ours put right."""
    for one in late:
        seen = one.current if one.current <= common else current
        yield replace(one, base=min(one.base, common), current=seen)


def _late_of(one: CarriedRevision, *, base: int, current: int) -> CarriedLate:
    return CarriedLate(base, current, one.saved, one.sha256, one.document, one.device_id)


def _parked(there: CarriedInspection, current: int) -> Iterator[CarriedParked]:
    documents: tuple[CarriedRevision | CarriedLate, ...] = (*there.revisions, *there.late)
    for one in documents:
        yield CarriedParked(
            edition_hash=there.edition_hash or "",
            base=0,
            current=current,
            reason="another edition",
            saved=one.saved,
            sha256=one.sha256,
            document=one.document,
            device_id=one.device_id,
            book_id=there.book_id or THIS_BOOK,
            visit=there.visit,
        )
