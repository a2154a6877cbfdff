"""From the groups' chances to the date: posterior, and how a window stands in it.

Features of one factory change together, so multiplying witnesses overstates what they say: the
sum of their logarithms is tempered by λ = κ/√F, F being how many groups speak at all.
"""

import math
from collections.abc import Iterable
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
    """What the witnesses say of every month."""

    weights: Floats  # w, (T,)
    logs: Floats  # ln P of each group, (groups, T)
    speaking: int  # F
    temper: float  # λ
    fit: Floats  # L, (T,), 1 at the best month
    posterior: Floats  # p, (T,)


def date(chances: Floats, weights: Floats, *, kappa: float | None) -> Dating:
    """Return the posterior of the month of building; ``chances`` is P of each group, (groups, T)."""
    if len(chances):
        highest = chances.max(axis=1).round(_COMPARED)
        lowest = (RULES.speaks * chances.min(axis=1)).round(_COMPARED)
        speaking = int((highest >= lowest).sum())
    else:
        speaking = 0
    temper = min(1.0, (kappa or RULES.kappa) / math.sqrt(speaking)) if speaking else 1.0
    logs = np.log(chances)
    fit = _tempered(logs.sum(axis=0), temper)
    posterior = weights * fit
    return Dating(weights, logs, speaking, temper, fit, posterior / posterior.sum())


def _tempered(logs: Floats, temper: float) -> Floats:
    fit: Floats = np.exp(temper * (logs - logs.max(axis=-1, keepdims=True)))
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


def ratio_without_any(dating: Dating, window: Run) -> float:
    """Return the highest ratio that is left by dropping one group, λ kept."""
    rest = _tempered(dating.logs.sum(axis=0) - dating.logs, dating.temper)
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
    best = ratio_to_best(dating, window)
    weights = dating.weights[around]
    far = dating.fit[around].round(_COMPARED) < round(best / RULES.fair, _COMPARED)
    return float(weights @ far / weights.sum())


def in_window(dating: Dating, window: Run) -> float:
    """Return the posterior of the window."""
    return float(dating.posterior[stretch(window)].sum())


def likeliest(dating: Dating) -> int:
    """Return the likeliest month, the earliest of equals."""
    return int(dating.posterior.round(_ORDERED).argmax())


def reads_as(dating: Dating) -> tuple[Run, ...]:
    """Return the smallest set of months that holds 90 % of the posterior, as runs."""
    order = np.argsort(-dating.posterior.round(_ORDERED), kind="stable")
    held = dating.posterior[order].cumsum().round(_COMPARED)
    count = int((held >= RULES.interval).argmax()) + 1
    return runs(sorted(order[:count].tolist()))


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
