"""Examples dated by references that were learned without them: κ, coverage, mean error.

The dating is the engine's own: the reference is read as a file would be, compiled, and asked.
A documented month with a doubt is held against the posterior blurred by that doubt.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from quickcheck.engine import Model, Sheet
from quickcheck.engine.dating import Body, date, speaks
from quickcheck.engine.parts import group_chances
from quickcheck.engine.witnesses import find_witnesses, gather
from quickcheck.learn.bins import Bins, Floats, phi
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import Check, Example
from quickcheck.reference import Access, Reference

LEVELS: Final = (50, 80, 90, 95)
_SEED: Final = 20  # of the random part of a rank on whole months: any, but the same each time


@dataclass(frozen=True, slots=True, eq=False)
class Dated:
    """What one example's own answers say of its months, under the engine."""

    body: Body
    weights: Floats
    at: float  # documented middle, months since the reference begins
    doubt: float

    def posterior(self, kappa: float | None) -> Floats:
        """Return p by month."""
        return date([self.body], self.weights, kappa=kappa)[0].posterior


def sheet_of(reference: Reference, example: Example) -> Sheet:
    """Return an example's answers as a sheet that claims nothing: all months covered."""
    return Sheet(
        reference=reference,
        claimed=reference.covers,
        window=reference.covers,
        claim_words="",
        nothing_changed=False,
        access=Access.OPEN,
        tools=None,
        serial_text="",
        marks=(),
        disclosures=(),
        answers=example.answers,
    )


def dated(model: Model, example: Example) -> Dated | None:
    """Return what an example's answers say; None where it shows nothing that speaks of months."""
    witnesses = find_witnesses(model, sheet_of(model.reference, example))
    if not witnesses:
        return None
    chances = group_chances(gather(model, witnesses))
    body = Body(np.log(chances).sum(axis=0), int(speaks(chances).sum()))
    at = example.middle - model.reference.covers[0]
    return Dated(body, model.weights, at, example.doubt)


def left_out(
    models: Callable[[int], Model],
    bins: Bins,
    examples: Sequence[Example],
    *,
    tell: Callable[[float], None],
) -> list[Dated]:
    """Return the examples as dated by the model of the part that each is left out with."""
    chosen = _chosen(len(examples))
    found = []
    done = 0
    for part in range(bins.parts):
        here = [row for row in chosen if bins.part[row] == part]
        model = models(part) if here else None
        for row in here:
            one = dated(model, examples[row]) if model else None
            found += [one] if one else []
        done += len(here)
        tell(done / len(chosen))
    return found


def _chosen(rows: int) -> list[int]:
    most = min(rows, LEARNING.most_dated)
    return sorted({int(at) for at in np.linspace(0, rows - 1, most)})


def best_kappa(found: Sequence[Dated]) -> float:
    """Return the κ under which the documented months score best, the smallest of equals."""
    scores = [np.mean([_log_score(d, d.posterior(k)) for d in found]) for k in LEARNING.kappas]
    return LEARNING.kappas[int(np.round(scores, 6).argmax())]


def _log_score(one: Dated, posterior: Floats) -> float:
    edges = np.arange(len(posterior) + 1.0)
    if one.doubt > 0:
        below = phi((edges - one.at) / one.doubt)
        chance = posterior @ np.diff(below)
    else:
        chance = posterior[min(len(posterior) - 1, int(one.at))]
    return float(np.log(max(float(chance), 1e-12)))


def check_of(found: Sequence[Dated], kappa: float | None, *, parts: int, alone: bool) -> Check:
    """Return how the documented months lie in the posteriors."""
    dice = np.random.default_rng(_SEED)
    posteriors = [one.posterior(kappa) for one in found]
    ranks = np.array(
        [_rank(d, p, u) for d, p, u in zip(found, posteriors, dice.random(len(found)), strict=True)]
    )
    middles = [_quantile(p, 0.5) for p in posteriors]
    widths = [_quantile(p, 0.95) - _quantile(p, 0.05) for p in posteriors]
    return Check(
        dated=len(found),
        alone=alone,
        parts=parts,
        coverage={level: _held(ranks, level) for level in LEVELS},
        mean_error=float(np.mean([abs(m - d.at) for m, d in zip(middles, found, strict=True)])),
        log_score=float(
            np.mean([_log_score(d, p) for d, p in zip(found, posteriors, strict=True)])
        ),
        width=float(np.median(widths)),
    )


def _held(ranks: Floats, level: int) -> float:
    """Return the share of ranks in the central band."""
    return float((np.abs(ranks - 0.5) <= level / 200).mean())


def _rank(one: Dated, posterior: Floats, chance: float) -> float:
    """Return how much of the posterior lies before the documented month.

    On whole months without a doubt the month itself counts by chance, so that a right posterior
    has ranks that are spread evenly (randomised probability integral transform).
    """
    middles = np.arange(len(posterior)) + 0.5
    if one.doubt > 0:
        return float(posterior @ phi((one.at - middles) / np.hypot(one.doubt, np.sqrt(1 / 12))))
    month = min(len(posterior) - 1, int(one.at))
    return float(posterior[:month].sum() + chance * posterior[month])


def _quantile(posterior: Floats, share: float) -> float:
    """Return the time before which a share of the posterior lies, each month spread evenly."""
    below = np.concatenate([[0.0], posterior.cumsum()])
    return float(np.interp(share, below / below[-1], np.arange(len(below))))


def parts_of(rows: int) -> int:
    """Return into how many parts so many rows are dealt."""
    if rows < LEARNING.fewest_for_check:
        return 1
    return rows if rows <= LEARNING.all_apart else LEARNING.parts
