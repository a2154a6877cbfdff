"""The change from one variant to the next: the whole posterior on a grid, never a best fit.

    P(new | i) = ε + (1 − 2ε)·Φ((t_i − τ)/√(s² + sd_i²))

τ on every month, s log-uniform, ε ~ Beta(1, 9) on five values. A *column* is one set of examples
for one change-over: counts of old and new by bin. All columns go through the grid together, a few
months of τ at a time, so the cost hardly depends on how many there are.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from quickcheck.learn.bins import Bins, Floats, Whole, phi
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import Tell, silent, within

_CHUNK = 1_500_000  # numbers of a likelihood table held at once: 12 MB
_HALF = 0.5
_COLUMNS = 6_000_000  # numbers of posteriors held at once: 48 MB


Halves = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """What the parameters may be, and the chances on a lattice of half months."""

    taus: Floats  # (N,), months since the reference begins
    logs: Floats  # ln P(new) by doubt, lattice, s and ε: (doubts, lattice, S·E)
    inverse: Halves  # 1 / P(new), the same; of sums of positive numbers seven digits are enough
    doubt_of: Whole  # (B,), which doubt a bin has
    offset: int  # of the lattice


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """What some columns say of one change-over each."""

    taus: Floats  # (N,)
    tau: Floats  # (columns, N), marginal
    lapse: Floats  # (columns,), mean of ε
    new: Floats  # (columns, T): posterior mean of Φ((t − τ)/s), the share of the new variant
    left_out: tuple[Floats, Floats]  # (columns, B): chance of "new" for a row left out, old and new


def grid_of(bins: Bins, months: int) -> Grid:
    """Return the grid for a reference of so many months."""
    beyond = LEARNING.beyond
    taus = np.arange(-beyond, months + 1 + beyond, dtype=float)
    doubts, doubt_of = np.unique(bins.doubt, return_inverse=True)
    offset = 2 * (months + 1 + 2 * beyond)
    lattice = np.arange(-offset, offset + 1) / 2
    scales = np.array(LEARNING.scales)
    widths = np.sqrt(scales**2 + doubts[:, None, None] ** 2)  # (doubts, 1, S)
    done = phi(lattice[:, None] / widths)[..., None]
    lapses = np.array(LEARNING.lapses)
    chances = lapses + (1 - 2 * lapses) * done
    flat = chances.reshape(*chances.shape[:2], -1)
    inverse = (1 / flat).astype(np.float32)
    return Grid(taus, np.log(flat), inverse, doubt_of.reshape(-1), offset=offset)


Lattice = TypeVar("Lattice", Floats, Halves)


def posterior(
    bins: Bins, grid: Grid, *, old: Floats, new: Floats, months: int, tell: Tell = silent
) -> Posterior:
    """Return the posterior of every column; ``old`` and ``new`` are counts, (columns, B)."""
    cells = len(grid.taus) * grid.logs.shape[2]
    size = max(1, _COLUMNS // cells)
    starts = range(0, max(1, len(old)), size)
    pieces: list[Posterior] = []
    for at in starts:
        here = (old[at : at + size], new[at : at + size])
        told = within(tell, len(pieces) / len(starts), (len(pieces) + 1) / len(starts))
        pieces.append(_some(bins, grid, counts=here, months=months, tell=told))
    return Posterior(
        grid.taus,
        tau=np.concatenate([piece.tau for piece in pieces]),
        lapse=np.concatenate([piece.lapse for piece in pieces]),
        new=np.concatenate([piece.new for piece in pieces]),
        left_out=(
            np.concatenate([piece.left_out[0] for piece in pieces]),
            np.concatenate([piece.left_out[1] for piece in pieces]),
        ),
    )


def _some(
    bins: Bins, grid: Grid, *, counts: tuple[Floats, Floats], months: int, tell: Tell
) -> Posterior:
    old, new = counts
    parameters = grid.logs.shape[2]
    weights = np.empty((len(old), parameters, len(grid.taus)))
    for taus, says_new, says_old in _tables(bins, grid, grid.logs):
        tell(_HALF * taus.stop / len(grid.taus))
        found = new @ says_new.T + old @ says_old.T
        weights[:, :, taus] = found.reshape(len(old), parameters, -1)
    weights += np.tile(_log_prior(), len(LEARNING.scales))[:, None]
    weights -= weights.max(axis=(1, 2), keepdims=True)
    np.exp(weights, out=weights)
    weights /= weights.sum(axis=(1, 2), keepdims=True)
    apart = weights.reshape(len(old), len(LEARNING.scales), -1, len(grid.taus))
    return Posterior(
        grid.taus,
        weights.sum(axis=1),
        apart.sum(axis=(1, 3)) @ np.array(LEARNING.lapses),
        _mean_share(apart.sum(axis=2), grid.taus, months),
        _left_out(bins, grid, weights, tell=within(tell, _HALF, 1)),
    )


def _log_prior() -> Floats:
    a, b = LEARNING.lapse_beta
    lapses = np.array(LEARNING.lapses)
    found: Floats = (a - 1) * np.log(lapses) + (b - 1) * np.log(1 - lapses)
    return found


def _tables(bins: Bins, grid: Grid, table: Lattice) -> Iterator[tuple[slice, Lattice, Lattice]]:
    """Yield, for some τ at a time, what a lattice has for "new" and for "old", (τ·parameters, B).

    Φ(−x) = 1 − Φ(x), so the second is the first read backwards.
    """
    parameters = table.shape[2]
    size = max(1, _CHUNK // (parameters * len(bins.at)))
    by_parameter = np.ascontiguousarray(table.transpose(2, 0, 1))
    for start in range(0, len(grid.taus), size):
        taus = slice(start, min(start + size, len(grid.taus)))
        steps = np.rint(2 * (bins.at - grid.taus[taus, None])).astype(np.intp)  # (τ, B)
        new, old = (
            by_parameter[:, grid.doubt_of, grid.offset + way * steps].reshape(-1, len(bins.at))
            for way in (1, -1)
        )
        yield taus, new, old


def _mean_share(weights: Floats, taus: Floats, months: int) -> Floats:
    """Return the posterior mean of Φ((t − τ)/s) by month, (columns, T); ε is not in it.

    ε is what is wrong with the examples. What can be wrong with an answer at a table, the engine
    has in its own terms: misreading, change, variants that nobody listed.
    """
    middles = np.arange(months) + 0.5
    scales = np.array(LEARNING.scales)[:, None]
    done = phi((middles - taus[:, None]) / scales[:, None])  # (S, N, T)
    share: Floats = weights.reshape(len(weights), -1) @ done.reshape(-1, months)
    return share


def _left_out(bins: Bins, grid: Grid, weights: Floats, *, tell: Tell) -> tuple[Floats, Floats]:
    """Return the chance of "new" for one row left out of each bin that showed old, or new.

    Exact on a grid: p(y_i | the others) = 1 / E[1 / p(y_i | τ, s, ε)] under the posterior of all.
    """
    inverse = np.zeros((2, len(weights), len(bins.at)))
    halved = weights.astype(np.float32)
    for taus, says_new, says_old in _tables(bins, grid, grid.inverse):
        here = halved[:, :, taus].reshape(len(weights), -1)
        inverse[0] += here @ says_old
        inverse[1] += here @ says_new
        tell(taus.stop / len(grid.taus))
    return 1 - 1 / inverse[0], 1 / inverse[1]


def quantiles(posterior: Posterior, shares: tuple[float, ...]) -> Floats:
    """Return months below which so much of τ's posterior lies, (columns, shares).

    The weight of a month is spread over the half month on either side of it.
    """
    edges = np.append(posterior.taus - 0.5, posterior.taus[-1] + 0.5)
    below = np.concatenate([np.zeros((len(posterior.tau), 1)), posterior.tau.cumsum(axis=1)], 1)
    return np.array([np.interp(shares, row, edges) for row in below])
