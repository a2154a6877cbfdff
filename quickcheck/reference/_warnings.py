"""What a reference may do, but hardly on purpose: told to its author, never held against it."""

from collections.abc import Callable, Iterator
from itertools import groupby, pairwise
from typing import Final

from quickcheck.readings import run_words
from quickcheck.reference._checks import CODES
from quickcheck.reference._faults import Entry
from quickcheck.reference._walk import Walked
from quickcheck.reference.records import Kind

_Months = tuple[int, int]
_Knots = tuple[tuple[int, float], ...]


def warnings_of(walked: Walked) -> tuple[str, ...]:
    """Return the warnings on a file without faults, in words, in file order."""
    covers: _Months = walked.top["covers"]
    found = [*_output(walked.top, covers), *_sets(walked)]
    for point, seen in walked.points:
        found += [f"{point.words}: {what}" for rule in _RULES for what in rule(point, seen, covers)]
    return tuple(found)


def _output(top: Entry, covers: _Months) -> Iterator[str]:
    years = range(covers[0] // 12, covers[1] // 12 + 1)
    for period in top["output"]:
        if int(period[:4]) not in years:
            yield f'output "{period}": outside the months covered, so it counts for nothing'


def _sets(walked: Walked) -> Iterator[str]:
    used = {point["changed_with"] for point, _ in walked.points}
    used |= {CODES for point, _ in walked.points if point["kind"] == Kind.DATECODE}
    yield from (f'set "{name}": no point is in it' for name in walked.sets if name not in used)


def _no_source(point: Entry, seen: tuple[Entry, ...], _: _Months) -> Iterator[str]:
    if not point["source"] and not (seen and all(each["source"] for each in seen)):
        yield "no source is named"


def _fitted(variant: Entry, covers: _Months) -> int:
    """Return the covered months in which a variant has a share, doubt left out, as bits."""
    knots = variant["shares"]
    if knots:
        return _sharing(knots) >> covers[0] & _ones(covers[1] + 1 - covers[0])
    first = max(covers[0], variant["from"] or covers[0])
    last = min(covers[1], variant["to"] or covers[1])
    return _ones(last + 1 - covers[0]) & ~_ones(first - covers[0])


def _ones(months: int) -> int:
    return (1 << max(months, 0)) - 1


def _sharing(knots: _Knots) -> int:
    """Return the months in which the line through the knots is above 0, as bits from month 0."""
    before_all, after_all = (knots[0][1] > 0), (knots[-1][1] > 0)
    some = _ones(knots[0][0]) * before_all | ~_ones(knots[-1][0] + 1) * after_all
    for (first, one), (last, other) in pairwise(knots):
        if one or other:
            some |= _ones(last) & ~_ones(first + 1)
    for month, share in knots:
        some |= (share > 0) << month
    return some


def _timing(_: Entry, seen: tuple[Entry, ...], covers: _Months) -> Iterator[str]:
    """Warn of months with no variant or several, and of variants without a month.

    Several at once can be meant, as two colours are, each with its share; with knots they always
    are, so only variants with edges are held against each other.
    """
    fitted = {variant: _fitted(variant, covers) for variant in seen if "shares" in variant.values}
    if not fitted:
        return
    some, edged, several = 0, 0, 0
    for variant, months in fitted.items():
        some |= months
        if not variant["shares"]:
            several |= edged & months
            edged |= months
    none = _ones(covers[1] + 1 - covers[0]) & ~some
    yield from (f"no variant in {run}" for run in _runs(none, covers))
    yield from (f"more than one variant in {run}" for run in _runs(several, covers))
    for variant, months in fitted.items():
        if not months:
            yield f'variant "{variant["id"]}" is fitted in no month covered'


def _blocks(_: Entry, seen: tuple[Entry, ...], __: _Months) -> Iterator[str]:
    blocks = sorted((v["first"], v["last"], v["id"]) for v in seen if "first" in v.values)
    for (_, last, one), (first, _, two) in pairwise(blocks):
        if first <= last:
            yield f'variants "{one}" and "{two}" both hold number {first}'


_RULES: Final[tuple[Callable[[Entry, tuple[Entry, ...], _Months], Iterator[str]], ...]] = (
    _no_source,
    _timing,
    _blocks,
)


def _runs(bits: int, covers: _Months) -> Iterator[str]:
    """Return months as runs in words."""
    months = (covers[0] + at for at in range(bits.bit_length()) if bits >> at & 1)
    for _, group in groupby(enumerate(months), key=lambda pair: pair[1] - pair[0]):
        run = [month for _, month in group]
        yield run_words(run[0], run[-1])
