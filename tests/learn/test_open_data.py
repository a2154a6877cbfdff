"""Held against open data with known dates: half of the objects teach, the other half are dated.

The whole comparison is `tests/bench/opendata_bench.py`; here are the two tables that are quick.
"""

import pytest

from tests.learn.open_data import rows_of
from tests.learn.scoring import dated, score

TEMPERED = {"cars": 2.78, "aircraft": 2.04}
"""Mean error of a naive Bayes tempered by cross-validation, before this code was written."""


@pytest.mark.parametrize("name", TEMPERED)
def test_dates_by_what_was_learned(name: str) -> None:
    """90 % intervals hold 86–95 % of the true dates, within two standard errors of the half.

    The mean error is at most 1.15 × that of the tempered naive Bayes.
    """
    rows = rows_of(name)
    teaching, tested = rows.halves(1)
    posteriors, kappa = dated(rows, teaching, tested)
    found = score(posteriors, [rows.dates[i] for i in tested])
    error = (0.9 * 0.1 / len(tested)) ** 0.5
    assert 0.86 - 2 * error <= found.coverage[90] <= 0.95 + 2 * error
    assert found.coverage[50] <= found.coverage[80] <= found.coverage[95]
    assert found.error <= 1.15 * TEMPERED[name]
    assert 0.5 <= kappa <= 3
