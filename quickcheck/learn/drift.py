"""Measures: how mean and spread moved with the months.

Under 30 rows a line with a Student-t predictive (conjugate normal–inverse-gamma, a slope that is
held back, so that three rows don't make a steep one); from 30 rows a local line under a kernel,
the band chosen by leaving rows out. A reference has no drift, so it is written as variants "about
June 1952", one after the other, whose shares pass over into each other along straight lines:
between two of them the mean moves along a line.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from quickcheck.engine.constants import RULES
from quickcheck.learn.bins import Bins, Floats
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.wording import Keys
from quickcheck.readings import month_text, month_words
from quickcheck.reference import Point

_WIDE: Final = 12.0  # months: the least band of a spread, which needs more rows than a mean
_WORTH: Final = 4.0  # rows that the overall spread is worth in it
_MEDIAN_SQUARE: Final = 0.4549  # of a standard normal: χ² with one degree of freedom
_STILL: Final = 0.3  # spreads, and ratios of spreads, that all in all are no drift
_SPREADS: Final = 0.2  # ratio between two neighbouring spreads
_MOST: Final = 30  # variants of a point
_NODES, _NODE_WEIGHTS = np.polynomial.legendre.leggauss(64)


@dataclass(frozen=True, slots=True, eq=False)
class Drift:
    """Mean and deviation of a measure by month, (T,)."""

    mean: Floats
    deviation: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Rows by bin: how many, Σx and Σx², each (B,)."""

    rows: Floats
    first: Floats
    second: Floats


def line(bins: Bins, sums: Sums, *, months: int, width: float) -> Drift:
    """Return the predictive of a line: its mean, and the deviation with its 90 % interval.

    Prior: slope over half the months 0 ± 2 deviations; the deviation as if one row had been
    seen whose square was (a twentieth of the span)².
    """
    scaled = 2 * bins.at / months - 1
    middle = sums.first.sum() / sums.rows.sum()
    gram = np.array(
        [
            [sums.rows.sum() + 1e-6, sums.rows @ scaled],
            [sums.rows @ scaled, sums.rows @ scaled**2 + 0.25],
        ]
    )
    centred = sums.first - sums.rows * middle
    right = np.array([centred.sum(), scaled @ centred])
    squares = (sums.second - 2 * middle * sums.first + middle**2 * sums.rows).sum()
    found = np.linalg.solve(gram, right)
    shape = (1 + sums.rows.sum()) / 2
    rest = ((width / 20) ** 2 + max(0.0, float(squares - right @ found))) / 2
    here = 2 * (np.arange(months) + 0.5) / months - 1
    design = np.stack([np.ones(months), here])
    lever = (design * np.linalg.solve(gram, design)).sum(axis=0)
    scale = np.sqrt(rest / shape * (1 + lever))
    wider = student_90(2 * shape) / RULES.z90
    return Drift(middle + found @ design, scale * wider)


def student_90(freedom: float) -> float:
    """Return the 95 % point of Student's t: half of a central 90 % band; by bisection."""
    low, high = 1.0, 7.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _student_below(middle, freedom) < 0.95 else (low, middle)
    return (low + high) / 2


def _student_below(t: float, freedom: float) -> float:
    """Return P(T < t) for t > 0, by Gauss–Legendre over x = tan θ, where the density is smooth."""
    angle = np.arctan(t / np.sqrt(freedom))
    theta = angle * (_NODES + 1) / 2
    inside = (np.cos(theta) ** (freedom - 1)) @ _NODE_WEIGHTS * angle / 2
    full = (np.cos(np.pi / 4 * (_NODES + 1)) ** (freedom - 1)) @ _NODE_WEIGHTS * np.pi / 4
    return float(0.5 + 0.5 * inside / full)


def smooth(bins: Bins, sums: Sums, *, months: int, width: float) -> Drift:
    """Return the local mean and deviation, the band by leaving one row out."""
    tried = [_local(bins, sums, band=band, width=width) for band in LEARNING.bandwidths]
    best = max(range(len(tried)), key=lambda i: tried[i][0])
    _, squares = tried[best]
    band = LEARNING.bandwidths[best]
    middles: Floats = np.arange(months, dtype=float) + 0.5
    mean, _ = _lines(middles, bins.at, sums, band=band)
    return Drift(mean, np.sqrt(_spread(middles, bins.at, (sums.rows, squares), band=band)))


def _local(bins: Bins, sums: Sums, *, band: float, width: float) -> tuple[float, Floats]:
    """Return Σ ln p(x_i | the others) of a band, and the clipped squares about its means by bin."""
    mean, lever = _lines(bins.at, bins.at, sums, band=band)
    rows = np.maximum(sums.rows, 1e-9)
    squares = sums.second - 2 * mean * sums.first + mean**2 * sums.rows
    out = np.maximum(squares / (1 - np.minimum(lever, 0.97)) ** 2, 0.0)
    usual = _weighted_median(out / rows, sums.rows)
    most = sums.rows * LEARNING.clipped**2 * max(usual, 1e-12) / _MEDIAN_SQUARE
    clipped = np.minimum(out, most)  # an outlier is the flat part's, not the spread's
    variance = _spread(bins.at, bins.at, (sums.rows, clipped), band=band)
    height = np.exp(-0.5 * out / rows / variance) / np.sqrt(2 * np.pi * variance)
    score = sums.rows @ np.log((1 - LEARNING.flat) * height + LEARNING.flat / width)
    return float(score), clipped


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    below = weights[order].cumsum()
    return float(values[order][np.searchsorted(below, below[-1] / 2)])


def _lines(to: Floats, at: Floats, sums: Sums, *, band: float) -> tuple[Floats, Floats]:
    """Return local lines at some times, and the weight a row has in its own mean."""
    distance = at - to[:, None]
    kernel = np.exp(-0.5 * (distance / band) ** 2)
    first, second = kernel * distance, kernel * distance**2
    s0, s1, s2 = kernel @ sums.rows, first @ sums.rows, second @ sums.rows + band**2
    overall = sums.first.sum() / sums.rows.sum()
    held = sums.first - overall * sums.rows
    bent = s0 + 0.05 - s1**2 / s2  # a twentieth of a row stands at the overall mean
    mean = overall + (kernel @ held - s1 / s2 * (first @ held)) / bent
    return mean, 1 / bent


def _spread(to: Floats, at: Floats, by_bin: tuple[Floats, Floats], *, band: float) -> Floats:
    rows, squares = by_bin
    kernel = np.exp(-0.5 * ((at - to[:, None]) / max(_WIDE, 2 * band)) ** 2)
    overall = max(float(squares.sum() / rows.sum()), 1e-12)
    found: Floats = (kernel @ squares + _WORTH * overall) / (kernel @ rows + _WORTH)
    return found


# As variants


def variants_of(point: Point, drift: Drift, *, begins: int) -> dict[str, Keys]:
    """Return the variants that say what a drift does, by id, in the order of their months."""
    low, high = point.span or (0.0, 1.0)
    at = _stations(drift)
    seen: dict[str, Keys] = {}
    for i, month in enumerate(at):
        near = at[max(0, i - 1) : i + 2]
        mean = min(high, max(low, float(drift.mean[month])))
        spread = float(np.sqrt(max(drift.deviation[month] ** 2 - point.tolerance**2, 0.0)))
        floor = max(drift.deviation[month] / 4, (high - low) / RULES.measure_steps)
        digits = max(0, 2 - int(np.floor(np.log10(max(float(drift.deviation[month]), 1e-9)))))
        keys: Keys = {
            "label": f"About {month_words(begins + month)}",
            "mean": round(mean, digits),
            "spread": round(max(spread, float(floor)), digits + 1),
        }
        if len(at) > 1:
            keys["shares"] = [[month_text(begins + t), float(t == month)] for t in near]
        seen[f"about-{month_text(begins + month)}"] = keys
    return seen


def _stations(drift: Drift) -> list[int]:
    """Return the months at which a variant stands: means and spreads near enough to each other.

    Where there would be more than a point may have, they stand as near as it allows.
    """
    means = np.abs(np.diff(drift.mean)) / drift.deviation[1:]
    spreads = np.abs(np.diff(np.log(drift.deviation)))
    if means.sum() < _STILL and spreads.sum() < _STILL:
        return [len(drift.mean) // 2]
    way = means / LEARNING.step + spreads / _SPREADS
    gone = np.concatenate([[0.0], way.cumsum()])
    count = min(_MOST, int(np.ceil(gone[-1])) + 1)
    marks = np.searchsorted(gone, np.linspace(0, gone[-1], count))
    return sorted({int(mark) for mark in np.minimum(marks, len(gone) - 1)})
