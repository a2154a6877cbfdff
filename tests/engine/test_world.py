"""The arithmetic against other people's: exact inference, distributions, published numbers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from quickcheck.engine import compile_model, judge, next_looks, read_sheet
from quickcheck.engine.constants import LAG_TABLE, LAGS
from quickcheck.engine.parts import chances, group_chances, usual_count
from quickcheck.engine.witnesses import find_witnesses, gather
from quickcheck.readings import parse_month
from quickcheck.reference import Access, Kind, Reference
from tests.engine.network import Network
from tests.engine.small import (
    change_over,
    document,
    judged,
    point,
    reference,
    sets,
    variant,
)

TWO_YEARS = (parse_month("1954-01"), parse_month("1955-12"))


def mixed() -> Reference:
    """Every kind of point, a set, date codes; κ = 3 so that nothing is tempered below ten."""
    return reference(
        change_over("knobs", "1954-07", changed=0.15),
        change_over("screws", "1954-11", changed=0.08, changed_with="hardware"),
        change_over("saddles", "1955-04", changed=0.12, changed_with="hardware"),
        change_over("tuners", "1955-06", changed=0.2),
        point(
            "depth",
            variant("club", None, "1954-09", mean=0.94, spread=0.02, give=4),
            variant("round", "1954-10", None, mean=0.88, spread=0.02, give=4),
            kind=Kind.MEASURE,
            unit="in",
            span=(0.7, 1.1),
            tolerance=0.006,
        ),
        point(
            "serial",
            variant("one", None, "1954-06", block=(100, 500)),
            variant("two", "1954-05", "1955-03", block=(400, 900)),
            variant("three", "1955-02", None, block=(901, 1500)),
            kind=Kind.SERIAL,
            pattern="[0-9]{3,4}",
        ),
        point("volume-pot", kind=Kind.DATECODE, scheme="year-week", changed=0.15),
        point("tone-pot", kind=Kind.DATECODE, scheme="year-week", changed=0.1),
        covers=TWO_YEARS,
        kappa=3.0,
        output={"1954": 100.0, "1955": 170.0},
        sets=sets(hardware=0.07),
    )


ANSWERS: list[dict[str, dict[str, object]]] = [
    {
        "knobs": {"seen": "new", "state": "no-sign"},
        "screws": {"seen": "new", "sure": False},
        "saddles": {"seen": "old", "state": "signs"},
        "tuners": {"seen": "new", "state": "changed"},
        "depth": {"value": 0.893},
        "serial": {"read": "450"},
        "volume-pot": {"read": "54-37"},
        "tone-pot": {"read": "54-20", "sure": False},
    },
    {
        "knobs": {"seen": "other"},
        "screws": {"seen": "new"},
        "saddles": {"state": "changed"},
        "depth": {"value": 0.94, "state": "undisturbed"},
        "serial": {"read": "1499"},
        "volume-pot": {"state": "changed"},
        "tone-pot": {"read": "55-30"},
    },
    {"knobs": {"seen": "old"}, "serial": {"read": "9999"}, "volume-pot": {"read": "49-01"}},
]


@pytest.mark.parametrize("answers", ANSWERS)
def test_posterior_is_that_of_exact_inference(answers: dict[str, dict[str, object]]) -> None:
    """Date and every part's change agree with variable elimination (pgmpy) to 1e-9."""
    made = mixed()
    model = compile_model(made)
    sheet = read_sheet(made, document(("1954-08", "1955-01"), answers))
    verdict = judge(model, sheet)
    assert verdict.temper == 1.0
    network = Network(model, sheet)
    np.testing.assert_allclose(verdict.posterior, network.joint("date"), rtol=1e-9)
    inside = slice(7, 13)
    for name, part in verdict.points.items():
        both = network.joint("date", f"changed-{name}")[inside]
        assert part.changed == pytest.approx(both[:, 1].sum() / both.sum(), rel=1e-9)


@pytest.mark.parametrize("answers", [*ANSWERS, {"knobs": {"seen": "old"}}, {}])
def test_groups_alone_are_those_of_the_parts(answers: dict[str, dict[str, object]]) -> None:
    """What the date needs is the same with the parts' chances left out."""
    made = mixed()
    model = compile_model(made)
    sheet = read_sheet(made, document(("1954-08", "1955-01"), answers))
    evidence = gather(model, find_witnesses(model, sheet))
    np.testing.assert_array_equal(group_chances(evidence), chances(evidence).groups)


def test_lags_are_exponential() -> None:
    """The chance of a lag of d whole months is that of scipy.stats.expon between d and d + 1."""
    months = np.arange(200)
    for row, scale in zip(LAG_TABLE, LAGS, strict=True):
        expected = np.diff(stats.expon(scale=scale).cdf(np.arange(201)))
        np.testing.assert_allclose(row[months], expected, atol=1e-15)
    assert (LAG_TABLE[:, -1] == 0).all()


def tail_of(rates: list[float], found: int) -> tuple[float, float]:
    """Return what the engine says of parts that are each found at the given rates."""
    slip = 0.02  # the rates below are those of change alone, turned back from those of finding
    points = []
    for i, rate in enumerate(rates):
        changed = 1 - (1 - rate) / (1 - slip)
        points.append(change_over(f"p{i}", "1955-01", changed=changed, other=0.0))
    made = reference(*points)
    answers = {f"p{i}": {"seen": "new"} for i in range(len(rates))}
    sheet = read_sheet(made, document(("1955-01", "1955-12"), answers))
    return usual_count(find_witnesses(compile_model(made), sheet), found)


def test_tail_against_published_values() -> None:
    """P(X ≥ k) of unequal chances, as published.

    p = .1 .2 .2: README of the library fast-poibin, cdf .576 .928 .996 1.
    p = .948… .052… .258… .057…: SciPy's own test suite (values from R's poisbinom), P(X ≥ 2)
    = .3220808103632374.
    """
    assert [tail_of([0.1, 0.2, 0.2], k)[1] for k in (1, 2, 3)] == pytest.approx(
        [1 - 0.576, 1 - 0.928, 1 - 0.996], abs=1e-12
    )
    rates = [0.9480654803913988, 0.052428488100509374, 0.25863527358887417, 0.057764076043633206]
    usual, tail = tail_of(rates, 2)
    assert tail == pytest.approx(0.3220808103632374, abs=1e-12)
    assert usual == pytest.approx(sum(rates), abs=1e-12)


@given(st.lists(st.floats(0.03, 0.9), min_size=1, max_size=12), st.data())
def test_tail_is_poisson_binomial(rates: list[float], data: st.DataObject) -> None:
    """The tail agrees with scipy.stats.poisson_binom."""
    found = data.draw(st.integers(0, len(rates)))
    expected = stats.poisson_binom.sf(found - 1, rates) if found else 1.0
    assert tail_of(rates, found)[1] == pytest.approx(expected, abs=1e-12)


def test_set_is_found_all_at_once() -> None:
    """With γ a set is found whole: a mixture of "all" and scipy.stats.poisson_binom."""
    points = [change_over(f"p{i}", "1955-01", changed=0.1, changed_with="wire") for i in range(3)]
    made = reference(*points, sets=sets(wire=0.25))
    answers = {f"p{i}": {"seen": "new"} for i in range(3)}
    sheet = read_sheet(made, document(("1955-01", "1955-12"), answers))
    usual, tail = usual_count(find_witnesses(compile_model(made), sheet), 2)
    rate = 0.1 + 0.9 * (1 - 0.98 * 0.98)
    assert usual == pytest.approx(0.25 * 3 + 0.75 * 3 * rate)
    assert tail == pytest.approx(0.25 + 0.75 * stats.poisson_binom.sf(1, [rate] * 3))


def test_bits_are_expected_information() -> None:
    """What a look tells is H(prior) − E[H(posterior)] (scipy.stats.entropy)."""
    made = mixed()
    model, sheet, verdict = judged(
        made,
        ("1954-08", "1955-01"),
        {"screws": {"seen": "new"}, "tuners": {"seen": "old"}},
        access="open",
    )
    posterior = np.array(verdict.posterior)
    inside = np.zeros(24, dtype=bool)
    inside[7:13] = True
    even = np.where(
        inside, posterior / posterior[inside].sum(), posterior / posterior[~inside].sum()
    )
    even /= 2
    looks = {look.point: look for look in next_looks(model, sheet, verdict)}
    assert set(looks) == {"knobs", "saddles", "depth", "serial"}
    for name, look in looks.items():
        at = model.look.points.index(name)
        ends = [*model.look.starts[1:], len(model.look.chances)]
        table = model.look.chances[model.look.starts[at] : ends[at]]
        shown = table @ posterior
        gain = stats.entropy(posterior, base=2) - sum(
            p * stats.entropy(posterior * row / p, base=2)
            for p, row in zip(shown, table, strict=True)
        )
        assert look.date_bits == pytest.approx(gain, rel=1e-9, abs=1e-12)
        answer = table @ even
        split = (table[:, inside] @ even[inside]) / answer
        left = [stats.entropy([x, 1 - x], base=2) for x in split]
        assert look.window_bits == pytest.approx(1 - answer @ left, rel=1e-9, abs=1e-12)


def test_look_tables_are_what_an_answer_would_say() -> None:
    """P(answer | month) is (1−ρ)·O + ρ·B over a point's answers, adding up to 1."""
    made = mixed()
    model = compile_model(made)
    totals = np.add.reduceat(model.look.chances, model.look.starts, axis=0)
    np.testing.assert_allclose(totals, 1, rtol=1e-12)
    at = model.look.points.index("knobs")
    rows = model.rows["knobs"]
    first = 0.98 * model.made[rows.start : rows.stop] + 0.02 / 3
    later = 0.98 * model.changed[rows.start : rows.stop] + 0.02 / 3
    start = model.look.starts[at]
    expected = 0.85 * first + 0.15 * later
    expected /= expected.sum(axis=0)
    np.testing.assert_allclose(model.look.chances[start : start + 3], expected, rtol=1e-12)


def test_bins_of_a_measure_hold_its_density() -> None:
    """A measure's 41 bins have, up to misreading, the mass of scipy.stats.norm at midpoints."""
    depth = point(
        "depth",
        variant("club", mean=0.94, spread=0.03),
        kind=Kind.MEASURE,
        access=Access.LOOK,
        unit="in",
        span=(0.7, 1.1),
        changed=0.1,
        other=0.0,
    )
    model = compile_model(reference(depth))
    middles = 0.7 + (np.arange(41) + 0.5) * 0.4 / 41
    right = stats.norm.pdf(middles, 0.94, 0.03) * 0.4 / 41
    expected = 0.9 * (0.98 * right + 0.02 / 41) + 0.1 / 41
    np.testing.assert_allclose(model.look.chances[:, 5], expected / expected.sum(), rtol=1e-8)


def test_temper_is_kappa_over_the_root_of_what_speaks() -> None:
    """λ = min(1, κ/√F), κ the reference's own where it has learned one."""
    for kappa, expected in ((None, 1.7), (0.9, 0.9)):
        points = [change_over(f"p{i}", f"195{i}-06") for i in range(1, 9)]
        made = reference(*points, kappa=kappa)
        answers = {f"p{i}": {"seen": "new" if i < 5 else "old"} for i in range(1, 9)}
        _, _, verdict = judged(made, ("1954-06", "1955-06"), answers)
        assert verdict.speaking == 8
        assert verdict.temper == pytest.approx(expected / math.sqrt(8))
