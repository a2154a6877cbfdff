"""All points, from all rows and without each part: what every reference to be written says."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from quickcheck.learn import drift, overlap, rates, wording
from quickcheck.learn.bins import Bins, Floats, trainings
from quickcheck.learn.changeover import Grid, grid_of
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import ChangeOver, LearnedPoint, Method, Rate
from quickcheck.learn.sightings import Sighting
from quickcheck.learn.succession import Succession, successions
from quickcheck.reference import OTHER, Kind, Point, Reference

Tell = Callable[[float], None]
"""Is told how much is done, from 0 to 1."""

_BY_VARIANTS: Final = (Kind.PICK, Kind.SERIAL)


@dataclass(frozen=True, slots=True)
class Training:
    """What one set of rows teaches."""

    points: tuple[LearnedPoint, ...]
    sets: Mapping[str, Rate]


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """What all points stand on."""

    bins: Bins
    grid: Grid
    kernels: overlap.Kernels
    begins: int
    months: int


def learn_points(
    reference: Reference, bins: Bins, seen: Mapping[str, Sighting], *, tell: Tell
) -> list[Training]:
    """Return what all rows teach, and then what all but each part do."""
    grid, kernels = grid_of(bins, reference.months), overlap.kernels_of(bins, reference.months)
    ground = _Ground(bins, grid, kernels, reference.covers[0], reference.months)
    sets, at_once = rates.set_rates(reference, bins, seen)
    nothing = np.zeros(len(bins.of_row), dtype=bool)
    points: list[list[LearnedPoint]] = []
    for done, point in enumerate(reference.points, 1):
        if point.id in seen:
            together = at_once.get(point.changed_with or "", nothing)
            points.append(_point(ground, seen[point.id], together))
        tell(done / len(reference.points))
    return [
        Training(
            tuple(each[i] for each in points),
            {name: found for name, of in sets.items() if (found := of[i]) is not None},
        )
        for i in range(1 if bins.parts < 2 else 1 + bins.parts)
    ]


def _point(ground: _Ground, seen: Sighting, at_once: rates.Flags) -> list[LearnedPoint]:
    changed = rates.changed_rates(ground.bins, seen, at_once)
    if seen.point.kind in _BY_VARIANTS:
        learned = _by_variants(ground, seen)
    elif seen.point.kind is Kind.MEASURE:
        learned = _measured(ground, seen)
    else:
        learned = [_kept(seen.point, len(seen.rows)) for _ in changed]
    return [replace(one, changed=c) for one, c in zip(learned, changed, strict=True)]


def _kept(point: Point, rows: int, *remarks: str) -> LearnedPoint:
    return LearnedPoint(point.id, Method.KEPT, rows, remarks=remarks)


# Variants


def _by_variants(ground: _Ground, seen: Sighting) -> list[LearnedPoint]:
    variants = len(seen.point.seen)
    use = seen.counted
    ones = np.eye(variants + 1)[seen.variant[use]]
    sums = trainings(ground.bins, seen.rows[use], ones)
    counts = [each[:, :variants] for each in sums]
    others = rates.other_rates(ground.bins, seen)
    if variants < 2:
        found: list[Succession | None] = [None] * len(counts)
    else:
        made = successions(ground.bins, ground.grid, counts=counts, months=ground.months)
        found = [one if c.any() else None for one, c in zip(made, counts, strict=True)]
    return [
        replace(
            _variants(ground, seen.point, counts=c, found=f),
            counts=_named(seen.point, each.sum(axis=0)),
            other=other,
        )
        for c, f, each, other in zip(counts, found, sums, others, strict=True)
    ]


def _named(point: Point, totals: Floats) -> dict[str, int]:
    names = [*(variant.id for variant in point.seen), OTHER]
    return {name: round(float(n)) for name, n in zip(names, totals, strict=True)}


def _variants(
    ground: _Ground, point: Point, *, counts: Floats, found: Succession | None
) -> LearnedPoint:
    rows = round(float(counts.sum()))
    if found is None:
        why = "only one variant is listed" if rows else "no example shows it"
        return _kept(point, rows, f"{why}: kept as it was")
    shares = overlap.smoothed(ground.kernels, counts)
    begins = ground.begins
    remarks = tuple(_remarks(ground.bins, point, counts))
    if shares.score > found.score + LEARNING.for_overlap:
        method, table, seen = Method.OVERLAP, shares.table, None
    else:
        method, table = Method.SUCCESSION, found.table
        seen = wording.edges_of(point, found, begins=begins)
    knots = (wording.knots_of(row, begins=begins) for row in table)
    names = [variant.id for variant in point.seen]
    return LearnedPoint(
        point.id,
        method,
        rows,
        seen=seen or dict(zip(names, knots, strict=True)),
        table=tuple(map(tuple, table.tolist())),
        change_overs=tuple(_change_overs(point, counts, found=found, begins=begins))
        if method is Method.SUCCESSION
        else (),
        remarks=remarks,
    )


def _change_overs(
    point: Point, counts: Floats, *, found: Succession, begins: int
) -> Iterator[ChangeOver]:
    totals = counts.sum(axis=0)
    for k, (span, lapse) in enumerate(zip(found.spans, found.lapses, strict=True)):
        old, new = point.seen[k : k + 2]
        low, middle, high = (begins + float(month) for month in span)
        before, after = round(float(totals[: k + 1].sum())), round(float(totals[k + 1 :].sum()))
        yield ChangeOver(
            old.id, new.id, low, middle, high, lapse=float(lapse), before=before, after=after
        )


def _remarks(bins: Bins, point: Point, counts: Floats) -> Iterator[str]:
    totals = counts.sum(axis=0)
    for variant, total in zip(point.seen, totals, strict=True):
        if not total:
            yield f'no example shows "{variant.id}"'
    often = totals >= 3
    means = (bins.at @ counts)[often] / totals[often]
    if (np.diff(means) < 0).any():
        names = np.array([variant.id for variant in point.seen])[often]
        order = ", ".join(names[np.argsort(means)])
        yield f"by their mean months the variants would stand in the order {order}"


# Measures


def _measured(ground: _Ground, seen: Sighting) -> list[LearnedPoint]:
    use = seen.counted
    x = seen.value[use]
    sums = trainings(ground.bins, seen.rows[use], np.stack([np.ones(len(x)), x, x * x], axis=1))
    return [_measure(ground, seen.point, drift.Sums(*each.T)) for each in sums]


def _measure(ground: _Ground, point: Point, sums: drift.Sums) -> LearnedPoint:
    rows = round(float(sums.rows.sum()))
    if rows < LEARNING.fewest_measures:
        return _kept(point, rows, "too few examples: kept as it was")
    low, high = point.span or (0.0, 1.0)
    smoothed = rows >= LEARNING.fewest_smoothed
    learn: Callable[..., drift.Drift] = drift.smooth if smoothed else drift.line
    found = learn(ground.bins, sums, months=ground.months, width=high - low)
    return LearnedPoint(
        point.id,
        Method.SMOOTHED if smoothed else Method.LINE,
        rows,
        seen=drift.variants_of(point, found, begins=ground.begins),
        replaces=True,
        table=(tuple(found.mean.tolist()), tuple(found.deviation.tolist())),
    )
