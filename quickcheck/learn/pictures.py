"""A point as a drawing: the shares by month as learned, and every example under them.

Line art in SVG, coloured by the page's own variables, so that it is right in light and dark and on
paper. It takes the width that it gets: lines and bands lie in a drawing that is stretched, words
beside it by per cent, as large on a phone as on a desk. A row a variant: its name, its share as a
line over its base, its examples as strokes below, longer where several share a month; a
change-over as a band over all rows, from 5 to 95 %.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import sqrt

from quickcheck.engine.constants import RULES
from quickcheck.learn.bins import Floats
from quickcheck.learn.records import LearnedPoint, Method
from quickcheck.learn.sightings import Sighting
from quickcheck.readings import month_words
from quickcheck.reference import Kind, Point, Reference

_WIDTH = 1000.0  # of the stretched drawing, which is as wide as its page
_SIDE = 2.0  # per cent on either side
_TOP, _ROW, _BOTTOM = 4.0, 56.0, 24.0  # px
_NAME = 20.0  # of a row, for the variant's name
_HIGH = 18.0  # of a share of 1
_MEASURE = 170.0
_MOST_YEARS = 7  # that have room on the narrowest screen
_LONGEST_LABEL = 36  # likewise


@dataclass(frozen=True, slots=True)
class _Frame:
    """The months on the paper."""

    covers: tuple[int, int]
    height: float

    def x(self, month: float) -> float:
        """Return where a time is, in months since year 0; what is not covered, at the border."""
        first, last = self.covers
        share = (month - first) / (last + 1 - first)
        return round(_WIDTH * min(1.0, max(0.0, share)), 1)

    def beside(self, month: float) -> str:
        """Return the same for words, which are not stretched."""
        return f"{_SIDE + (100 - 2 * _SIDE) * self.x(month) / _WIDTH:.2f}%"


def picture(reference: Reference, learned: LearnedPoint, seen: Sighting, *, middles: Floats) -> str:
    """Return the drawing of a point as SVG; an empty text where nothing was learned.

    ``middles`` are the documented months of all examples, (rows,).
    """
    point = reference.by_id[learned.id]
    if learned.method is Method.KEPT:
        return ""
    at = middles[seen.rows]
    if point.kind is Kind.MEASURE:
        frame = _Frame(reference.covers, _MEASURE)
        body = _measure(frame, learned, seen, at=at)
    else:
        frame = _Frame(reference.covers, _ROW * len(point.seen))
        body = _variants(frame, learned, seen, at=at)
    return _sheet(frame, point, body)


def _sheet(frame: _Frame, point: Point, body: Iterator[tuple[str, str]]) -> str:
    """Return the drawing of pairs: what is stretched, and the words beside it."""
    high = _TOP + frame.height + _BOTTOM
    title = escape(f"{point.name}: what was fitted when, and the examples")
    stretched, words = map("".join, zip(*body, *_axis(frame), strict=True))
    return (
        f'<svg class="picture" width="100%" height="{high:g}" role="img" aria-label="{title}">'
        f"<title>{title}</title>"
        f'<svg x="{_SIDE:g}%" width="{100 - 2 * _SIDE:g}%" height="{high:g}" '
        f'viewBox="0 0 {_WIDTH:g} {high:g}" preserveAspectRatio="none">{stretched}</svg>'
        f"{words}</svg>"
    )


def _axis(frame: _Frame) -> Iterator[tuple[str, str]]:
    first, last = frame.covers
    base = _TOP + frame.height
    yield f'<path class="axis" d="M0 {base:g}h{_WIDTH:g}"/>', ""
    years = range(-(-first // 12), last // 12 + 1)
    step = next(s for s in (1, 2, 5, 10, 20) if len(years) / s <= _MOST_YEARS)
    for year in years:
        told = year % step == 0
        tick = f'<path class="axis" d="M{frame.x(12 * year)} {base:g}v{6 if told else 3}"/>'
        anchor = "start" if year == years[0] else "middle"  # the first has no room to its left
        yield tick, _words(frame.beside(12 * year), base + 20, str(year), anchor=anchor) * told


def _words(x: str, y: float, text: str, *, anchor: str = "start") -> str:
    return f'<text x="{x}" y="{y:g}" text-anchor="{anchor}">{escape(text)}</text>'


# Variants


def _variants(
    frame: _Frame, learned: LearnedPoint, seen: Sighting, *, at: Floats
) -> Iterator[tuple[str, str]]:
    for change in learned.change_overs:
        low, middle, high = (frame.x(m) for m in (change.low, change.middle, change.high))
        said = escape(
            f"{change.old} to {change.new}: {month_words(int(change.middle))}, "
            f"{month_words(int(change.low))} to {month_words(int(change.high))}"
        )
        yield (
            (
                f'<g><title>{said}</title><rect class="band" x="{low}" y="{_TOP:g}" '
                f'width="{max(2.0, high - low):.1f}" height="{frame.height:g}"/>'
                f'<path class="middle" d="M{middle} {_TOP:g}v{frame.height:g}"/></g>'
            ),
            "",
        )
    for row, (variant, shares) in enumerate(zip(seen.point.seen, learned.table, strict=True)):
        months = Counter(at[seen.counted & (seen.variant == row)].tolist())
        top = _TOP + _ROW * row
        base = top + _NAME + _HIGH
        yield (
            (
                f'<path class="base" d="M0 {base:g}h{_WIDTH:g}"/>'
                f'<path class="share" d="{_line(frame, shares, base=base)}"/>'
                f'<path class="seen" d="{_strokes(frame, months, base=base)}"/>'
            ),
            _words(f"{_SIDE:g}%", top + 14, _short(variant.label)),
        )


def _short(label: str) -> str:
    return label if len(label) <= _LONGEST_LABEL else f"{label[: _LONGEST_LABEL - 1]}…"


def _line(frame: _Frame, shares: Sequence[float], *, base: float) -> str:
    steps = (
        f"{frame.x(frame.covers[0] + t + 0.5)} {base - _HIGH * share:.1f}"
        for t, share in enumerate(shares)
    )
    return "M" + "L".join(steps)


def _strokes(frame: _Frame, months: Mapping[float, int], *, base: float) -> str:
    return "".join(
        f"M{frame.x(month)} {base + 3:g}v{min(13.0, 6 + 2 * sqrt(count - 1)):.1f}"
        for month, count in sorted(months.items())
    )


# Measures


def _measure(
    frame: _Frame, learned: LearnedPoint, seen: Sighting, *, at: Floats
) -> Iterator[tuple[str, str]]:
    point = seen.point
    low, high = point.span or (0.0, 1.0)

    def y(value: float) -> float:
        share = (min(high, max(low, value)) - low) / (high - low)
        return round(_TOP + _NAME + (_MEASURE - _NAME) * (1 - share), 1)

    means, spreads = learned.table
    months = [frame.x(frame.covers[0] + t + 0.5) for t in range(len(means))]
    upper, lower = (
        [f"{x} {y(m + side * s)}" for x, m, s in zip(months, means, spreads, strict=True)]
        for side in (RULES.z90, -RULES.z90)
    )
    middle = "L".join(f"{x} {y(m)}" for x, m in zip(months, means, strict=True))
    shown = zip(at[seen.counted].tolist(), seen.value[seen.counted].tolist(), strict=True)
    dots = sorted({(frame.x(month), y(value)) for month, value in shown})  # on one place once
    yield (
        (
            f'<path class="band" d="M{"L".join([*upper, *reversed(lower)])}Z"/>'
            f'<path class="share" d="M{middle}"/>'
            f'<path class="dot" d="{"".join(f"M{x} {level}h0" for x, level in dots)}"/>'
        ),
        "",
    )
    for value, height in ((high, _TOP + 14), (low, _TOP + _MEASURE - 5)):
        yield "", _words(f"{_SIDE:g}%", height, f"{value:g} {point.unit or ''}")
