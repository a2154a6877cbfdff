"""From the groups' chances to the date: posterior, and how a window stands in it.

Features of one factory change together, so multiplying witnesses overstates what they say: the
sum of their logarithms is tempered by λ = κ/√F, F being how many groups speak at all.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine.constants import RULES
from quickcheck.engine.model import Floats

Run = tuple[int, int]
"""First and last index of months, both inclusive."""

_COMPARED = 9  # decimals to which both sides of a comparison are rounded
_ORDERED = 12  # decimals by which months and windows are put in order


@dataclass(frozen=True, slots=True, eq=False)
class Dating:
    """What some witnesses say of every month."""

    weights: Floats  # w, (T,)
    speaking: int  # F
    temper: float  # λ
    fit: Floats  # L, (T,), 1 at the best month
    posterior: Floats  # p, (T,)


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Groups that are dated together: ℓ, the sum of their ln P, (T,), and how many speak."""

    logs: Floats
    speaking: int


def speaks(chances: Floats) -> NDArray[np.bool_]:
    """Return for each group whether it speaks: whether its P, (groups, T), differs by month."""
    highest = chances.max(axis=1).round(_COMPARED)
    spoken: NDArray[np.bool_] = highest >= (RULES.speaks * chances.min(axis=1)).round(_COMPARED)
    return spoken


def date(bodies: Sequence[Body], weights: Floats, *, kappa: float | None) -> list[Dating]:
    """Return the posterior of the month of building by each body of groups."""
    tempers = [_temper(body.speaking, kappa or RULES.kappa) for body in bodies]
    fits = tempered(np.stack([body.logs for body in bodies]), np.array(tempers)[:, None])
    posteriors = weights * fits
    posteriors /= posteriors.sum(axis=1, keepdims=True)
    return [
        Dating(weights, body.speaking, *rest)
        for body, *rest in zip(bodies, tempers, fits, posteriors, strict=True)
    ]


def _temper(speaking: int, kappa: float) -> float:
    return min(1.0, kappa / math.sqrt(speaking)) if speaking else 1.0


def tempered(logs: Floats, temper: Floats | float) -> Floats:
    """Return L of every ℓ, (bodies, T)."""
    fit: Floats = np.exp(temper * (logs - logs.max(axis=1, keepdims=True)))
    return fit


def stretch(run: Run) -> slice:
    """Return the slice of a run."""
    return slice(run[0], run[1] + 1)


def sides(window: Run, months: int) -> tuple[Run, Run]:
    """Return the months before and after a window that it is held against; last < first: none."""
    first, last = window
    return (max(0, first - RULES.around), first - 1), (
        last + 1,
        min(months - 1, last + RULES.around),
    )


def outside(window: Run, months: int) -> NDArray[np.intp]:
    """Return the months around a window that it is held against."""
    return np.concatenate([np.arange(a, z + 1) for a, z in sides(window, months)])


def ratio_to_best(dating: Dating, window: Run) -> float:
    """Return how well the window's best month fits against the best month of all."""
    return float(dating.fit[stretch(window)].max())


def ratio_without_any(dating: Dating, logs: Floats, window: Run) -> float:
    """Return the highest ratio that dropping one group leaves, λ kept; ``logs`` is ln P."""
    rest = tempered(logs.sum(axis=0) - logs, dating.temper)
    return float(rest[:, stretch(window)].max())


def mean_fit(dating: Dating, where: slice | NDArray[np.intp]) -> float:
    """Return the mean of L over months, by output."""
    weights = dating.weights[where]
    return float(weights @ dating.fit[where] / weights.sum())


def bayes_factor(dating: Dating, window: Run) -> float | None:
    """Return how much better the window fits than the months around it; None: nothing around."""
    around = outside(window, len(dating.fit))
    if not len(around):
        return None
    return mean_fit(dating, stretch(window)) / mean_fit(dating, around)


def ruled_out(dating: Dating, window: Run) -> float:
    """Return the share, by output, of the months around that fit far worse than the window."""
    around = outside(window, len(dating.fit))
    if not len(around):
        return 0.0
    least = round(ratio_to_best(dating, window) / RULES.fair, _COMPARED)
    weights = dating.weights[around]
    return float(weights @ (dating.fit[around].round(_COMPARED) < least) / weights.sum())


def in_window(dating: Dating, window: Run) -> float:
    """Return the posterior of the window."""
    return float(dating.posterior[stretch(window)].sum())


def likeliest(dating: Dating) -> int:
    """Return the likeliest month, the earliest of equals."""
    return int(dating.posterior.round(_ORDERED).argmax())


def reads_as(datings: Sequence[Dating]) -> list[tuple[Run, ...]]:
    """Return for each the smallest set of months that holds 90 % of the posterior, as runs."""
    posteriors = np.stack([dating.posterior for dating in datings])
    orders = np.argsort(-posteriors.round(_ORDERED), axis=1, kind="stable")
    held = np.take_along_axis(posteriors, orders, axis=1).cumsum(axis=1).round(_COMPARED)
    counts = (held >= RULES.interval).argmax(axis=1) + 1
    return [runs(np.sort(order[:n]).tolist()) for order, n in zip(orders, counts, strict=True)]


def runs(months: Iterable[int]) -> tuple[Run, ...]:
    """Return rising months as runs without a gap."""
    found: list[Run] = []
    for month in months:
        if found and month == found[-1][1] + 1:
            found[-1] = (found[-1][0], month)
        else:
            found.append((month, month))
    return tuple(found)


def equally(dating: Dating, window: Run) -> Run:
    """Return the window and the months beside it, without a break, that fit as well."""
    least = round(RULES.equally * ratio_to_best(dating, window), _COMPARED)
    poor = np.flatnonzero(dating.fit.round(_COMPARED) < least)
    before, after = poor[poor < window[0]], poor[poor > window[1]]
    first = int(before[-1]) + 1 if len(before) else 0
    last = int(after[0]) - 1 if len(after) else len(dating.fit) - 1
    return first, last


def best_window(dating: Dating, length: int) -> Run:
    """Return the window of a length with the highest mean fit, the earliest of equals."""
    ones = np.ones(length)  # no running sums: their differences would lose months of small output
    fits = np.convolve(dating.weights * dating.fit, ones, "valid")
    means = fits / np.convolve(dating.weights, ones, "valid")
    first = int(means.round(_ORDERED).argmax())
    return first, first + length - 1
