"""Change-overs drawn by chance, and what the grid makes of them.

A change-over at τ in a reference of 144 months, n instruments with either variant, documented
months off by a normal 4, some misdated altogether, some misread: the setting of a simulation of
300 runs that was made before this code was written. Its own figures for the grid posterior are
`PUBLISHED`: cover of the 90 % range, mean error and median width by n. Where τ lay is not recorded
there. It matters a little: what is misdated is mostly new where τ is early, and ε is one for both.
"""

from dataclasses import dataclass

import numpy as np

from quickcheck.learn import Example
from quickcheck.learn.bins import Bins, Floats, bins_of, phi
from quickcheck.learn.changeover import grid_of, posterior, quantiles
from quickcheck.learn.constants import LEARNING

MONTHS = 144
SIZES = (5, 10, 30, 100)
PUBLISHED = {5: (94, 14.2, 61), 10: (91, 9.4, 40), 30: (91, 4.9, 21), 100: (90, 2.6, 11)}


@dataclass(frozen=True)
class Setting:
    """How the instruments come about."""

    name: str
    scale: float  # s: the change-over's own width
    misdated: float
    misread: float
    within: tuple[float, float] = (48, 96)  # where τ lies: the middle third
    doubt: float = 4.0  # true standard deviation of the documented months; 4 is said


SOFT = Setting("soft edge 6, 5 % misdated, 3 % misread", 6, 0.05, 0.03)
CLEAN = Setting("sharp edge, nothing wrong", 0.5, 0.0, 0.0)
ANYWHERE = Setting("as soft, the change-over anywhere", 6, 0.05, 0.03, within=(20, 124))
WORST = Setting("soft edge 12, 10 % misdated, 5 % misread", 12, 0.10, 0.05)
DOUBTED = Setting("as soft, months off by 10 where 4 is said", 6, 0.05, 0.03, doubt=10)


@dataclass(frozen=True)
class Result:
    """What came of many runs."""

    runs: int
    held: float  # share of true τ in the 90 % range
    bias: float
    error: float
    width: float


def drawn(
    setting: Setting, count: int, runs: int, *, seed: int
) -> tuple[Floats, np.ndarray, np.ndarray]:
    """Return τ (runs,), documented months and whether the new variant was seen (runs, count)."""
    rng = np.random.default_rng((seed, count))
    taus = rng.uniform(*setting.within, runs)
    built = rng.uniform(0, MONTHS, (runs, count))
    new = built + rng.normal(0, setting.scale, built.shape) > taus[:, None]
    new ^= rng.random(built.shape) < setting.misread
    told = built + rng.normal(0, setting.doubt, built.shape)
    elsewhere = rng.uniform(0, MONTHS, built.shape)
    told = np.where(rng.random(built.shape) < setting.misdated, elsewhere, told)
    return taus, np.clip(np.floor(told), 0, MONTHS - 1).astype(int), new


def counted(months: np.ndarray, new: np.ndarray) -> tuple[Bins, Floats, Floats]:
    """Return bins of all runs together, and old and new by run and bin."""
    examples = [Example("", int(m), int(m), 4.0, {}) for m in months.ravel()]
    bins = bins_of(examples, 0, parts=1)
    runs = np.repeat(np.arange(len(months)), months.shape[1])
    counts = np.zeros((2, len(months), len(bins.at)))
    np.add.at(counts, (new.ravel().astype(int), runs, bins.of_row), 1.0)
    return bins, counts[0], counts[1]


def drawn_by_prior(count: int, runs: int, *, seed: int) -> tuple[Floats, np.ndarray, np.ndarray]:
    """Return τ, months and sightings, each run's τ, s and ε drawn as the learning itself holds them.

    Over such runs the ranges of a right posterior hold exactly what they say (Talts et al. 2018,
    "Validating Bayesian inference algorithms with simulation-based calibration").
    """
    rng = np.random.default_rng((seed, count))
    lapses = np.array(LEARNING.lapses)
    a, b = LEARNING.lapse_beta
    prior = lapses ** (a - 1) * (1 - lapses) ** (b - 1)
    whole = rng.integers(-LEARNING.beyond, MONTHS + 1 + LEARNING.beyond, runs)
    scale = rng.choice(LEARNING.scales, runs)[:, None]
    lapse = rng.choice(lapses, runs, p=prior / prior.sum())[:, None]
    months = rng.integers(0, MONTHS, (runs, count))
    done = phi((months + 0.5 - whole[:, None]) / np.hypot(scale, 4.0))
    new = rng.random(months.shape) < lapse + (1 - 2 * lapse) * done
    return whole + rng.uniform(-0.5, 0.5, runs), months, new


def calibration(count: int, runs: int, *, seed: int = 1) -> float:
    """Return the share of τ that 90 % ranges hold where all is as the learning takes it to be."""
    taus, months, new = drawn_by_prior(count, runs, seed=seed)
    low, _, high = _ranges(months, new)
    return float(((low <= taus) & (taus <= high)).mean())


def _ranges(months: np.ndarray, new: np.ndarray) -> Floats:
    """Return 5, 50 and 95 % of each run, (3, runs)."""
    bins, old, later = counted(months, new)
    found = posterior(bins, grid_of(bins, MONTHS), old=old, new=later, months=MONTHS)
    return quantiles(found, (0.05, 0.5, 0.95)).T


def result(setting: Setting, count: int, runs: int, *, seed: int = 1) -> Result:
    """Return how the 90 % ranges did."""
    taus, months, new = drawn(setting, count, runs, seed=seed)
    low, middle, high = _ranges(months, new)
    return Result(
        runs,
        float(((low <= taus) & (taus <= high)).mean()),
        float((middle - taus).mean()),
        float(np.abs(middle - taus).mean()),
        float(np.median(high - low)),
    )
