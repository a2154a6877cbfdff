"""What to look at next (section 8), in plain loops."""

import math
from typing import Any

from tests.engine.plain_answers import (
    ACCESS,
    SURE,
    Chances,
    Doc,
    measure_at,
    pick,
)
from tests.engine.plain_model import assembly, covered, usage

BINS = 41


def entropy(p: float) -> float:
    """h(p) in bits; h(0) = h(1) = 0."""
    return -sum(x * math.log2(x) for x in (p, 1 - p) if x > 0)


def possible_answers(point: Doc, span: tuple[int, int]) -> list[Chances]:
    """List what could be answered, and how likely each is; reads: all as if answered sure.

    `measure`: midpoints of 41 equal bins. reads: the midpoints as they stand, not the nearest of
    the 4096 values that a card carries. `serial`: its blocks. reads: one block an answer, without
    'other', also where blocks overlap.
    """
    if point["kind"] == "measure":
        lowest, highest = point["span"]
        bin_width = (highest - lowest) / BINS
        u = usage(point, *span)
        midpoints = [lowest + (i + 0.5) * bin_width for i in range(BINS)]
        return [measure_at(point, x, SURE, u) for x in midpoints]
    names = [v["id"] for v in point["seen"]]
    if point["kind"] == "pick":
        names.append("other")
    return [pick(point, name, SURE, span) for name in names]


def answer_chances(point: Doc, span: tuple[int, int]) -> list[list[float]]:
    """P_j(a|t) = (1−ρ) O + ρ B over the answers a, renormalised month by month.

    The bin width of a measure is the same factor in all of them and falls away.
    """
    rho = point.get("changed", 0.05)
    rows = [
        [(1 - rho) * c.o[0][t] + rho * c.b[t] for t in range(span[1])]
        for c in possible_answers(point, span)
    ]
    sums = [math.fsum(row[t] for row in rows) for t in range(span[1])]
    return [[row[t] / sums[t] for t in range(span[1])] for row in rows]


def window_bits(rows: list[list[float]], p: list[float], inside: list[int]) -> float:
    """h(½) − Σ_a π_a h(P(window|a)), window and all the other months given equal odds.

    reads: 0 where the window fills what is covered.
    """
    months = range(len(p))
    outside = [t for t in months if t not in inside]
    if not outside:
        return 0.0
    held, rest = math.fsum(p[t] for t in inside), math.fsum(p[t] for t in outside)
    half = [0.5 * p[t] / (held if t in inside else rest) for t in months]
    bits = entropy(0.5)
    for row in rows:
        pi = math.fsum(half[t] * row[t] for t in months)
        in_window = math.fsum(half[t] * row[t] for t in inside)
        bits -= pi * entropy(in_window / pi)
    return bits


def date_bits(rows: list[list[float]], p: list[float]) -> float:
    """Return the mutual information of the answer and the month under p(t)."""
    months = range(len(p))
    bits = 0.0
    for row in rows:
        pi = math.fsum(p[t] * row[t] for t in months)
        bits += math.fsum(p[t] * row[t] * math.log2(row[t] / pi) for t in months)
    return bits


def is_open(point: Doc, answers: Doc, answered: set[str]) -> bool:
    """Tell whether a point is still to be looked at, within access and tools at hand.

    reads: points that would count for nothing (of the case, or made silent) are left out; a point
    that was disclosed as changed is answered.
    """
    if point["kind"] in {"datecode", "sign"} or assembly(point) == "case":
        return False
    given = answers["answers"].get(point["id"])
    if given is not None and given.get("not_seen") != "no-time":
        return False
    if point["id"] in answered:
        return False
    allowed = ACCESS.index(answers.get("access", "open"))
    if ACCESS.index(point.get("access", "look")) > allowed:
        return False
    return "tools" not in answers or set(point.get("tools", ())) <= set(answers["tools"])


def plain_next(
    reference: Doc, answers: Doc, p: list[float], inside: list[int], answered: set[str]
) -> list[dict[str, Any]]:
    """Return all candidates, best first; reads: of equals, the one that stands first in the file."""
    span = covered(reference)
    fills = len(inside) == span[1]
    looks = []
    for point in reference["point"]:
        if is_open(point, answers, answered):
            rows = answer_chances(point, span)
            looks.append(
                {
                    "point": point["id"],
                    "window_bits": window_bits(rows, p, inside),
                    "date_bits": date_bits(rows, p),
                    "minutes": point.get("minutes", 1),
                }
            )
    by = "date_bits" if fills else "window_bits"
    return sorted(looks, key=lambda look: -round(look[by] / look["minutes"], 9))
