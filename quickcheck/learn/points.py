"""All points, from all rows and without each part: what every reference to be written says."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from quickcheck.learn import drift, overlap, rates, wording
from quickcheck.learn.bins import Bins, Floats, trainings
from quickcheck.learn.changeover import Grid, grid_of
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import ChangeOver, LearnedPoint, Method, Rate, Tell, within
from quickcheck.learn.sightings import Flags, Sighting
from quickcheck.learn.succession import Succession, successions
from quickcheck.reference import OTHER, Kind, Point, Reference

_AT_ONCE: Final = 700  # columns: some 40 MB of posteriors over sixteen years
_MOST: Final = 0.5  # of the time goes into the grid, more where there are many rows
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
    counted = {name: counted for name, one in seen.items() if (counted := _counted(ground, one))}
    followed = _all_successions(ground, counted, tell=within(tell, 0, _MOST))
    points = []
    for name, one in seen.items():
        points.append(
            _point(
                ground,
                one,
                at_once=at_once.get(one.point.changed_with or "", nothing),
                counted=counted.get(name),
                found=followed.get(name, ()),
            )
        )
        tell(_MOST + (1 - _MOST) * len(points) / len(seen))
    return [
        Training(
            tuple(each[i] for each in points),
            {name: found for name, of in sets.items() if (found := of[i]) is not None},
        )
        for i in range(1 if bins.parts < 2 else 1 + bins.parts)
    ]


def _point(
    ground: _Ground,
    seen: Sighting,
    *,
    at_once: Flags,
    counted: Sequence[Floats] | None,
    found: Sequence[Succession],
) -> list[LearnedPoint]:
    changed = rates.changed_rates(ground.bins, seen, at_once)
    if counted is not None:
        learned = _by_variants(ground, seen, counted=counted, found=found)
    elif seen.point.kind is Kind.MEASURE:
        learned = _measured(ground, seen)
    else:
        learned = [_kept(seen.point, len(seen.rows)) for _ in changed]
    return [replace(one, changed=c) for one, c in zip(learned, changed, strict=True)]


def _kept(point: Point, rows: int, *remarks: str) -> LearnedPoint:
    return LearnedPoint(point.id, Method.KEPT, rows, remarks=remarks)


# Variants


def _counted(ground: _Ground, seen: Sighting) -> list[Floats] | None:
    """Return how often each variant, "other" last, was seen by bin, for each training, (B, V + 1)."""
    if seen.point.kind not in _BY_VARIANTS:
        return None
    use = seen.counted
    ones = np.eye(len(seen.point.seen) + 1)[seen.variant[use]]
    return list(trainings(ground.bins, seen.rows[use], ones))


def _all_successions(
    ground: _Ground, counted: Mapping[str, Sequence[Floats]], *, tell: Tell
) -> dict[str, Sequence[Succession]]:
    """Return the successions of all points; many columns at once, as the grid costs most."""
    listed = {name: [each[:, :-1] for each in counts] for name, counts in counted.items()}
    listed = {name: counts for name, counts in listed.items() if counts[0].shape[1] > 1}
    found: dict[str, Sequence[Succession]] = {}
    names = list(listed)
    while names:
        some = [names.pop(0)]
        while names and sum(_columns(listed[name]) for name in (*some, names[0])) <= _AT_ONCE:
            some.append(names.pop(0))
        counts = [each for name in some for each in listed[name]]
        before, here = len(found) / len(listed), len(some) / len(listed)
        made = iter(
            successions(
                ground.bins,
                ground.grid,
                counts=counts,
                months=ground.months,
                tell=within(tell, before, before + here),
            )
        )
        found |= {name: [next(made) for _ in listed[name]] for name in some}
    return found


def _columns(counts: Sequence[Floats]) -> int:
    return sum(each.shape[1] - 1 for each in counts)


def _by_variants(
    ground: _Ground, seen: Sighting, *, counted: Sequence[Floats], found: Sequence[Succession]
) -> list[LearnedPoint]:
    others = rates.other_rates(ground.bins, seen)
    made: list[LearnedPoint] = []
    for i, (counts, other) in enumerate(zip(counted, others, strict=True)):
        listed = counts[:, :-1]
        one = _variants(ground, seen.point, counts=listed, found=found[i] if found else None)
        made.append(replace(one, counts=_named(seen.point, counts.sum(axis=0)), other=other))
    return made


def _named(point: Point, totals: Floats) -> dict[str, int]:
    names = [*(variant.id for variant in point.seen), OTHER]
    return {name: round(float(n)) for name, n in zip(names, totals, strict=True)}


def _variants(
    ground: _Ground, point: Point, *, counts: Floats, found: Succession | None
) -> LearnedPoint:
    rows = round(float(counts.sum()))
    if found is None or not rows:
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
