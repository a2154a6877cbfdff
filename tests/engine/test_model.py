"""What was fitted when: the tables of a compiled reference."""

import numpy as np
import pytest
from scipy import stats

from quickcheck.engine import compile_model
from quickcheck.engine.model import densities, width
from quickcheck.reference import Kind
from tests.engine.small import COVERS, change_over, month, point, reference, sets, variant

Z90 = stats.norm.ppf(0.95)


def test_edges_are_normal_change_overs() -> None:
    """An edge is Φ of months since its middle, 90 % of it within ± give (scipy.stats.norm)."""
    made = reference(point("knobs", variant("old", None, "1954-06", give=6), other=0.0))
    model = compile_model(made)
    t = np.arange(COVERS[0], COVERS[1] + 1)
    fitted = stats.norm.cdf((month("1954-06") + 1 - t - 0.5) / (6 / Z90))
    expected = fitted / np.maximum(fitted, 0.5)
    np.testing.assert_allclose(model.made[0], expected, atol=1e-9)
    np.testing.assert_allclose(model.made[1], 1 - expected, atol=1e-9)


def test_give_of_nothing_is_a_step() -> None:
    """With no give the change-over falls between two months."""
    first = variant("old", None, "1954-06", give=0)
    second = variant("new", "1954-07", None, give=0)
    model = compile_model(reference(point("knobs", first, second, other=0.02)))
    at = month("1954-06") - COVERS[0]
    assert model.made[0, at : at + 2].tolist() == [0.98, 0.0]
    assert model.made[1, at : at + 2].tolist() == [0.0, 0.98]


def test_gap_between_variants_is_none_of_these() -> None:
    """Where nothing was fitted, "other" takes all; a gap is not shared out among neighbours."""
    first, second = variant("old", None, "1952-12"), variant("new", "1957-01", None)
    model = compile_model(reference(point("knobs", first, second)))
    assert model.made[2, month("1955-01") - COVERS[0]] == 1.0


def test_shares_divide_the_output() -> None:
    """Two variants at once share as their shares say, "other" apart."""
    many, few = variant("indigo", share=0.6), variant("weld", share=0.2)
    model = compile_model(reference(point("colour", many, few, other=0.1)))
    assert model.made[:, 0].tolist() == pytest.approx([0.675, 0.225, 0.1])


def test_knots_are_linear_between_and_constant_outside() -> None:
    """A table of shares is read at mid-month (numpy.interp); its largest knot is its share."""
    knots = ((month("1952-01"), 0.2), (month("1954-01"), 0.8))
    rising = variant("new", knots=knots)
    steady = variant("old", share=0.2)
    model = compile_model(reference(point("knobs", rising, steady, other=0.0)))
    at = [month(m) - COVERS[0] for m in ("1950-01", "1953-01", "1958-01")]
    expected = [0.2 / 0.4, 0.5 / 0.7, 0.8 / 1.0]
    np.testing.assert_allclose(model.made[0, at], expected, atol=1e-9)


def test_columns_add_up_to_one_after_rounding() -> None:
    """Variants and "other" share out every month, and no chance is below 0."""
    points = [change_over(f"p{i}", f"195{i}-03", other=0.0) for i in range(1, 9)]
    model = compile_model(reference(*points))
    for rows in model.rows.values():
        of_point = model.made[rows.start : rows.stop]
        np.testing.assert_allclose(of_point.sum(axis=0), 1, atol=3e-9)
        assert (of_point >= 0).all()


def test_replacements_come_from_later_production() -> None:
    """Q is 0.9 × the plain mean of U over later months and 0.1 spread evenly."""
    model = compile_model(reference(change_over("knobs", "1955-01")))
    made, changed = model.made, model.changed
    for t in (0, 59, 60, 118):
        np.testing.assert_allclose(
            changed[:, t], 0.9 * made[:, t + 1 :].mean(axis=1) + 0.1 / 3, rtol=1e-12
        )
    np.testing.assert_allclose(changed[:, -1], 0.9 * made[:, -1] + 0.1 / 3, rtol=1e-12)


@pytest.mark.parametrize(
    ("weights", "other", "expected"),
    [
        ((3.0, 1.0), None, [3 / 4.4, 1 / 4.4, 0.4 / 4.4]),
        ((3.0, None), 1.0, [0.75, 0.0, 0.25]),
    ],
)
def test_weights_among_replaced_parts_stand_in_place_of_the_rule(
    weights: tuple[float, float | None], other: float | None, expected: list[float]
) -> None:
    """`if_changed` weights are normalised; "other" has a tenth of their sum unless it is given."""
    first = variant("old", None, "1954-12", if_changed=weights[0])
    second = variant("new", "1955-01", None, if_changed=weights[1])
    model = compile_model(reference(point("knobs", first, second, other_if_changed=other)))
    assert model.changed[:, 7].tolist() == pytest.approx(expected)


def test_covers_of_one_month_leave_nothing_later() -> None:
    """A reference of one month compares replacements with that month itself."""
    one = (COVERS[0], COVERS[0])
    model = compile_model(reference(point("knobs", variant("old")), covers=one))
    np.testing.assert_allclose(model.changed[:, 0], [0.9 * 0.98 + 0.05, 0.9 * 0.02 + 0.05])


def test_output_by_year_and_month() -> None:
    """A year is spread over its months, a month overrides, the rest gets a tenth of the mean."""
    made = reference(output={"1950": 1200.0, "1951-03": 40.0, "1950-02": 10.0, "1970": 9.0})
    weights = compile_model(made).weights
    known = [100.0, 10.0, *[100.0] * 10, 40.0]
    rest = 0.1 * sum(known) / 13
    total = sum(known) + 107 * rest
    assert weights[0] == pytest.approx(100 / total, abs=1e-9)
    assert weights[1] == pytest.approx(10 / total, abs=1e-9)
    assert weights[14] == pytest.approx(40 / total, abs=1e-9)
    assert weights[119] == pytest.approx(rest / total, abs=1e-9)


@pytest.mark.parametrize("output", [{}, {"1970": 100.0}])
def test_output_is_flat_where_no_figure_helps(output: dict[str, float]) -> None:
    """Without a figure for a covered month, all months weigh alike."""
    weights = compile_model(reference(output=output)).weights
    assert set(weights.tolist()) == {round(1 / 120, 9)}


def test_rounding_takes_no_month_away() -> None:
    """A month of very small output keeps the smallest weight that nine decimals can hold."""
    weights = compile_model(reference(output={"1950": 1e12, "1951-01": 1e-3})).weights
    assert weights[12] == 1e-9


def test_expect_gives_the_shares_of_a_window() -> None:
    """The mean of U over a window, by output."""
    first = variant("old", None, "1954-12", give=0)
    second = variant("new", "1955-01", None, give=0)
    knobs = point("knobs", first, second)
    model = compile_model(reference(knobs, output={"1954": 1, "1955": 3}))
    shares = model.expect((month("1954-01"), month("1955-12")))["knobs"]
    assert shares["old"] == pytest.approx(0.25 * 0.98, rel=1e-6)
    assert sum(shares.values()) == pytest.approx(1)


def test_models_are_kept_by_content() -> None:
    """The same content gives the same model, other content another one."""
    first, same = (reference(change_over("knobs", "1955-01")) for _ in range(2))
    other = reference(change_over("knobs", "1955-02"))
    assert compile_model(first) is compile_model(same)
    assert compile_model(first) is not compile_model(other)


def test_tables_cannot_be_written_to() -> None:
    """Models are shared, so their arrays are read-only."""
    model = compile_model(reference(change_over("knobs", "1955-01")))
    with pytest.raises(ValueError, match="read-only"):
        model.weights[0] = 1


def test_measured_values_are_normal_with_the_gauge_in_it() -> None:
    """Spread and tolerance add up in squares (scipy.stats.norm)."""
    club = variant("club", mean=0.94, spread=0.02)
    depth = point("depth", club, kind=Kind.MEASURE, unit="in", span=(0.7, 1.1), tolerance=0.006)
    expected = stats.norm.pdf(0.93, 0.94, np.sqrt(0.02**2 + 0.006**2))
    rows = compile_model(reference(depth)).rows["depth"]
    assert densities(rows, 0.93) == pytest.approx([expected], rel=1e-12)
    assert width(depth) == pytest.approx(0.4)


def test_groups_are_sets_codes_or_the_point_itself() -> None:
    """A point stands in its set, date codes stand together, everything else by itself."""
    made = reference(
        change_over("screws", "1955-01", changed_with="hardware", changed=0.02),
        change_over("knobs", "1955-01", changed=0.2),
        point("pot", kind=Kind.DATECODE, scheme="year-week", changed=0.02),
        sets=sets(hardware=0.3, codes=0.05),
    )
    standing = compile_model(made).standing
    assert [(s.group, s.together, s.lasting) for s in standing.values()] == [
        ("hardware", 0.3, False),
        ("point:knobs", 0.0, False),
        ("codes", 0.05, True),
    ]
