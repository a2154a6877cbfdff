"""Variants that followed one another: a change-over each, then the shares between them.

For K variants in order there are K − 1 columns, "variant k or later" against "earlier". Their
posterior means S_k(t) are made to fall with k, and P(k|t) = S_k − S_(k+1).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quickcheck.learn.bins import Bins, Floats, Whole, phi
from quickcheck.learn.changeover import Grid, posterior, quantiles
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import Tell


@dataclass(frozen=True, slots=True, eq=False)
class Succession:
    """One set of examples of one point, learned as a succession."""

    table: Floats  # (V, T)
    score: float  # Σ ln P(v_i | the others)
    spans: Floats  # (V − 1, 3): 5, 50 and 95 % of each change-over
    lapses: Floats  # (V − 1,)
    firsts: Whole  # (V − 1,): first month of the later variant, as an edge says it best
    widths: Floats  # (V − 1,): and the deviation of that edge, in months


def successions(
    bins: Bins, grid: Grid, *, counts: Sequence[Floats], months: int, tell: Tell
) -> list[Succession]:
    """Return the succession of each set of counts, (B, V); all columns go through together."""
    later = [np.flip(np.flip(c, 1).cumsum(axis=1), 1)[:, 1:].T for c in counts]
    earlier = [c.cumsum(axis=1)[:, :-1].T for c in counts]
    new, old = np.concatenate(later), np.concatenate(earlier)
    found = posterior(bins, grid, old=old, new=new, months=months, tell=tell)
    spans = quantiles(found, (0.05, 0.5, 0.95))
    starts = np.cumsum([0, *(len(piece) for piece in later)])
    made = []
    for each, start, stop in zip(counts, starts[:-1], starts[1:], strict=True):
        here = slice(start, stop)
        out = (found.left_out[0][here], found.left_out[1][here])
        firsts, widths = _nearest_edges(found.new[here])
        made.append(
            Succession(
                _shares(found.new[here]),
                _score(out, each),
                spans[here],
                found.lapse[here],
                firsts,
                widths,
            )
        )
    return made


def _nearest_edges(new: Floats) -> tuple[Whole, Floats]:
    """Return for each rise the edge that stays nearest to it: whole month and deviation."""
    middles = np.arange(new.shape[1]) + 0.5
    widths = np.array(LEARNING.edges)
    found = []
    for rise in new:
        half = int(np.searchsorted(np.maximum.accumulate(rise), 0.5))
        firsts = np.arange(half - 2, half + 3)
        edges = phi((middles - firsts[:, None, None]) / widths[:, None])
        off = np.abs(edges - rise).max(axis=2)
        at, width = np.unravel_index(int(off.argmin()), off.shape)
        found.append((int(firsts[at]), float(widths[width])))
    firsts_of, widths_of = zip(*found, strict=True)
    return np.array(firsts_of, dtype=np.intp), np.array(widths_of)


def _shares(new: Floats) -> Floats:
    """Return P(k|t), (V, T), from S_k."""
    months = new.shape[1]
    falling = np.minimum.accumulate(new, axis=0)
    bounds = np.concatenate([np.ones((1, months)), falling, np.zeros((1, months))])
    shares = np.maximum(bounds[:-1] - bounds[1:], LEARNING.least_share)
    table: Floats = shares / shares.sum(axis=0)
    return table


def _score(left_out: tuple[Floats, Floats], counts: Floats) -> float:
    """Return the sum of ln P(v_i | the others), from what each column says without row i."""
    variants = counts.shape[1]
    score = 0.0
    for variant in range(variants):
        seen = counts[:, variant] > 0
        if not seen.any():
            continue
        showed_new = np.arange(1, variants) <= variant
        new = np.where(showed_new[:, None], left_out[1][:, seen], left_out[0][:, seen])
        falling = np.minimum.accumulate(new, axis=0)
        upper = falling[variant - 1] if variant else np.ones(falling.shape[1])
        lower = falling[variant] if variant < variants - 1 else np.zeros(falling.shape[1])
        chance = np.maximum(upper - lower, LEARNING.least_share)
        score += float(counts[seen, variant] @ np.log(chance))
    return score
