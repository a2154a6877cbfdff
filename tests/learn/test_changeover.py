"""The posterior of a change-over: against plain loops, other libraries, and what it promises."""

from itertools import product
from math import sqrt

import numpy as np
import pytest
from scipy import stats
from sklearn.isotonic import IsotonicRegression
from statsmodels.discrete.discrete_model import Probit

from quickcheck.learn import Example
from quickcheck.learn.bins import Bins, Floats, bins_of, phi
from quickcheck.learn.changeover import Posterior, grid_of, posterior, quantiles
from quickcheck.learn.constants import LEARNING
from tests.learn.changepoints import ANYWHERE, PUBLISHED, SIZES, SOFT, Setting, calibration, result

SHORT = 24
ROWS = ((3, 4.0, 0), (9, 0.0, 0), (11, 4.0, 1), (11, 4.0, 0), (20, 2.0, 1))  # month, doubt, new


def found(rows: tuple[tuple[int, float, int], ...], months: int = SHORT) -> tuple[Bins, Posterior]:
    examples = [Example("", month, month, doubt, {}) for month, doubt, _ in rows]
    bins = bins_of(examples, 0, parts=1)
    counts = np.zeros((2, 1, len(bins.at)))
    for row, (_, _, new) in enumerate(rows):
        counts[new, 0, bins.of_row[row]] += 1
    made = posterior(bins, grid_of(bins, months), old=counts[0], new=counts[1], months=months)
    return bins, made


def by_loops(
    rows: tuple[tuple[int, float, int], ...], months: int = SHORT
) -> dict[tuple[float, float, float], float]:
    """Return the weight of every (τ, s, ε), from the formula and nothing else."""
    weights = {}
    taus = range(-12, months + 13)
    for tau, s, lapse in product(taus, (0.5, 1, 2, 4, 8, 16, 32), (0.005, 0.02, 0.05, 0.1, 0.2)):
        weight = (1 - lapse) ** 8
        for month, doubt, new in rows:
            done = stats.norm.cdf((month + 0.5 - tau) / sqrt(s * s + doubt * doubt))
            chance = lapse + (1 - 2 * lapse) * done
            weight *= chance if new else 1 - chance
        weights[tau, s, lapse] = weight
    whole = sum(weights.values())
    return {cell: weight / whole for cell, weight in weights.items()}


def test_phi() -> None:
    """Φ is that of scipy to 3e-8, in the tails as well."""
    x = np.linspace(-12, 12, 4001)
    assert np.abs(phi(x) - stats.norm.cdf(x)).max() < 3.1e-8


def test_against_plain_loops() -> None:
    """Marginal of τ, mean of ε and the mean share of the new variant are those of the formula."""
    _, made = found(ROWS)
    plain = by_loops(ROWS)
    for at, tau in enumerate(made.taus):
        here = sum(w for (t, _, _), w in plain.items() if t == tau)
        assert made.tau[0, at] == pytest.approx(here, abs=1e-7)
    assert made.lapse[0] == pytest.approx(sum(w * e for (_, _, e), w in plain.items()), abs=1e-7)
    for month in (0, 11, 23):
        share = sum(w * stats.norm.cdf((month + 0.5 - t) / s) for (t, s, _), w in plain.items())
        assert made.new[0, month] == pytest.approx(share, abs=1e-6)


def test_leaving_out_is_exact() -> None:
    """What is said of a row left out is what the others say of it, learned without it."""
    bins, made = found(ROWS)
    for row, (month, doubt, new) in enumerate(ROWS):
        plain = by_loops(ROWS[:row] + ROWS[row + 1 :])
        chance = 0.0
        for (tau, s, lapse), weight in plain.items():
            done = stats.norm.cdf((month + 0.5 - tau) / sqrt(s * s + doubt * doubt))
            chance += weight * (lapse + (1 - 2 * lapse) * done)
        assert made.left_out[new][0, bins.of_row[row]] == pytest.approx(chance, abs=1e-5)


def test_one_example_by_hand() -> None:
    """One sharp example of the new variant: months before and after its own weigh 1 − ε̄ to ε̄.

    s = ½ only matters near; far from the example Φ is 0 or 1, so P is ε or 1 − ε.
    """
    _, made = found(((12, 0.0, 1),))
    lapses = np.array(LEARNING.lapses)
    prior = (1 - lapses) ** 8 / ((1 - lapses) ** 8).sum()
    early, late = made.tau[0, 0], made.tau[0, -1]
    scales = np.array(LEARNING.scales)[:, None]
    first = lapses + (1 - 2 * lapses) * stats.norm.cdf((12.5 + 12) / scales)
    last = lapses + (1 - 2 * lapses) * stats.norm.cdf((12.5 - 36) / scales)
    assert early / late == pytest.approx((first @ prior).sum() / (last @ prior).sum(), rel=1e-6)


def test_quantiles_are_spread_over_a_month() -> None:
    """All weight on one month: 5, 50 and 95 % lie within the half month on either side."""
    tau = np.array([[0.0, 1.0, 0.0]])
    nothing = np.zeros((1, 1))
    made = Posterior(np.array([7.0, 8.0, 9.0]), tau, nothing[0], nothing, (nothing, nothing))
    assert quantiles(made, (0.05, 0.5, 0.95))[0] == pytest.approx([7.55, 8.0, 8.45])


def test_no_examples_say_nothing() -> None:
    """Without an example every month is as good as any other."""
    bins, _ = found(ROWS)
    none = np.zeros((1, len(bins.at)))
    made = posterior(bins, grid_of(bins, SHORT), old=none, new=none, months=SHORT)
    assert np.ptp(made.tau) < 1e-12


@pytest.fixture(name="many", scope="module")
def _many() -> tuple[Floats, Floats, Posterior]:
    """800 instruments without doubt or lapse about an edge at 60.5 of width 8."""
    rng = np.random.default_rng(3)
    months = rng.integers(0, 120, 800)
    new = (months + 0.5 + rng.normal(0, 8, 800) > 60.5).astype(int)
    rows = tuple((int(m), 0.0, int(y)) for m, y in zip(months, new, strict=True))
    return months + 0.5, new.astype(float), found(rows, 120)[1]


def test_against_probit(many: tuple[Floats, Floats, Posterior]) -> None:
    """With many clean examples the posterior is about statsmodels' probit: edge, error and curve.

    The grid's smallest lapse is ½ %, and its s has 8, so both models hold the truth.
    """
    at, new, made = many
    fit = Probit(new, np.stack([np.ones_like(at), at], axis=1)).fit(disp=0)
    cut, slope = fit.params
    edge = -cut / slope
    gradient = np.array([-1 / slope, cut / slope**2])
    error = float(np.sqrt(gradient @ fit.cov_params() @ gradient))
    low, middle, high = quantiles(made, (0.05, 0.5, 0.95))[0]
    assert abs(middle - edge) < 0.5 * error
    assert (high - low) / (2 * 1.645 * error) == pytest.approx(1, abs=0.2)
    curve = stats.norm.cdf((np.arange(120) + 0.5 - edge) * slope)
    assert np.abs(made.new[0] - curve).max() < 0.04


def test_against_isotonic(many: tuple[Floats, Floats, Posterior]) -> None:
    """The mean share is near scikit-learn's isotonic fit, which knows of no curve at all."""
    at, new, made = many
    steps = IsotonicRegression(y_min=0, y_max=1).fit(at, new).predict(np.arange(120) + 0.5)
    assert np.abs(made.new[0] - steps).mean() < 0.03


@pytest.mark.parametrize("setting", [SOFT, ANYWHERE], ids=["middle", "anywhere"])
@pytest.mark.parametrize("count", SIZES)
def test_ranges_hold_what_they_say(setting: Setting, count: int) -> None:
    """90 % ranges hold 88–95 % of true change-overs, errors are those of the published table.

    400 runs: three standard errors of a share of 90 % are 4.5 points.
    """
    made = result(setting, count, 400)
    assert 0.88 - 0.045 <= made.held <= 0.95 + 0.033
    assert made.error <= 1.25 * PUBLISHED[count][1]
    assert made.width == pytest.approx(PUBLISHED[count][2], rel=0.15)


@pytest.mark.parametrize("count", [10, 100])
def test_ranges_are_calibrated(count: int) -> None:
    """Over examples drawn by the learning's own assumptions 90 % ranges hold 90 %.

    1000 runs: three standard errors are 2.9 points.
    """
    assert calibration(count, 1000) == pytest.approx(0.9, abs=0.029)
