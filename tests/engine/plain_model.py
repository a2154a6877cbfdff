"""What was fitted when (section 2 of the arithmetic), in plain loops over months."""

import math
from itertools import pairwise
from typing import Any

from tests.engine.plain_readings import month_number

Table = dict[str, list[float]]

NINETY = 1.6448536269514722  # half-width of the central 90 % of a normal, in standard deviations
ASSEMBLY_OF_AREA = {
    "neck": "neck",
    "decal": "neck",
    "body": "body",
    "finish": "body",
    "weight": "body",
    "serial": "body",
    "electrics": "electrics",
    "hardware": "hardware",
    "screws": "hardware",
    "tuners": "hardware",
    "case": "case",
}


def covered(reference: dict[str, Any]) -> tuple[int, int]:
    """Return the first month and the number of months T."""
    first, last = (month_number(text) for text in reference["covers"])
    return first, last - first + 1


def assembly(point: dict[str, Any]) -> str:
    return str(point.get("assembly", ASSEMBLY_OF_AREA[point["area"]]))


def phi(x: float) -> float:
    """Φ(x) = ½ erfc(−x/√2)."""
    return 0.5 * math.erfc(-x / math.sqrt(2))


def step_or_phi(distance: float, sigma: float) -> float:
    """Φ(distance/σ); σ = 0 is a step."""
    if sigma == 0:
        return 1.0 if distance > 0 else 0.0
    return phi(distance / sigma)


def fitted(variant: dict[str, Any], first: int, t: int) -> float:
    """s(v,t) = share_v · Φ((t + ½ − a)/σ) · Φ((z + 1 − t − ½)/σ); a missing edge contributes 1."""
    if "shares" in variant:
        return knot_share(variant["shares"], first + t)
    sigma = variant.get("give", 3) / NINETY
    s = float(variant.get("share", 1.0))
    if "from" in variant:
        a = month_number(variant["from"]) - first
        s *= step_or_phi(t + 0.5 - a, sigma)
    if "to" in variant:
        z = month_number(variant["to"]) - first
        s *= step_or_phi(z + 1 - t - 0.5, sigma)
    return s


def knot_share(shares: list[list[Any]], month: int) -> float:
    """Knots at mid-month, linear between, constant outside.

    reads: s is the knots' value as it stands; `share` does not multiply it.
    """
    knots = sorted((month_number(text), float(share)) for text, share in shares)
    if month <= knots[0][0]:
        return knots[0][1]
    for (m0, s0), (m1, s1) in pairwise(knots):
        if m0 <= month <= m1:
            return s0 + (s1 - s0) * (month - m0) / (m1 - m0)
    return knots[-1][1]


def largest_share(variant: dict[str, Any]) -> float:
    if "shares" in variant:
        return max(float(share) for _, share in variant["shares"])
    return float(variant.get("share", 1.0))


def usage(point: dict[str, Any], first: int, months: int) -> Table:
    """U(v,t) for every variant and 'other', rounded to 9 decimals.

    D(t) = max(Σ_v s(v,t), ½ · smallest share); U(v,t) = (1 − other) · s(v,t) / D(t).
    reads: 'other' is taken from the unrounded U(v,t), and then every number is rounded once.
    """
    other = float(point.get("other", 0.02))
    floor = 0.5 * min(largest_share(v) for v in point["seen"])
    table: Table = {v["id"]: [] for v in point["seen"]}
    table["other"] = []
    for t in range(months):
        s = {v["id"]: fitted(v, first, t) for v in point["seen"]}
        d = max(math.fsum(s.values()), floor)
        u = {v: (1 - other) * s[v] / d for v in s}
        u["other"] = 1 - math.fsum(u.values())
        for v, value in u.items():
            table[v].append(round(value, 9))
    return table


def replaced(point: dict[str, Any], u: Table) -> Table:
    """Q(v,t), what a replacement part shows; V counts the listed variants, without 'other'."""
    weights = [v.get("if_changed") for v in point["seen"]]
    if any(weight is not None for weight in weights):
        return _stated_replacements(point, len(u["other"]))
    months, size = len(u["other"]), len(point["seen"])
    q: Table = {}
    for v, row in u.items():
        q[v] = []
        for t in range(months):
            later = row[t + 1 :] if t + 1 < months else row[t:]
            q[v].append(0.9 * (math.fsum(later) / len(later)) + 0.1 / (size + 1))
    return q


def _stated_replacements(point: dict[str, Any], months: int) -> Table:
    """`if_changed` weights, normalised; reads: a variant without a weight has weight 0."""
    weights = {v["id"]: float(v.get("if_changed", 0)) for v in point["seen"]}
    stated = math.fsum(weights.values())
    weights["other"] = float(point.get("other_if_changed", 0.1 * stated))
    total = math.fsum(weights.values())
    return {v: [weight / total] * months for v, weight in weights.items()}


def output(reference: dict[str, Any]) -> list[float]:
    """w(t): instruments built, month by month, as shares rounded to 9 decimals.

    reads: a year's figure is spread over all its covered months, also those that have a figure of
    their own; the mean that a month without any gets 0.1 of is taken over the months with figures.
    """
    first, months = covered(reference)
    figures = reference.get("output", {})
    w: list[float | None] = [None] * months
    for t in range(months):
        year, month = f"{(first + t) // 12:04d}", (first + t) % 12 + 1
        own = f"{year}-{month:02d}"
        if own in figures:
            w[t] = float(figures[own])
        elif year in figures:
            same = sum(1 for i in range(months) if (first + i) // 12 == int(year))
            w[t] = figures[year] / same
    known = [x for x in w if x is not None]
    if not known:
        return [round(1 / months, 9)] * months
    rest = 0.1 * math.fsum(known) / len(known)
    full = [rest if x is None else x for x in w]
    total = math.fsum(full)
    return [round(x / total, 9) for x in full]
