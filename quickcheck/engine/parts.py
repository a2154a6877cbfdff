"""From the date back to the parts: which were changed, which don't fit, where each one leans.

Part by part the evidence is not tempered; only the weights over the window's months are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from quickcheck.engine.constants import RULES
from quickcheck.engine.dating import Body, Dating, Run, sides, speaks, stretch
from quickcheck.engine.model import Floats
from quickcheck.engine.witnesses import Block, Evidence, Witness, slip_of
from quickcheck.reference.records import Assembly

_COMPARED = 9
_JUDGED = (Assembly.NECK, Assembly.BODY, Assembly.ELECTRICS, Assembly.HARDWARE)


@dataclass(frozen=True, slots=True, eq=False)
class Chances:
    """P of each group and, for each witness, q, f and M; all by month."""

    groups: Floats  # P, (groups, T)
    changed: Floats  # q, (witnesses, T): this part was changed
    fits: Floats  # f, (witnesses, T): first one, read right, of a listed variant
    alone: Floats  # M, (witnesses, T)


def chances(evidence: Evidence) -> Chances:
    """Return the chances of groups and parts; date codes averaged over the scales of lag."""
    found = [_block_chances(evidence.plain)]
    if evidence.codes.sizes:
        found.append([many.mean(axis=0) for many in _block_chances(evidence.codes)])
    groups, changed, fits, alone = (
        np.concatenate(pair) if len(pair) > 1 else pair[0] for pair in zip(*found, strict=True)
    )
    of_witness = groups.repeat(evidence.plain.sizes + evidence.codes.sizes, axis=0)
    return Chances(groups, changed / of_witness, fits / of_witness, alone)


def group_chances(evidence: Evidence) -> Floats:
    """Return P of each group alone, (groups, T)."""
    apart, at_once = _apart_and_at_once(evidence.plain)
    if not evidence.codes.sizes:
        return apart + at_once
    codes_apart, codes_at_once = _apart_and_at_once(evidence.codes)
    return np.concatenate([apart + at_once, (codes_apart + codes_at_once).mean(axis=0)])


def _apart_and_at_once(block: Block) -> tuple[Floats, Floats]:
    """Return both terms of P = (1−γ)·Π M + γ·Π r·B: parts by themselves, or all in one go."""
    together = np.array(block.together)[:, None]
    apart = (1 - together) * _products(block.alone, block.sizes)
    return apart, together * _products(block.swapped, block.sizes)


def _block_chances(block: Block) -> list[Floats]:
    """Return P of each group, the numerators of q and f, and M, of one block.

    Of member i, the others' Π M is Π M / M_i, as no M is 0.
    """
    apart, at_once = _apart_and_at_once(block)
    others = apart.repeat(block.sizes, axis=-2) / block.alone
    changed = block.later * others + at_once.repeat(block.sizes, axis=-2)
    return [apart + at_once, changed, block.listed * others, block.alone]


def _products(values: Floats, sizes: Sequence[int]) -> Floats:
    """Return the product over each group's rows; most groups are one row."""
    starts = [0, *accumulate(sizes)][:-1]
    products: Floats = values[..., starts, :]
    for group, (start, size) in enumerate(zip(starts, sizes, strict=True)):
        if size > 1:
            products[..., group, :] = values[..., start : start + size, :].prod(axis=-2)
    return products


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
    highest = means.max(axis=1).round(_COMPARED)
    most = np.array([names[i] for i in kept])[means.round(_COMPARED).argmax(axis=1)]
    fair = (means.max(axis=1) / RULES.speaks).round(_COMPARED)
    leaning = np.where(means[:, 0].round(_COMPARED) >= fair, "within", most)
    silent = highest < (RULES.speaks * means.min(axis=1)).round(_COMPARED)
    named: list[str] = np.where(silent, "silent", leaning).tolist()
    return named


# How many would be found on a genuine instrument


def usual_count(witnesses: Sequence[Witness], found: int) -> tuple[float, float]:
    """Return how many parts are usually found, and the chance of at least ``found``.

    For a genuine instrument on the same points, those declared changed left out: Poisson-binomial
    within a group, or all of a group at once. Exact convolution, group by group.
    """
    groups: dict[tuple[str, float], list[float]] = {}
    for w in witnesses:
        if not w.declared:
            key = (w.standing.group, w.standing.together)
            groups.setdefault(key, []).append(_found_rate(w))
    usual = 0.0
    counts: Sequence[float] = [1.0]
    for (_, together), rates in groups.items():
        usual += together * len(rates) + (1 - together) * sum(rates)
        if found:
            counts = _one_more_group(counts, rates, together)
    return usual, sum(counts[found:])


def _one_more_group(
    counts: Sequence[float], rates: Sequence[float], together: float
) -> Sequence[float]:
    """Return the distribution of a count after one more group of parts."""
    apart: Sequence[float] = counts
    for rate in rates:
        stays, goes = (*apart, 0.0), (0.0, *apart)
        apart = [(1 - rate) * a + rate * b for a, b in zip(stays, goes, strict=True)]
    at_once = [0.0] * len(rates) + list(counts)
    return [(1 - together) * a + together * b for a, b in zip(apart, at_once, strict=True)]


def _found_rate(witness: Witness) -> float:
    """Return how often such a part is found: changed, misread, or genuine but not listed."""
    rate = witness.point.changed
    return rate + (1 - rate) * (1 - (1 - slip_of(witness.answer)) * (1 - witness.point.other))


# Assemblies by themselves


def lasting(evidence: Evidence) -> dict[Assembly, list[int]]:
    """Return the assemblies that have enough lasting witnesses to be judged, with these."""
    members: dict[Assembly, list[int]] = {assembly: [] for assembly in _JUDGED}
    for i, witness in enumerate(evidence.witnesses):
        if witness.standing.lasting:
            members[witness.point.assembly].append(i)
    return {a: chosen for a, chosen in members.items() if len(chosen) >= RULES.fewest_lasting}


def body_apart(evidence: Evidence, alone: Floats, chosen: Sequence[int]) -> Body:
    """Return some witnesses as groups of one, without sets; date codes still share their lag."""
    cut = evidence.plain.first.shape[0]
    groups = alone[[i for i in chosen if i < cut]]
    codes = [i - cut for i in chosen if i >= cut]
    if codes:
        together = evidence.codes.alone[:, codes].prod(axis=1).mean(axis=0)
        groups = np.vstack([groups, together])
    return Body(np.log(groups).sum(axis=0), int(speaks(groups).sum()))
