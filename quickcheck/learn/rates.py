"""How often parts were changed, and how often something unlisted was seen: rates with counts.

A rate in the points file is worth twenty examples, so that few examples move it little:
(20·rate + counted) / (20 + of). A rate of change is learned where at least one example says
anything about change there: a column that nobody filled in is no "nothing was changed".
"""

from collections.abc import Iterable, Mapping

import numpy as np

from quickcheck.learn.bins import Bins, Whole
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import Rate
from quickcheck.learn.sightings import Flags, Sighting
from quickcheck.reference import Reference

Rates = list[Rate | None]
"""One a training: of all rows, then without each part."""


def rate(before: float, counted: float, of: float) -> Rate:
    """Return a rate that began as ``before``."""
    worth = LEARNING.rate_worth
    return Rate(round((worth * before + counted) / (worth + of), 4), int(counted), int(of))


def _by_training(bins: Bins, rows: Whole) -> Whole:
    by_part = np.bincount(bins.part[rows], minlength=bins.parts)
    left = by_part.sum() - by_part if bins.parts > 1 else by_part[:0]
    return np.concatenate([[by_part.sum()], left])


def _rates(bins: Bins, before: float, *, counted: Whole, of: Whole) -> Rates:
    pairs = zip(_by_training(bins, counted), _by_training(bins, of), strict=True)
    return [rate(before, k, n) if n else None for k, n in pairs]


def changed_rates(bins: Bins, seen: Sighting, at_once: Flags) -> Rates:
    """Return how often a part was changed by itself; ``at_once`` are rows whose set was, (rows,)."""
    own = ~at_once[seen.rows]
    noted = bool(seen.noted[own].any())
    of = seen.rows[own] if noted else seen.rows[:0]
    return _rates(bins, seen.point.changed, counted=seen.rows[own & seen.changed & noted], of=of)


def other_rates(bins: Bins, seen: Sighting) -> Rates:
    """Return how often something unlisted was seen."""
    listed = seen.counted & (seen.variant >= 0)
    unlisted = listed & (seen.variant == len(seen.point.seen))
    return _rates(bins, seen.point.other, counted=seen.rows[unlisted], of=seen.rows[listed])


def set_rates(
    reference: Reference, bins: Bins, seen: Mapping[str, Sighting]
) -> tuple[dict[str, Rates], dict[str, Flags]]:
    """Return how often each set was changed in one go, and in which rows it was."""
    rates, rows = {}, {}
    for name, declared in reference.sets.items():
        members = [seen[p.id] for p in reference.points if p.changed_with == name]
        known, all_changed = _of_set(members, len(bins.of_row))
        rows[name] = all_changed
        rates[name] = _rates(
            bins, declared.changed, counted=np.flatnonzero(all_changed), of=np.flatnonzero(known)
        )
    return rates, rows


def _of_set(members: Iterable[Sighting], rows: int) -> tuple[Flags, Flags]:
    """Return the rows that say whether a set was changed in one go, and those in which it was.

    A row says so where at least two of the set were looked at and one has a word about change.
    """
    looked, changed, noted = np.zeros((3, rows), dtype=int)
    for member in members:
        looked[member.rows] += 1
        changed[member.rows] += member.changed
        noted[member.rows] += member.noted
    known = (looked >= 2) & (noted > 0)
    return known, known & (changed == looked)
