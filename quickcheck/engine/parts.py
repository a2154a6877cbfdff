"""From the date back to the parts: which were changed, which don't fit, where each one leans.

Part by part the evidence is not tempered; only the weights over the window's months are.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quickcheck.engine.constants import RULES
from quickcheck.engine.dating import Dating, Run, date, sides, stretch
from quickcheck.engine.model import Floats, Model
from quickcheck.engine.witnesses import Block, Evidence, Witness, set_rate

_COMPARED = 9


@dataclass(frozen=True, slots=True, eq=False)
class Chances:
    """P of each group and, for each witness, q, f and M; all by month."""

    groups: Floats  # P, (groups, T)
    changed: Floats  # q, (witnesses, T): this part was changed
    fits: Floats  # f, (witnesses, T): first one, read right, of a listed variant
    alone: Floats  # M, (witnesses, T)


def chances(evidence: Evidence) -> Chances:
    """Return the chances of groups and parts; date codes averaged over the scales of lag."""
    plain, codes = _block_chances(evidence.plain), _block_chances(evidence.codes)
    groups, changed, fits, alone = (
        np.concatenate([one, many.mean(axis=0)]) for one, many in zip(plain, codes, strict=True)
    )
    sizes = _sizes(evidence.plain) + _sizes(evidence.codes)
    of_witness = groups.repeat(sizes, axis=0)
    return Chances(groups, changed / of_witness, fits / of_witness, alone)


def _sizes(block: Block) -> list[int]:
    ends = (*block.starts[1:], block.first.shape[-2])
    return [end - start for start, end in zip(block.starts, ends, strict=False)]


def _block_chances(block: Block) -> tuple[Floats, Floats, Floats, Floats]:
    """Return P of each group, the numerators of q and f, and M, of one block.

    P = (1−γ)·Π M + γ·Π r·B;  of member i, the others' Π M is Π M / M_i, as no M is 0.
    """
    alone = block.alone
    if not block.starts:
        empty = alone[..., :0, :]
        return empty, empty, empty, empty
    rates = np.array(block.rates)[:, None]
    apart = (1 - rates) * np.multiply.reduceat(alone, block.starts, axis=-2)
    together = rates * np.multiply.reduceat(block.swapped, block.starts, axis=-2)
    sizes = _sizes(block)
    others = apart.repeat(sizes, axis=-2) / alone
    changed = block.later * others + together.repeat(sizes, axis=-2)
    return apart + together, changed, block.listed * others, alone


def over_windows(chances_by_month: Floats, dating: Dating, windows: Sequence[Run]) -> Floats:
    """Return means over each window by the tempered posterior, (rows, windows)."""
    weights = np.zeros((len(dating.posterior), len(windows)))
    for column, window in enumerate(windows):
        inside = dating.posterior[stretch(window)]
        weights[stretch(window), column] = inside / inside.sum()
    means: Floats = chances_by_month @ weights
    return means


# Which way a part leans


def leanings(alone: Floats, dating: Dating, window: Run) -> list[str]:
    """Return for each part whether it speaks for the window, for earlier or later, or not."""
    months = len(dating.weights)
    names = ["within", "earlier", "later"]
    runs = [window, *sides(window, months)]
    kept = [i for i, run in enumerate(runs) if run[0] <= run[1]]
    weights = np.zeros((months, len(kept)))
    for column, i in enumerate(kept):
        here = dating.weights[stretch(runs[i])]
        weights[stretch(runs[i]), column] = here / here.sum()
    means = alone @ weights
    return [_leaning([names[i] for i in kept], row) for row in means.tolist()]


def _leaning(names: Sequence[str], means: Sequence[float]) -> str:
    """Return the leaning of one part; ``means`` are those of the window and of the sides left."""
    highest = round(max(means), _COMPARED)
    if highest < round(RULES.speaks * min(means), _COMPARED):
        return "silent"
    if round(means[0], _COMPARED) >= round(max(means) / RULES.speaks, _COMPARED):
        return "within"
    return next(n for n, m in zip(names, means, strict=True) if round(m, _COMPARED) == highest)


# How many would be found on a genuine instrument


def usual_count(model: Model, witnesses: Sequence[Witness], found: int) -> tuple[float, float]:
    """Return how many parts are usually found, and the chance of at least ``found``.

    For a genuine instrument on the same points, those declared changed left out: Poisson-binomial
    within a group, or all of a group at once. Exact convolution, group by group.
    """
    groups: dict[str, list[float]] = {}
    for witness in witnesses:
        if not witness.declared:
            groups.setdefault(witness.group, []).append(_found_rate(witness))
    usual, counts = 0.0, [1.0]
    for name, rates in groups.items():
        together = set_rate(model, name)
        usual += together * len(rates) + (1 - together) * sum(rates)
        apart = counts
        for rate in rates:
            apart = _one_more(apart, rate)
        at_once = [0.0] * len(rates) + counts
        counts = [(1 - together) * a + together * b for a, b in zip(apart, at_once, strict=True)]
    return usual, sum(counts[found:])


def _found_rate(witness: Witness) -> float:
    """Return how often such a part is found: changed, misread, or genuine but not listed."""
    rate = witness.point.changed
    return rate + (1 - rate) * (1 - (1 - witness.slip) * (1 - witness.point.other))


def _one_more(counts: Sequence[float], rate: float) -> list[float]:
    """Return the distribution of a count after one more chance."""
    stays = [(1 - rate) * c for c in counts] + [0.0]
    for i, c in enumerate(counts):
        stays[i + 1] += rate * c
    return stays


# Assemblies by themselves


def lasting(model: Model, witness: Witness) -> bool:
    """Return whether a part is taken to stay with its assembly: a refinish is no other body."""
    rate = max(witness.point.changed, set_rate(model, witness.group))
    return round(rate, _COMPARED) <= RULES.lasting


def date_apart(model: Model, evidence: Evidence, chosen: Sequence[int]) -> Dating:
    """Return the date by some witnesses alone, without sets; date codes still share their lag."""
    cut = evidence.plain.first.shape[0]
    alone = evidence.plain.alone[[i for i in chosen if i < cut]]
    codes = [i - cut for i in chosen if i >= cut]
    if codes:
        together = evidence.codes.alone[:, codes].prod(axis=1).mean(axis=0)
        alone = np.vstack([alone, together])
    return date(alone, model.weights, kappa=model.reference.kappa)
