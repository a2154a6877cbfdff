"""Variants side by side, or coming back: shares by month, smoothed, with a Dirichlet behind them.

    P(v | t) = (Σ_i K_h(t − t_i)·[v_i = v] + a·π_v) / (Σ_i K_h(t − t_i) + a)

K_h is a normal curve of height 1, so the sum below counts examples near t; π are the overall
shares. Bandwidth h and strength a are those that say most of each example from all others.
The doubt of the documented months is not taken out: the shares are as blurred as the dates are.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from quickcheck.learn.bins import Bins, Floats
from quickcheck.learn.constants import LEARNING


@dataclass(frozen=True, slots=True, eq=False)
class Shares:
    """Smoothed shares of one point, and what they say of rows left out (sum of ln P)."""

    table: Floats  # (V, T)
    score: float
    bandwidth: float


@dataclass(frozen=True, slots=True, eq=False)
class Kernels:
    """K_h between bins, and from bins to months, for every bandwidth."""

    among: tuple[Floats, ...]  # (B, B)
    months: tuple[Floats, ...]  # (T, B)


def kernels_of(bins: Bins, months: int) -> Kernels:
    """Return the kernels of a reference of so many months."""
    middles = np.arange(months) + 0.5
    return Kernels(
        tuple(_curve(bins.at[:, None] - bins.at, h) for h in LEARNING.bandwidths),
        tuple(_curve(middles[:, None] - bins.at, h) for h in LEARNING.bandwidths),
    )


def _curve(distance: Floats, bandwidth: float) -> Floats:
    curve: Floats = np.exp(-0.5 * (distance / bandwidth) ** 2)
    return curve


def smoothed(kernels: Kernels, counts: Floats) -> Shares:
    """Return the shares that counts (B, V) make; at least one must be above 0."""
    totals = counts.sum(axis=0)
    near = [kernel @ counts for kernel in kernels.among]
    scores = {
        (i, strength): _score(near[i], counts, totals=totals, strength=strength)
        for i, strength in product(range(len(near)), LEARNING.strengths)
    }
    (best, strength), score = max(scores.items(), key=lambda item: item[1])
    held = kernels.months[best] @ counts
    overall = (totals + 0.5) / (totals + 0.5).sum()
    table = (held + strength * overall) / (held.sum(axis=1, keepdims=True) + strength)
    return Shares(table.T, score, LEARNING.bandwidths[best])


def _score(near: Floats, counts: Floats, *, totals: Floats, strength: float) -> float:
    """Return the sum of ln P(v_i | the others) over all rows, exactly: a row's own count is 1."""
    others = totals - 1 + 0.5
    overall = np.maximum(others, 0.5) / (totals.sum() - 1 + 0.5 * len(totals))
    total = near.sum(axis=1, keepdims=True)
    chance = (near - 1 + strength * overall) / (total - 1 + strength)
    seen = counts > 0
    return float((counts[seen] * np.log(np.maximum(chance[seen], 1e-12))).sum())
