"""The lifelines: for every point, when each of its variants was fitted, drawn from the model.

One row a point, one band a variant. At each month the bands share the row's height as the variants
shared the month's output, so that a change-over is the slanted cut it really was. Coordinates: x in
months from the start of the reference, y from 0 to `HEIGHT`; the drawing is stretched to its place.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from quickcheck.desk import Judged
from quickcheck.engine import Answer, Model, compile_model
from quickcheck.readings import month_words, read_code, run_words
from quickcheck.reference import OTHER, Assembly, Kind, Point, Reference, Variant
from quickcheck.web.words import ASSEMBLY_WORDS, NOT_SEEN_WORDS, point_words, unit_words

HEIGHT: Final = 100
_VISIBLE: Final = 0.01  # a band thinner than one per cent of the row is not drawn
_TONES: Final = 9  # shades of the strip of months
_TICKS: Final = (1, 2, 5, 10)  # years between two labels
_MOST_LABELS: Final = 6  # that stand side by side on a 320 px screen

_LAST_LABEL: Final = 92  # per cent; a label further right would stand out of the drawing

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Band:
    """One variant of a row: its outline, and how far it is what was seen (0 to 1)."""

    label: str
    fitted: str
    path: str
    seen: float
    middle: float  # per cent of the width, where a label may stand
    width: float  # per cent of the width


@dataclass(frozen=True, slots=True)
class Row:
    """One point: its bands, what was seen there, what the verdict says of it."""

    point: Point
    name: str
    bands: tuple[Band, ...]
    seen: str = ""
    finding: str = ""
    leaning: str = ""
    marks: tuple[tuple[float, float], ...] = ()  # months of a date code: x and width, per cent


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of one assembly."""

    name: str
    rows: tuple[Row, ...]
    apart: str = ""


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything that the drawing and the table behind it need; x in per cent of the width."""

    months: int
    covers: str
    ticks: tuple[tuple[float, str], ...]
    groups: tuple[Group, ...]
    window: tuple[float, float] | None = None  # x and width
    claimed: str = ""
    strip: tuple[tuple[int, int, int], ...] = ()  # first month, months, tone 1 to 9
    reads_as: tuple[tuple[float, float], ...] = field(default=())


def lifelines(judged: Judged) -> Chart:
    """Return the chart of an inspection: every witness that was looked at, by assembly."""
    reference, verdict = judged.reference, judged.verdict
    told = {
        point.id: _told(judged, point)
        for point in reference.points
        if point.id in judged.sheet.answers
    }
    shown = [
        point for point in reference.points if point.id in told and point.kind is not Kind.SIGN
    ]
    return Chart(
        **_frame(reference),
        groups=_groups(judged.model, shown, told, apart=_apart(judged)),
        window=_span(reference, verdict.window),
        claimed=run_words(*verdict.claimed),
        strip=_strip(np.asarray(verdict.posterior)),
        reads_as=tuple(_span(reference, run) for run in verdict.reads_as),
    )


def reference_lifelines(reference: Reference) -> Chart:
    """Return the chart of a whole reference, nothing seen."""
    shown = [point for point in reference.points if point.kind is not Kind.SIGN]
    return Chart(**_frame(reference), groups=_groups(compile_model(reference), shown, {}))


def _frame(reference: Reference) -> dict[str, Any]:
    first, last = reference.covers
    years = range(first // 12, last // 12 + 1)
    step = next((step for step in _TICKS if len(years) / step <= _MOST_LABELS), _TICKS[-1])
    places = [(year, (12 * year - first) / reference.months * 100) for year in years]
    ticks = tuple(
        (x, str(year) if year % step == 0 and x < _LAST_LABEL else "")
        for year, x in places
        if x >= 0
    )
    return {"months": reference.months, "covers": run_words(first, last), "ticks": ticks}


def _span(reference: Reference, run: Sequence[int]) -> tuple[float, float]:
    start = (run[0] - reference.covers[0]) / reference.months * 100
    return start, (run[1] - run[0] + 1) / reference.months * 100


def _strip(posterior: Floats) -> tuple[tuple[int, int, int], ...]:
    """Return runs of months of one tone; darker where the parts speak more."""
    tones = np.ceil(posterior / posterior.max() * _TONES - 1e-9).astype(int)
    runs, start = [], 0
    for tone, same in groupby(tones.tolist()):
        length = len(list(same))
        if tone > 0:
            runs.append((start, length, tone))
        start += length
    return tuple(runs)


def _apart(judged: Judged) -> Mapping[Assembly, str]:
    return {
        Assembly(name): "reads as another date: "
        + ", ".join(run_words(*run) for run in judged.verdict.assemblies[name].reads_as)
        for name in judged.verdict.apart
    }


def _groups(
    model: Model,
    points: Iterable[Point],
    told: Mapping[str, Mapping[str, Any]],
    *,
    apart: Mapping[Assembly, str] | None = None,
) -> tuple[Group, ...]:
    listed = list(points)
    return tuple(
        Group(
            ASSEMBLY_WORDS[assembly],
            tuple(_row(model, point, told.get(point.id, {})) for point in rows),
            (apart or {}).get(assembly, ""),
        )
        for assembly in Assembly
        if (rows := [point for point in listed if point.assembly is assembly])
    )


def _row(model: Model, point: Point, told: Mapping[str, Any]) -> Row:
    weights = told.get("weights", {})
    words = {key: value for key, value in told.items() if key != "weights"}
    return Row(point, point.name or point_words(point.id), _bands(model, point, weights), **words)


def _bands(model: Model, point: Point, weights: Mapping[str, float]) -> tuple[Band, ...]:
    rows = model.rows.get(point.id)
    if rows is None:
        return ()
    shares = model.made[rows.start : rows.other]
    under = np.vstack([np.zeros(model.months), shares.cumsum(axis=0)])
    return tuple(
        _band(variant, (under[i], under[i + 1]), weights.get(variant.id, 0.0))
        for i, variant in enumerate(point.seen)
    )


def _band(variant: Variant, edges: tuple[Floats, Floats], seen: float) -> Band:
    top, bottom = edges
    there = np.flatnonzero(bottom - top > _VISIBLE)
    months = len(top)
    if len(there) == 0:
        return Band(variant.label, fitted_words(variant), "", seen, 0.0, 0.0)
    start, stop = int(there[0]), int(there[-1]) + 1
    return Band(
        variant.label,
        fitted_words(variant),
        _outline(top, bottom, there),
        seen,
        (start + stop) / 2 / months * 100,
        (stop - start) / months * 100,
    )


def _outline(top: Floats, bottom: Floats, there: NDArray[np.intp]) -> str:
    """Return the path of a band: along its top and back along its bottom, run by run."""
    breaks = np.flatnonzero(np.diff(there) > 1) + 1
    parts = []
    for run in np.split(there, breaks):
        first, last = int(run[0]), int(run[-1])
        forth = _line(top, first, last)
        back = _line(bottom, first, last)[::-1]
        parts.append("M" + "L".join(f"{x:g} {y:g}" for x, y in [*forth, *back]) + "Z")
    return "".join(parts)


def _line(edge: Floats, first: int, last: int) -> list[tuple[float, float]]:
    """Return an edge as few points as draw it: mid-month values, plateaus by their ends."""
    y = np.round(edge[first : last + 1] * HEIGHT, 1)
    keep = np.ones(len(y), dtype=bool)
    keep[1:-1] = (y[1:-1] != y[:-2]) | (y[1:-1] != y[2:])
    inner = [(first + int(i) + 0.5, float(y[i])) for i in np.flatnonzero(keep)]
    return [(float(first), float(y[0])), *inner, (last + 1.0, float(y[-1]))]


def fitted_words(variant: Variant) -> str:
    """Return when a variant was fitted, in words."""
    if variant.knots:
        return _knot_words(variant.knots)
    if variant.first is None and variant.last is None:
        return "all months"
    if variant.first is None:
        return f"until {month_words(variant.last or 0)}"
    if variant.last is None:
        return f"from {month_words(variant.first)}"
    return run_words(variant.first, variant.last)


def _knot_words(knots: tuple[tuple[int, float], ...]) -> str:
    """Return shares in words: a share that begins and never falls is a floor."""
    shares = [share for _, share in knots]
    if len(set(shares)) == 1:
        return "all months"
    if shares[0] == 0 and shares == sorted(shares):
        return f"from {month_words(knots[shares.count(0) - 1][0] + 1)}"
    return "shares by month " + run_words(knots[0][0], knots[-1][0])


def _told(judged: Judged, point: Point) -> dict[str, Any]:
    """Return what a row says: what was seen, how much of each variant that is, the finding."""
    answer = judged.sheet.answers[point.id]
    verdict = judged.verdict
    spoken = verdict.points.get(point.id)
    return {
        "seen": answer_words(point, answer),
        "weights": _weights(point, answer),
        "finding": _finding(judged, point.id),
        "leaning": spoken.leaning if spoken else "",
        "marks": _marks(judged.reference, point, answer),
    }


def _finding(judged: Judged, point_id: str) -> str:
    verdict = judged.verdict
    if point_id in verdict.declared:
        return "declared as changed"
    if point_id in verdict.flagged:
        return "probably not the first part"
    return "does not fit: look again" if point_id in verdict.odd else ""


def _weights(point: Point, answer: Answer) -> dict[str, float]:
    """Return how far each variant is what was seen: 1 for a pick, shared out for a measure."""
    if answer.value is not None:
        return _measured(point, answer.value)
    if point.kind is Kind.SERIAL and answer.read:
        number = int("".join(filter(str.isdecimal, answer.read)) or 0)
        blocks = [v.id for v in point.seen if v.block and v.block[0] <= number <= v.block[1]]
        return dict.fromkeys(blocks, 1.0)
    return {variant: 1.0 for variant in answer.seen if variant != OTHER}


def _measured(point: Point, value: float) -> dict[str, float]:
    near = {}
    for variant in point.seen:
        spread = float(np.hypot(variant.spread or 0.0, point.tolerance))
        near[variant.id] = np.exp(-0.5 * ((value - (variant.mean or 0.0)) / spread) ** 2) / spread
    total = sum(near.values())
    return {key: round(float(size / total), 2) for key, size in near.items()} if total else {}


def _marks(reference: Reference, point: Point, answer: Answer) -> tuple[tuple[float, float], ...]:
    if point.kind is not Kind.DATECODE or not answer.read:
        return ()
    first, last = reference.covers
    months = read_code(point.scheme or "", answer.read).months
    return tuple(_span(reference, (m, m)) for m in months if first <= m <= last)


def answer_words(point: Point, answer: Answer) -> str:
    """Return an answer in words: what was seen, how sure, what was noticed about change."""
    if answer.not_seen:
        return f"not seen: {NOT_SEEN_WORDS[answer.not_seen].lower()}"
    words = _seen_words(point, answer)
    if not answer.sure:
        words += " (unsure)"
    if answer.where:
        words += ", at " + ", ".join(answer.where)
    return words


def _seen_words(point: Point, answer: Answer) -> str:
    if answer.value is not None:
        return f"{round(answer.value, _decimals(point.tolerance)):g} {unit_words(point.unit)}"
    if answer.read:
        return answer.read
    labels = [v.label if (v := point.variant(name)) else "None of these" for name in answer.seen]
    return ", ".join(labels) or "changed"


def _decimals(tolerance: float) -> int:
    """Return how many decimals a gauge of this tolerance is worth; a card carries no more."""
    return max(0, math.ceil(-math.log10(tolerance))) if tolerance > 0 else 3
