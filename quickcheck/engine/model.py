"""A reference as tables of months: what was fitted when, and what replaces it.

`U[row, t]` is the chance that a part made for month t is the variant of that row; `Q[row, t]` the
same for a part put on later; `w[t]` the share of output. A point's rows are its variants in file
order and then "other"; all points' rows lie in one matrix, so that the chance of any answer is a
weighted sum of rows and a whole inspection is summed in one go.

U and w are rounded to 9 decimals here: every other implementation starts from these numbers.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine.constants import RULES, r9
from quickcheck.reference import select
from quickcheck.reference.records import Assembly, Kind, Point, Reference, Variant

Floats = NDArray[np.float64]

CODES: Final = "codes"
"""The group of all date codes, and the set that may give their rate."""

_DECIMALS = 9
_SMALLEST = 1e-9  # output figures are above 0: rounding must not take a month away
_HELD = 32  # compiled references kept in memory


@dataclass(frozen=True, slots=True)
class Rows:
    """Where a point's variants lie in the stacked tables; "other" is the last row."""

    start: int
    stop: int
    index: Mapping[str, int]  # variant id, or "other" → row
    normals: tuple[tuple[float, float], ...]  # of a measure: mean and deviation of each variant

    @property
    def other(self) -> int:
        """The row of "other"."""
        return self.stop - 1

    @property
    def count(self) -> int:
        """How many answers there are, "other" included: V + 1."""
        return self.stop - self.start


@dataclass(frozen=True, slots=True)
class Standing:
    """How a witness stands among the others."""

    point: Point
    group: str  # its set, "codes", or itself
    together: float  # γ, how often everything of the group was changed in one go
    lasting: bool  # taken to stay with its assembly: a refinish is no other body


@dataclass(frozen=True, slots=True, eq=False)
class LookTable:
    """What a look at each point would show: P(answer | month) of every point, stacked."""

    points: tuple[str, ...]
    starts: NDArray[np.intp]  # first row of each point
    chances: Floats  # (rows, T), columns of a point add up to 1
    entropy: Floats  # (points, T), bits


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """A reference, compiled; arrays are read-only. Made by `compile_model`."""

    reference: Reference
    months: int
    weights: Floats  # w, (T,)
    made: Floats  # U, (rows, T)
    changed: Floats  # Q, (rows, T)
    rows: Mapping[str, Rows]
    standing: Mapping[str, Standing]  # of every point that may be a witness, in file order
    bears_on: Mapping[str, frozenset[str]]  # sign → the points it speaks of
    look: LookTable

    def index(self, month: int) -> int:
        """Return the position of a month in the tables."""
        return month - self.reference.covers[0]

    def month(self, index: int) -> int:
        """Return the month at a position in the tables."""
        return index + self.reference.covers[0]

    def expect(self, window: tuple[int, int]) -> Mapping[str, Mapping[str, float]]:
        """Return, for each point with variants, the share of each over the months of a window."""
        first, last = (self.index(month) for month in window)
        weights = self.weights[first : last + 1]
        shares = self.made[:, first : last + 1] @ (weights / weights.sum())
        return {
            point: {name: float(shares[row]) for name, row in rows.index.items()}
            for point, rows in self.rows.items()
        }


def compile_model(reference: Reference) -> Model:
    """Return the tables of a reference; the same object for the same content."""
    return _compile(_ByHash(reference.hash, reference))


@dataclass(frozen=True, slots=True)
class _ByHash:
    """A reference as a key: equal to any other of the same content."""

    hash: str
    reference: Reference = field(compare=False)


@lru_cache(maxsize=_HELD)
def _compile(key: _ByHash) -> Model:
    reference = key.reference
    months = np.arange(reference.covers[0], reference.covers[1] + 1, dtype=float)
    rows, made, changed = _stack(reference, months)
    weights = _output(reference, months)
    return Model(
        reference=reference,
        months=len(months),
        weights=_frozen(weights),
        made=_frozen(made),
        changed=_frozen(changed),
        rows=rows,
        standing={p.id: _standing(reference, p) for p in reference.points if p.is_witness},
        bears_on={
            point.id: select(reference.points, point.bears_on)
            for point in reference.points
            if point.kind is Kind.SIGN and point.assembly is not Assembly.CASE
        },
        look=_look_table(reference, rows, (made, changed)),
    )


def _standing(reference: Reference, point: Point) -> Standing:
    """Return how a point stands among the others; no set's id has a colon."""
    group = CODES if point.kind is Kind.DATECODE else point.changed_with or f"point:{point.id}"
    declared = reference.sets.get(group)
    together = declared.changed if declared else 0.0
    return Standing(point, group, together, r9(max(point.changed, together)) <= RULES.lasting)


def _frozen(array: Floats) -> Floats:
    array.setflags(write=False)
    return array


def _stack(reference: Reference, months: Floats) -> tuple[dict[str, Rows], Floats, Floats]:
    """Return the rows of every point that is read by variants, and both stacked tables."""
    rows: dict[str, Rows] = {}
    nothing: Floats = np.zeros((0, len(months)))
    made, changed, start = [nothing], [nothing], 0
    for point in reference.points:
        if not point.seen or point.kind in (Kind.SIGN, Kind.DATECODE):
            continue
        names = [variant.id for variant in point.seen] + ["other"]
        index = {name: start + i for i, name in enumerate(names)}
        rows[point.id] = Rows(start, start + len(names), index, tuple(_normals(point)))
        start += len(names)
        made.append(made_of(point, months))
        changed.append(_changed(point, made[-1]))
    return rows, np.concatenate(made), np.concatenate(changed)


def _normals(point: Point) -> Iterator[tuple[float, float]]:
    """Yield mean and standard deviation of each variant measured, the gauge's error included."""
    for variant in point.seen:
        if variant.mean is not None and variant.spread is not None:
            yield variant.mean, math.hypot(variant.spread, point.tolerance)


def _phi(x: Floats) -> Floats:
    """Return Φ(x); math.erfc is the one special function the package needs, so no scipy."""
    return np.array([0.5 * math.erfc(-value / math.sqrt(2)) for value in x])


def _edge(distance: Floats, sigma: float) -> Floats:
    """Return how far a change-over is done, ``distance`` months after its middle."""
    return _phi(distance / sigma) if sigma > 0 else (distance > 0).astype(float)


def _fitted(variant: Variant, months: Floats) -> Floats:
    """Return s(v, t): how much of a month's output got this variant, before sharing out."""
    if variant.knots:  # knots and months both stand for mid-month, so the halves cancel
        at, share = zip(*variant.knots, strict=True)
        along: Floats = np.interp(months, at, share)
        return along
    sigma = variant.give / RULES.z90
    fitted = np.full(len(months), variant.share)
    if variant.first is not None:
        fitted = fitted * _edge(months + 0.5 - variant.first, sigma)
    if variant.last is not None:
        fitted = fitted * _edge(variant.last + 0.5 - months, sigma)
    return fitted


def made_of(point: Point, months: Floats) -> Floats:
    """Return U(v, t) with "other" as the last row; columns add up to 1 but for rounding."""
    fitted = np.array([_fitted(variant, months) for variant in point.seen])
    shares = [max((s for _, s in v.knots), default=v.share) for v in point.seen]
    total = np.maximum(fitted.sum(axis=0), RULES.floor_of_total * min(shares))
    listed = (1 - point.other) * fitted / total
    rest = np.maximum(1 - listed.sum(axis=0), 0.0)
    # Every number is rounded once: an "other" made from rounded shares would carry their noise
    # through months in which it is the same, and ties among these would no longer be ties.
    made: Floats = np.vstack([listed, rest]).round(_DECIMALS)
    return made


def _changed(point: Point, made: Floats) -> Floats:
    """Return Q(v, t): a part put on later, from later production, a copy or a drawer."""
    given = _given_weights(point)
    if given is not None:
        return np.repeat((given / given.sum())[:, None], made.shape[1], axis=1)
    later = made.copy()
    if made.shape[1] > 1:
        sums = made[:, ::-1].cumsum(axis=1)[:, ::-1]
        later[:, :-1] = sums[:, 1:] / np.arange(made.shape[1] - 1, 0, -1)
    return RULES.later_production * later + (1 - RULES.later_production) / len(made)


def _given_weights(point: Point) -> Floats | None:
    """Return the file's own weights among replaced parts, "other" last, or None."""
    given = [variant.if_changed for variant in point.seen]
    if all(weight is None for weight in given):
        return None
    listed = [weight or 0.0 for weight in given]
    other = point.other_if_changed
    return np.array([*listed, RULES.other_weight * sum(listed) if other is None else other])


def _output(reference: Reference, months: Floats) -> Floats:
    """Return w(t): the share of what was built in the months covered."""
    figures = np.full(len(months), np.nan)
    by_year = {key: value for key, value in reference.output.items() if "-" not in key}
    for year, figure in by_year.items():
        of_year = months // 12 == int(year)
        figures[of_year] = figure / max(1, of_year.sum())
    for key in reference.output.keys() - by_year.keys():
        year, month = key.split("-")
        figures[months == 12 * int(year) + int(month) - 1] = reference.output[key]
    known = ~np.isnan(figures)
    if not known.any():
        return np.full(len(months), max(_SMALLEST, round(1 / len(months), _DECIMALS)))
    figures[~known] = RULES.no_figure * figures[known].mean()
    shares: Floats = (figures / figures.sum()).round(_DECIMALS)
    return np.maximum(shares, _SMALLEST)


def density(x: float, *, mean: float, deviation: float) -> float:
    """Return the normal density at x, per unit of x."""
    z = (x - mean) / deviation
    return math.exp(-0.5 * z * z) / (deviation * math.sqrt(2 * math.pi))


def densities(rows: Rows, x: float) -> list[float]:
    """Return the density of a measured value for each variant."""
    return [density(x, mean=mean, deviation=deviation) for mean, deviation in rows.normals]


def width(point: Point) -> float:
    """Return the width of a measure's span, in the point's unit."""
    low, high = point.span or (0.0, 1.0)
    return high - low


def _look_table(
    reference: Reference, rows: Mapping[str, Rows], tables: tuple[Floats, Floats]
) -> LookTable:
    """Return what a look at each point would show, with the answer taken to be sure."""
    points = [p for p in reference.points if p.is_witness and p.id in rows]
    chances = [_look(point, rows[point.id], tables) for point in points]
    starts = np.cumsum([0, *(len(c) for c in chances)])[:-1].astype(np.intp)
    months = tables[0].shape[1]
    stacked = np.concatenate([np.zeros((0, months)), *chances])
    entropy = np.zeros((len(points), months))
    for row, c in enumerate(chances):
        entropy[row] = -(c * np.log2(c)).sum(axis=0)
    return LookTable(tuple(p.id for p in points), starts, _frozen(stacked), _frozen(entropy))


def _look(point: Point, rows: Rows, tables: tuple[Floats, Floats]) -> Floats:
    """Return P(answer | month) of one point, (answers, T)."""
    made, changed = (table[rows.start : rows.stop] for table in tables)
    slip = RULES.misread_sure
    if point.kind is Kind.MEASURE:
        first = np.array(list(_bins(point, rows, made)))
        first = (1 - slip) * first + slip / RULES.look_bins
        later = np.full_like(first, 1 / RULES.look_bins)
    else:
        listed = slice(0, -1) if point.kind is Kind.SERIAL else slice(None)
        first = (1 - slip) * made[listed] + slip / rows.count
        later = (1 - slip) * changed[listed] + slip / rows.count
    chances = (1 - point.changed) * first + point.changed * later
    normal: Floats = chances / chances.sum(axis=0)
    return normal


def _bins(point: Point, rows: Rows, made: Floats) -> Iterator[Floats]:
    """Yield, for each bin of a measure's span, its chance in each month without misreading."""
    low, _ = point.span or (0.0, 1.0)
    step = width(point) / RULES.look_bins
    for i in range(RULES.look_bins):
        here = np.array(densities(rows, low + (i + 0.5) * step))
        yield (here @ made[:-1]) * step + made[-1] / RULES.look_bins
