"""The plain second implementation is itself held against published numbers and hand reckoning."""

import copy
import itertools
import tomllib
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy import constants, stats

from tests.engine import plain_answers, plain_dates, plain_model, plain_parts
from tests.engine import plain_readings as readings
from tests.engine.plain import plain_verdict
from tests.engine.strategies import cases, seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]

quick = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


# --- published numbers -----------------------------------------------------------------------


@pytest.mark.parametrize("x", [-9.0, -1.6448536269514722, -0.3, 0.0, 0.5, 2.0, 7.5])
def test_phi_is_the_normal_distribution(x: float) -> None:
    """Φ agrees with scipy.stats.norm, and 1.6448536269514722 cuts off 5 %."""
    assert plain_model.phi(x) == pytest.approx(stats.norm.cdf(x), rel=1e-12)
    assert plain_model.phi(-plain_model.NINETY) == pytest.approx(0.05, rel=1e-12)


def test_normal_density() -> None:
    """N(x; mean, sd) agrees with scipy.stats.norm.pdf."""
    expected = stats.norm.pdf(0.935, 0.94, 0.0208)
    assert plain_answers.normal(0.935, 0.94, 0.0208) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("s", plain_answers.STOCK)
def test_stock_time_is_exponential(s: int) -> None:
    """The chance that a part of month 0 is used in month 5 is scipy's exponential over [5, 6)."""
    expected = stats.expon.cdf(6, scale=s) - stats.expon.cdf(5, scale=s)
    assert plain_answers._stock_chance([0], 5, s) == pytest.approx(expected, rel=1e-9)


def test_count_of_the_fast_poibin_readme() -> None:
    """The published example .1 .2 .2 gives .576 .352 .068 .004 (README of fast-poibin)."""
    assert plain_parts.counted([0.1, 0.2, 0.2]) == pytest.approx([0.576, 0.352, 0.068, 0.004])


def test_count_of_the_scipy_test_suite() -> None:
    """The reference numbers of SciPy's test suite (made with R's poisbinom) come out to 1e-12."""
    chances = [
        0.9480654803913988,
        0.052428488100509374,
        0.25863527358887417,
        0.057764076043633206,
    ]
    published = [
        0.0343763443678060318,
        0.6435428452689714307,
        0.2936345519235536994,
        0.0277036647503902354,
        0.0007425936892786034,
    ]
    pmf = plain_parts.counted(chances)
    assert pmf == pytest.approx(published, abs=1e-12)
    assert sum(pmf[2:]) == pytest.approx(0.3220808103632374, abs=1e-12)


@given(st.lists(st.integers(1, 99), min_size=1, max_size=9))
@quick
def test_count_is_the_poisson_binomial(percents: list[int]) -> None:
    """Convolution agrees with scipy.stats.poisson_binom on any list of chances."""
    chances = [percent / 100 for percent in percents]
    expected = stats.poisson_binom.pmf(range(len(chances) + 1), chances)
    assert plain_parts.counted(chances) == pytest.approx(list(expected), abs=1e-12)


@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        ("in", "mm", constants.inch * 1000),
        ("lb", "kg", constants.pound),
        ("oz", "g", constants.ounce * 1000),
        ("kohm", "ohm", constants.kilo),
    ],
)
def test_units(unit: str, to: str, factor: float) -> None:
    """Factors are those of scipy.constants, there and back."""
    assert readings.converted(1.0, unit, to) == pytest.approx(factor, rel=1e-14)
    assert readings.converted(factor, to, unit) == pytest.approx(1.0, rel=1e-14)


def months(*texts: str) -> list[int]:
    return [readings.month_number(text) for text in texts]


def test_code_of_the_registrar() -> None:
    """113-9910 is source 113, 7 to 13 March 1999 (the registrar's own example)."""
    found = readings.code_months("source-week", "113-9910", 1999)
    # 1 January 1999 was a Friday: where week 1 holds it, week 10 begins on 28 February
    assert found == months("1999-02", "1999-03")


def test_one_digit_year_has_every_decade() -> None:
    """137 634 is week 34 of 1946, 1956, 1966, 1976 or 1986, as far as one asks."""
    found = readings.code_months("source-week", "137 634", 1986)
    assert sorted({month // 12 for month in found if month // 12 <= 1986}) == [
        1946,
        1956,
        1966,
        1976,
        1986,
    ]
    assert {month % 12 + 1 for month in found} == {8}


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        # 1 January 1950 was a Sunday: week 34 is 20 to 26 August, from Monday 21 to 27 August
        ("50-34", ["1950-08"]),
        # 1951: from 25 March under two rules, from the 26th under one, 1 to 7 April under one
        ("51-13", ["1951-03", "1951-04"]),
        # Sunday 31 December 1950 begins the week that holds 1 January 1951
        ("51-01", ["1950-12", "1951-01"]),
        ("59-31", ["1959-07", "1959-08"]),
    ],
)
def test_weeks_are_the_union_of_the_rules(code: str, expected: list[str]) -> None:
    """A week is every day that any of the four week rules gives it (reckoned with a calendar)."""
    assert readings.code_months("year-week", code, 1960) == months(*expected)


def test_unbroken_digits_have_two_meanings() -> None:
    """Seven digits are 3+2+2 or 4+1+2; both count."""
    both = set(readings.code_months("source-week", "1376634", 1966))
    assert both == set(readings.code_months("source-week", "137-6634", 1966)) | set(
        readings.code_months("source-week", "1376 634", 1966)
    )


@pytest.mark.parametrize("read", ["59-00", "59-54", "59-99", "", "5-31", "x"])
def test_week_out_of_range(read: str) -> None:
    """Week 00, weeks 54 to 99 and texts of another form have no candidate month."""
    with pytest.raises(ValueError, match="no candidate month"):
        readings.code_months("year-week", read, 1960)


# --- whatever the case -----------------------------------------------------------------------


@given(cases())
@quick
def test_posterior_is_a_distribution(case: tuple[Doc, Doc]) -> None:
    """The posterior has a month each, adds up to 1, and its runs hold 90 %."""
    reference, answers = case
    result = plain_verdict(reference, answers)
    first, size = plain_model.covered(reference)
    assert len(result["posterior"]) == size
    assert sum(result["posterior"]) == pytest.approx(1, abs=1e-9)
    held = 0.0
    for a, z in result["reads_as"]:
        held += sum(result["posterior"][t - first] for t in range(*_half_open(a, z)))
    assert held >= 0.9 - 1e-8


def _half_open(a: str, z: str) -> tuple[int, int]:
    return readings.month_number(a), readings.month_number(z) + 1


@given(cases())
@quick
def test_groups_are_what_enumeration_gives(case: tuple[Doc, Doc]) -> None:
    """P_g and the chance of a change are the sums over every way the members can have changed."""
    reference, answers = case
    found, _ = plain_answers.witnesses(reference, answers)
    for group in plain_dates.grouped(reference, found)[:4]:
        if len(group.members) > 5:
            continue
        total, changed = _enumerated(group)
        assert plain_dates.p_group(group, 0) == pytest.approx(total, rel=1e-12)
        for i, weight in enumerate(changed):
            assert plain_parts.part_in(group, i, 0)[0] == pytest.approx(weight / total, rel=1e-9)


def _enumerated(group: plain_dates.Group) -> tuple[float, list[float]]:
    """Weights in month 0: in all, and of the histories in which each member is changed."""
    size = len(group.members)
    total, changed = 0.0, [0.0] * size
    histories = [(1 - group.gamma, fate, False) for fate in itertools.product((0, 1), repeat=size)]
    histories.append((group.gamma, (1,) * size, True))
    for lag in range(group.lags):
        for prior, fate, at_once in histories:
            weight = prior / group.lags
            for w, gone in zip(group.members, fate, strict=True):
                rate = 1.0 if at_once else (w.rho if gone else 1 - w.rho)
                weight *= rate * (w.r * w.chances.b[0] if gone else w.o * w.chances.o[lag][0])
            total += weight
            for i, gone in enumerate(fate):
                changed[i] += weight * gone
    return total, changed


@given(cases())
@quick
def test_not_seen_changes_nothing(case: tuple[Doc, Doc]) -> None:
    """Marking an unanswered point as not seen is no evidence."""
    reference, answers = case
    marked = copy.deepcopy(answers)
    for point in reference["point"]:
        marked["answers"].setdefault(point["id"], {"not_seen": "not-allowed"})
    before, after = plain_verdict(reference, answers), plain_verdict(reference, marked)
    assert after["next"] == [
        look for look in before["next"] if answers["answers"].get(look["point"])
    ]
    assert before | {"next": []} == after | {"next": []}


@given(cases(), st.randoms(use_true_random=False))
@quick
def test_order_of_answers_is_irrelevant(case: tuple[Doc, Doc], dice: Any) -> None:
    """The answers' order in the document changes nothing at all."""
    reference, answers = case
    names = list(answers["answers"])
    dice.shuffle(names)
    shuffled = answers | {"answers": {name: answers["answers"][name] for name in names}}
    assert plain_verdict(reference, shuffled) == plain_verdict(reference, answers)


@given(cases())
@quick
def test_window_as_argument(case: tuple[Doc, Doc]) -> None:
    """A window given beside the answers stands in place of theirs."""
    reference, answers = case
    covers = reference["covers"]
    result = plain_verdict(reference, answers, (covers[0], covers[1]))
    assert (result["window"], result["bayes_factor"], result["ruled_out"]) == (covers, None, 0.0)
    assert [look["window_bits"] for look in result["next"]] == [0.0] * len(result["next"])


def test_seeded_cases_are_the_same_every_time() -> None:
    """Seeds give the same pairs again, and every verdict comes up among a few hundred."""
    assert list(seeded(5)) == list(seeded(5))
    verdicts = {plain_verdict(*case)["verdict"] for case in seeded(200)}
    assert verdicts >= {"too-little-seen", "in-doubt", "disagrees", "agrees-with-changes"}


def test_toml_text_reads_back() -> None:
    """The writer's text parses to the dict that it was made from."""
    for reference, _ in seeded(20):
        assert tomllib.loads(toml_text(reference)) == reference
