"""The finding in one line, and why: every reason of the rule that decided, in plain words."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

from quickcheck.engine.constants import RULES, r9
from quickcheck.engine.sentences import Case, Sentence, listed, number, one_in, reads
from quickcheck.readings import run_words
from quickcheck.reference.records import Access

# The finding


def tell_finding(case: Case) -> Iterator[Sentence]:
    """Tell claim and finding in one line: the word alone would be taken for a certificate."""
    text = f"{_claimed(case)} {_FINDINGS[case.verdict.verdict](case)} {_looked(case)}"
    yield Sentence("finding", text)


def _claimed(case: Case) -> str:
    claimed, window = case.verdict.claimed, case.verdict.window
    if claimed == window:
        return f"Claimed {run_words(*claimed)}."
    covered = run_words(*case.model.reference.covers)
    return (
        f"Claimed {run_words(*claimed)}; the reference covers {covered}, "
        f"so {run_words(*window)} was judged."
    )


def _agrees(case: Case) -> str:
    return f"What was seen agrees with {reads(case.verdict.reads_as)}."


def _agrees_mostly(case: Case) -> str:
    return f"What was seen agrees with {reads(case.verdict.reads_as)}; some parts do not."


def _doubt(case: Case) -> str:
    return f"What was seen reads as {reads(case.verdict.reads_as)}, with doubt about the claim."


def _little(case: Case) -> str:
    if not case.verdict.speaking:
        return "Too little was seen to tell."
    return f"Too little was seen to tell; so far it reads as {reads(case.verdict.reads_as)}."


def _against(case: Case) -> str:
    return f"What was seen reads as {reads(case.verdict.reads_as)}, not as the months claimed."


_FINDINGS: Final[Mapping[str, Callable[[Case], str]]] = MappingProxyType(
    {
        "agrees": _agrees,
        "agrees-with-changes": _agrees_mostly,
        "in-doubt": _doubt,
        "too-little-seen": _little,
        "disagrees": _against,
    }
)


def _looked(case: Case) -> str:
    seen = case.seen
    furthest = max((point.access for point in seen), key=lambda a: a.rank, default=Access.LOOK)
    how = {
        Access.LOOK: "by eye only, nothing opened",
        Access.HANDLE: "nothing opened",
        Access.OPEN: "opened",
    }[furthest]
    points = "point" if len(case.witnesses) == 1 else "points"
    return f"{len(seen)} of {len(case.witnesses)} {points} looked at; {how}."


# Why


_PLAIN: Final[Mapping[str, str]] = MappingProxyType(
    {
        "two-against": (
            "Only two of the things looked at speak for a time, but together they fit another time "
            "more than 32 times better than the claim."
        ),
        "dates": (
            "Another time fits what was seen more than 32 times better than the claim does, and still "
            "more than eight times better whichever one thing is left out."
        ),
        "whole": "The claim takes in all that the reference covers: there is nothing to hold it against.",
        "blunt": "Of the years around the claim, less than half can be ruled out by what was seen.",
        "even": "The claim fits what was seen less than twice as well as the years around it do.",
        "all-fit": "The months hold, and every part that was looked at fits them.",
    }
)
"""Reasons that need no detail."""


def tell_why(case: Case) -> Iterator[Sentence]:
    """Tell every reason of the rule that decided."""
    for reason in case.verdict.because:
        plain = _PLAIN.get(reason)
        yield _because(plain) if plain else _WHY[reason](case)


def _because(text: str, points: Iterable[str] = ()) -> Sentence:
    return Sentence("why", text, tuple(points))


def _why_few(case: Case) -> Sentence:
    count = case.verdict.speaking
    speak = "speaks" if count == 1 else "speak"
    some = f"Only {number(count)} of the things looked at {speak}" if count else "Nothing speaks"
    return _because(f"{some} for a time so far; three are the least for a finding.")


def _why_dates_doubt(case: Case) -> Sentence:
    if r9(case.verdict.ratio_to_best) < r9(1 / RULES.strong):
        return _because(
            "Another time fits what was seen much better than the claim does, but that hangs on "
            "one thing: without it the difference is small."
        )
    return _because(
        "Another time fits what was seen more than eight times better than the claim does: enough "
        "for a doubt, too little to say more."
    )


def _why_apart(case: Case) -> Sentence:
    one = len(case.verdict.apart) == 1
    parts = listed([f"the {name}" for name in case.verdict.apart])
    verb, itself = ("speaks", "itself") if one else ("speak", "themselves")
    return _because(f"By {itself}, {parts} {verb} for another time than the claim.")


def _why_never_changed(case: Case) -> Sentence:
    by_id = case.model.reference.by_id
    rare = [p for p in case.verdict.found if r9(by_id[p].changed) <= RULES.never_changed]
    verb = "does" if len(rare) == 1 else "do"
    return _because(f"Hardly ever changed, and {verb} not fit the claim: {case.names(rare)}.", rare)


def _why_count(case: Case) -> Sentence:
    return _because(
        "More parts do not fit than is usual: of genuine instruments of this age, "
        f"{one_in(case.verdict.changed_count.tail)} as many.",
        case.verdict.found,
    )


def _why_not_enough(case: Case) -> Sentence:
    return _because(
        f"So far {number(case.verdict.speaking)} of the things looked at speak for a time, and "
        "they do not go against the claim; five are the least to say that it agrees."
    )


def _why_some_parts(case: Case) -> Sentence:
    if not case.verdict.found:
        return _because("The months hold, and every part that does not fit was declared.")
    return _because(
        "The months hold; some parts do not fit them, too few to doubt the claim.",
        case.verdict.found,
    )


_WHY: Final[Mapping[str, Callable[[Case], Sentence]]] = MappingProxyType(
    {
        "few": _why_few,
        "dates-doubt": _why_dates_doubt,
        "apart": _why_apart,
        "never-changed": _why_never_changed,
        "count": _why_count,
        "not-enough": _why_not_enough,
        "some-parts": _why_some_parts,
    }
)
