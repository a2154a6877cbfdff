"""Shares by month in the two forms that a reference has for them: edges, or knots.

Edges are what people write and read, so they are tried first; where they would say something
else than the posterior mean, knots follow it as closely as it takes.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from quickcheck.engine.constants import RULES
from quickcheck.engine.model import made_of
from quickcheck.learn.bins import Floats
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.succession import Succession
from quickcheck.readings import month_text
from quickcheck.readings.months import FIRST, LAST
from quickcheck.reference import Point, Variant

Keys = dict[str, Any]
_DECIMALS = 4
_STEPS = np.arange(1201.0)


def edges_of(point: Point, found: Succession, *, begins: int) -> dict[str, Keys] | None:
    """Return from, to and give of each variant; None where edges can't say what was learned."""
    seen = _edged(point, found, begins=begins)
    if seen is None:
        return None
    over = np.arange(begins, begins + found.table.shape[1], dtype=float)
    made = made_of(replace(point, seen=seen), over)[:-1] / (1 - point.other)
    gap = np.abs(made - found.table)
    if gap.max() > LEARNING.table_off and gap.sum(axis=1).max() > LEARNING.area_off:
        return None
    return {variant.id: _edge_keys(variant) for variant in seen}


def _edged(point: Point, found: Succession, *, begins: int) -> tuple[Variant, ...] | None:
    """Return the variants with edges; None where a change-over would come before the last one.

    A variant has one give for both its edges: the mean of the two.
    """
    firsts = (begins + found.firsts).tolist()
    gives = (found.widths * RULES.z90).tolist()
    count = len(point.seen)
    seen = []
    for at, variant in enumerate(point.seen):
        first = firsts[at - 1] if at else None
        last = firsts[at] - 1 if at < count - 1 else None
        mine = gives[max(0, at - 1) : at + 1]
        give = round(min(600.0, sum(mine) / max(1, len(mine))), 1)
        if not _is_run(first, last):
            return None
        seen.append(replace(variant, first=first, last=last, give=give, share=1.0, knots=()))
    return tuple(seen)


def _is_run(first: int | None, last: int | None) -> bool:
    edges = [FIRST if first is None else first, LAST if last is None else last]
    return FIRST <= edges[0] <= edges[1] <= LAST


def _edge_keys(variant: Variant) -> Keys:
    keys: Keys = {}
    if variant.first is not None:
        keys["from"] = month_text(variant.first)
    if variant.last is not None:
        keys["to"] = month_text(variant.last)
    if keys:
        keys["give"] = variant.give
    return keys


def knots_of(shares: Floats, *, begins: int) -> Keys:
    """Return the knots whose lines stay near some shares by month, (T,)."""
    kept = _bends(shares)
    values = np.maximum(shares[kept].round(_DECIMALS), LEARNING.least_share / 2).tolist()
    if len(set(values)) == 1:
        kept, values = kept[:1], values[:1]
    return {"shares": [[month_text(begins + int(t)), v] for t, v in zip(kept, values, strict=True)]}


def _bends(shares: Floats) -> list[int]:
    """Return the months at which the line must bend (Ramer–Douglas–Peucker)."""
    logs = np.log(shares)
    kept, todo = {0, len(shares) - 1}, [(0, len(shares) - 1)]
    while todo:
        first, last = todo.pop()
        if last - first < 2:
            continue
        start, slope = shares[first], (shares[last] - shares[first]) / (last - first)
        line = start + slope * _STEPS[1 : last - first]
        gap = np.abs(line - shares[first + 1 : last]) / LEARNING.knot_off
        far = np.abs(np.log(line) - logs[first + 1 : last]) / LEARNING.knot_off_log
        gap = np.maximum(gap, far)
        worst = int(gap.argmax())
        if gap[worst] > 1:
            middle = first + 1 + worst
            kept.add(middle)
            todo += [(first, middle), (middle, last)]
    return sorted(kept)
