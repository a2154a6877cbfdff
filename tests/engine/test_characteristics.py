"""How often the engine is right on instruments drawn by chance, within generous bounds.

A small edition of `tests/bench/characteristics_bench.py`. Each bound is what is aimed at, plus or
minus three standard errors of a share on so few instruments, so that chance alone hardly ever fails
it. The seed is fixed; another seed would pass as well.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from quickcheck import paths
from quickcheck.reference import Reference, read_reference
from tests.engine import characteristics as shares
from tests.engine.simulate import MARRIED, Outcome, outcomes

POPLIN = paths.DEMO / "references" / "hobbinsley-poplin"
COUNT = 400


def slack(aim: float, independent: int) -> float:
    """Return three standard errors of a share."""
    return 3 * math.sqrt(aim * (1 - aim) / independent)


@pytest.fixture(scope="module")
def poplin() -> Reference:
    return read_reference(POPLIN)


@pytest.fixture(scope="module")
def judged(poplin: Reference) -> Sequence[Outcome]:
    """Instruments as the engine assumes them, three in a hundred with another one's neck."""
    return outcomes(poplin, MARRIED, count=COUNT, seed=11)


def test_a_true_claim_is_hardly_ever_called_wrong(judged: Sequence[Outcome]) -> None:
    """Of true claims at most 1 % "does not agree": standard error 0.5 %, so up to 2.5 %."""
    assert shares.caught(judged, shares.genuine, ("disagrees",)).value <= 0.01 + slack(0.01, COUNT)


def test_a_true_claim_is_seldom_doubted(judged: Sequence[Outcome]) -> None:
    """Of true claims, marriages among them, at most 8 % "in doubt": error 1.4 %, so up to 12 %."""
    assert shares.caught(judged, shares.genuine, ("in-doubt",)).value <= 0.08 + slack(0.08, COUNT)


def test_a_true_claim_of_a_year_is_no_worse_off(judged: Sequence[Outcome]) -> None:
    """A true claim of twelve months keeps to the bounds of one of six."""
    wide = shares.genuine_wide
    assert shares.caught(judged, wide, ("disagrees",)).value <= 0.01 + slack(0.01, COUNT)
    assert shares.caught(judged, wide, ("in-doubt",)).value <= 0.08 + slack(0.08, COUNT)


def test_two_years_off_is_caught(judged: Sequence[Outcome]) -> None:
    """Of claims two years off 90 % are doubted or denied: error 1.5 %, so at least 85.5 %.

    The two claims on one instrument hang together, so they count as one.
    """
    assert shares.caught(judged, shares.two_years_off).value >= 0.9 - slack(0.9, COUNT)


def test_flagged_parts_were_changed(judged: Sequence[Outcome]) -> None:
    """Of the flagged parts 80 % were truly changed: error 2 % by instrument, so at least 74 %."""
    assert shares.flagged_changed(judged).value >= 0.8 - slack(0.8, COUNT)


def test_a_flag_says_what_it_is_worth(judged: Sequence[Outcome]) -> None:
    """How likely a change is said to be of flagged parts is how often it is true, and slack."""
    said = sum(o.said for o in judged) / sum(len(o.flagged) for o in judged)
    assert shares.flagged_changed(judged).value == pytest.approx(said, abs=slack(0.8, COUNT))


def test_most_changes_that_show_are_flagged(judged: Sequence[Outcome]) -> None:
    """Of parts changed into what was not fitted then, more than six in ten are flagged."""
    assert shares.gone_flagged(judged).value > 0.6


def test_the_interval_holds_the_true_month(judged: Sequence[Outcome]) -> None:
    """Nine in ten intervals, less three errors of 1.5 %, hold the true month."""
    assert shares.covered(judged).value >= 0.9 - slack(0.9, COUNT)


@pytest.mark.parametrize("tail", [0.01, 0.05, 0.2])
def test_no_more_is_found_than_the_tail_says(judged: Sequence[Outcome], tail: float) -> None:
    """So many finds that one in n should have them are met on no more than one in n, and slack."""
    own_neck = [outcome for outcome in judged if not outcome.married]
    assert shares.rare(own_neck, tail).value <= tail + slack(tail, len(own_neck))


def test_parts_fitted_at_other_times_are_noticed(poplin: Reference) -> None:
    """These bounds can fail: where change-overs were years from where the file has them."""
    wrong = replace(MARRIED, name="wrong file", shift=24.0)
    drawn = outcomes(poplin, wrong, count=COUNT // 5, seed=13)
    assert shares.covered(drawn).value < 0.9 - slack(0.9, COUNT // 5)
    assert shares.caught(drawn, shares.genuine).value > 0.09 + slack(0.09, COUNT // 5)
