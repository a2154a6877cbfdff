"""A point as a drawing: the shares by month as learned, and every example under them.

Line art in SVG, coloured by the page's own variables, so that it is right in light and dark and on
paper. A row a variant: its share as a line over its base, its examples as strokes below it, longer
where several share a month; a change-over as a band over all rows, from 5 to 95 %.
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

_LEFT, _WIDTH, _RIGHT = 150.0, 520.0, 12.0
_TOP, _ROW, _BOTTOM = 8.0, 34.0, 22.0
_HIGH = 18.0  # of a share of 1
_MEASURE = 150.0
_LONGEST_LABEL = 22


@dataclass(frozen=True, slots=True)
class _Frame:
    """The months on the paper."""

    covers: tuple[int, int]
    height: float

    def x(self, month: float) -> float:
        """Return where a time is, in months since year 0; what is not covered, at the border."""
        first, last = self.covers
        share = (month - first) / (last + 1 - first)
        return round(_LEFT + _WIDTH * min(1.0, max(0.0, share)), 1)


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


def _sheet(frame: _Frame, point: Point, body: Iterator[str]) -> str:
    wide, high = _LEFT + _WIDTH + _RIGHT, _TOP + frame.height + _BOTTOM
    title = escape(f"{point.name}: what was fitted when, and the examples")
    parts = "".join((*body, *_axis(frame)))
    return (
        f'<svg viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="{title}">'
        f"<title>{title}</title>{parts}</svg>"
    )


def _axis(frame: _Frame) -> Iterator[str]:
    first, last = frame.covers
    base = _TOP + frame.height
    yield f'<path class="axis" d="M{_LEFT:g} {base:g}h{_WIDTH:g}"/>'
    years = range(-(-first // 12), last // 12 + 1)
    step = next(s for s in (1, 2, 5, 10, 20) if len(years) / s <= 13)
    for year in years:
        if year % step == 0:
            x = frame.x(12 * year)
            yield f'<path class="axis" d="M{x} {base:g}v4"/>'
            yield f'<text x="{x}" y="{base + 16:g}" text-anchor="middle">{year}</text>'


# Variants


def _variants(frame: _Frame, learned: LearnedPoint, seen: Sighting, *, at: Floats) -> Iterator[str]:
    for change in learned.change_overs:
        low, middle, high = (frame.x(m) for m in (change.low, change.middle, change.high))
        said = escape(
            f"{change.old} to {change.new}: {month_words(int(change.middle))}, "
            f"{month_words(int(change.low))} to {month_words(int(change.high))}"
        )
        yield (
            f'<g><title>{said}</title><rect class="band" x="{low}" y="{_TOP:g}" '
            f'width="{max(1.0, high - low):.1f}" height="{frame.height:g}"/>'
            f'<path class="middle" d="M{middle} {_TOP:g}v{frame.height:g}"/></g>'
        )
    for row, (variant, shares) in enumerate(zip(seen.point.seen, learned.table, strict=True)):
        months = Counter(at[seen.counted & (seen.variant == row)].tolist())
        base = _TOP + _ROW * row + _HIGH + 4
        label = _short(variant.label)
        yield f'<text x="{_LEFT - 8:g}" y="{base - 2:g}" text-anchor="end">{label}</text>'
        yield f'<path class="base" d="M{_LEFT:g} {base:g}h{_WIDTH:g}"/>'
        yield f'<path class="share" d="{_line(frame, shares, base=base)}"/>'
        yield f'<path class="seen" d="{_strokes(frame, months, base=base)}"/>'


def _short(label: str) -> str:
    cut = label if len(label) <= _LONGEST_LABEL else f"{label[: _LONGEST_LABEL - 1]}…"
    return escape(cut)


def _line(frame: _Frame, shares: Sequence[float], *, base: float) -> str:
    steps = (
        f"{frame.x(frame.covers[0] + t + 0.5)} {base - _HIGH * share:.1f}"
        for t, share in enumerate(shares)
    )
    return "M" + "L".join(steps)


def _strokes(frame: _Frame, months: Mapping[float, int], *, base: float) -> str:
    return "".join(
        f"M{frame.x(month)} {base + 2:g}v{min(10.0, 3 + 1.5 * sqrt(count - 1)):.1f}"
        for month, count in sorted(months.items())
    )


# Measures


def _measure(frame: _Frame, learned: LearnedPoint, seen: Sighting, *, at: Floats) -> Iterator[str]:
    point = seen.point
    low, high = point.span or (0.0, 1.0)

    def y(value: float) -> float:
        share = (min(high, max(low, value)) - low) / (high - low)
        return round(_TOP + _MEASURE * (1 - share), 1)

    means, spreads = learned.table
    months = [frame.x(frame.covers[0] + t + 0.5) for t in range(len(means))]
    upper, lower = (
        [f"{x} {y(m + side * s)}" for x, m, s in zip(months, means, spreads, strict=True)]
        for side in (RULES.z90, -RULES.z90)
    )
    yield f'<path class="band" d="M{"L".join([*upper, *reversed(lower)])}Z"/>'
    middle = "L".join(f"{x} {y(m)}" for x, m in zip(months, means, strict=True))
    yield f'<path class="share" d="M{middle}"/>'
    shown = zip(at[seen.counted].tolist(), seen.value[seen.counted].tolist(), strict=True)
    dots = sorted({(frame.x(month), y(value)) for month, value in shown})  # on one place once
    yield f'<path class="dot" d="{"".join(f"M{x} {level}h0" for x, level in dots)}"/>'
    for value in (low, high):
        height = min(_TOP + _MEASURE, y(value) + 4)
        words = f"{value:g} {point.unit or ''}"
        yield f'<text x="{_LEFT - 8:g}" y="{height:g}" text-anchor="end">{escape(words)}</text>'
