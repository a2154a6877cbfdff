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


def _fitted(variant: Entry, month: int) -> bool:
    """Return whether a variant has a share in a month by its edges or knots, without doubt."""
    knots = variant["shares"]
    if not knots:
        first, last = variant["from"], variant["to"]
        return (first is None or first <= month) and (last is None or month <= last)
    before = max((knot for knot in knots if knot[0] <= month), default=knots[0])
    after = min((knot for knot in knots if knot[0] >= month), default=knots[-1])
    return bool(before[1] if month == before[0] else before[1] or after[1])


def _timed(seen: tuple[Entry, ...]) -> list[Entry]:
    return [variant for variant in seen if "shares" in variant.values]


def _gaps(_: Entry, seen: tuple[Entry, ...], covers: _Months) -> Iterator[str]:
    timed = _timed(seen)
    if timed:
        empty = (m for m in _range(covers) if not any(_fitted(each, m) for each in timed))
        yield from (f"no variant in {run}" for run in _runs(empty))


def _overlaps(_: Entry, seen: tuple[Entry, ...], covers: _Months) -> Iterator[str]:
    """Variants with edges: two at once can be meant, as two colours are, each with its share."""
    edged = [variant for variant in _timed(seen) if not variant["shares"]]
    shared = (m for m in _range(covers) if sum(_fitted(each, m) for each in edged) > 1)
    yield from (f"more than one variant in {run}" for run in _runs(shared))


def _never(_: Entry, seen: tuple[Entry, ...], covers: _Months) -> Iterator[str]:
    for variant in _timed(seen):
        if not any(_fitted(variant, month) for month in _range(covers)):
            yield f'variant "{variant["id"]}" is fitted in no month covered'


def _blocks(_: Entry, seen: tuple[Entry, ...], __: _Months) -> Iterator[str]:
    blocks = sorted((v["first"], v["last"], v["id"]) for v in seen if "first" in v.values)
    for (_, last, one), (first, _, two) in pairwise(blocks):
        if first <= last:
            yield f'variants "{one}" and "{two}" both hold number {first}'


_RULES: Final[tuple[Callable[[Entry, tuple[Entry, ...], _Months], Iterator[str]], ...]] = (
    _no_source,
    _gaps,
    _overlaps,
    _never,
    _blocks,
)


def _range(covers: _Months) -> range:
    return range(covers[0], covers[1] + 1)


def _runs(months: Iterator[int]) -> Iterator[str]:
    """Return rising months as runs in words."""
    for _, group in groupby(enumerate(months), key=lambda pair: pair[1] - pair[0]):
        run = [month for _, month in group]
        yield run_words(run[0], run[-1])
