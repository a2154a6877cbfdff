"""How good dates are: any method's posteriors over the steps against the true ones."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine import compile_model, judge
from quickcheck.learn import Example, learn
from quickcheck.learn.leaving_out import sheet_of
from tests.learn.open_data import Rows, examples_of, points_of

Floats = NDArray[np.float64]
LEVELS = (50, 80, 90, 95)
_FLOOR = 0.001  # of every posterior is spread evenly, whoever made it: no score is infinite


@dataclass(frozen=True)
class Score:
    """Coverage of central intervals by level, mean error of the median, mean ln p(true)."""

    coverage: dict[int, float]
    error: float
    log: float


def score(posteriors: Floats, dates: Sequence[int], *, seed: int = 7) -> Score:
    """Return the score of posteriors, (objects, steps); whole steps, so ranks are randomised."""
    steps = posteriors.shape[1]
    held = (1 - _FLOOR) * posteriors / posteriors.sum(axis=1, keepdims=True) + _FLOOR / steps
    at, rows = np.array(dates), np.arange(len(dates))
    below = held.cumsum(axis=1)
    own = held[rows, at]
    ranks = below[rows, at] - own * np.random.default_rng(seed).random(len(at))
    medians = (below >= 0.5).argmax(axis=1)
    return Score(
        {level: float((np.abs(ranks - 0.5) <= level / 200).mean()) for level in LEVELS},
        float(np.abs(medians - at).mean()),
        float(np.log(own).mean()),
    )


def dated(rows: Rows, teaching: Sequence[int], tested: Sequence[int]) -> tuple[Floats, float]:
    """Return posteriors of the tested rows by what the others teach, and κ as learned.

    Learned, written as a reference, compiled and judged: nothing here dates by itself.
    """
    points = points_of(rows, teaching)
    examples = examples_of(rows, points, teaching, teaching)
    learned, training = learn(points, examples)
    reference = points.taught(training, rows=len(examples), kappa=learned.kappa)
    model = compile_model(reference)
    objects: list[Example] = examples_of(rows, points, teaching, tested)
    found = [judge(model, sheet_of(reference, one)).posterior for one in objects]
    return np.array(found), learned.kappa or float("nan")
