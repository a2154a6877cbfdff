"""Shares side by side, measures, rates, and how they are put into a reference's form."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from quickcheck.engine import check_answer, compile_model
from quickcheck.learn import Example, Learned, Method, Points, Training, learn
from quickcheck.learn.bins import bins_of
from quickcheck.learn.drift import Sums, line, smooth, student_90, variants_of
from quickcheck.learn.overlap import kernels_of, smoothed
from quickcheck.learn.wording import knots_of
from quickcheck.readings import parse_month
from quickcheck.reference import Reference

BEGINS, MONTHS = parse_month("1950-01"), 120
DEPTH = {"unit": "in", "span": [0.7, 1.1], "tolerance": 0.006}


def pick(name: str, *variants: str, **more: Any) -> dict[str, Any]:
    seen = [{"id": one, "label": one.capitalize()} for one in variants]
    return {"id": name, "area": "hardware", "kind": "pick", "seen": seen, **more}


def points(*given_points: dict[str, Any], **more: Any) -> Points:
    tree = {
        "format": 1,
        "id": "small",
        "title": "Small (invented)",
        "covers": ["1950-01", "1959-12"],
        "edition": "1",
        "author": "Nobody",
        "licence": "CC0-1.0",
        "about": "Invented.",
        "source": {"papers": {"title": "Papers (invented)", "kind": "document"}},
        "point": [point | {"source": ["papers"]} for point in given_points],
    }
    return Points.of(tree | more, name="small", pictures={})


def example(made: Points, at: int, answers: dict[str, Any], *, doubt: float = 2.0) -> Example:
    by_id = made.reference.by_id
    checked = {name: check_answer(by_id[name], answer) for name, answer in answers.items()}
    return Example(f"{at} {len(answers)}", BEGINS + at, BEGINS + at, doubt, checked)


def taught(made: Points, examples: list[Example]) -> tuple[Learned, Training, Reference]:
    learned, training = learn(made, examples)
    return learned, training, made.taught(training, rows=len(examples), kappa=learned.kappa)


def test_a_clean_change_is_written_as_edges() -> None:
    """Twenty examples on either side of June 1955: from, to and a small give, near that month."""
    made = points(pick("screws", "slot", "cross"))
    examples = [
        example(made, at, {"screws": {"seen": "slot" if at < 65 else "cross"}}, doubt=1)
        for at in range(45, 85)
    ]
    learned, _, reference = taught(made, examples)
    slot, cross = reference.by_id["screws"].seen
    assert learned.points[0].method is Method.SUCCESSION
    assert slot.last is not None
    assert cross.first == slot.last + 1
    assert abs(cross.first - (BEGINS + 65)) <= 1
    assert slot.give == cross.give < 6
    (change,) = learned.points[0].change_overs
    assert change.low <= BEGINS + 65 <= change.high
    assert (change.before, change.after) == (20, 20)


def test_what_comes_back_is_told_by_shares() -> None:
    """A variant that stops and returns is no succession: its shares fall and rise again."""
    made = points(pick("knobs", "wood", "black"))
    examples = [
        example(made, at, {"knobs": {"seen": "black" if 40 <= at < 80 else "wood"}})
        for at in range(0, 120, 2)
    ]
    learned, _, reference = taught(made, examples)
    assert learned.points[0].method is Method.OVERLAP
    shares = compile_model(reference).made[1]
    assert shares[60] > 0.8
    assert max(shares[10], shares[110]) < 0.2


def test_the_written_table_is_the_learned_one() -> None:
    """Edges or knots, the engine's U is what was learned, to what the form may be off."""
    made = points(pick("nut", "brass", "bone", "moulded", other=0.01))
    rng = np.random.default_rng(1)
    names = np.array(["brass", "bone", "moulded"])
    examples = [
        example(made, at, {"nut": {"seen": str(names[int(at > 30) + int(at > 90)])}})
        for at in rng.integers(0, 120, 50).tolist()
    ]
    _, training, reference = taught(made, examples)
    table = np.array(training.points[0].table)
    listed = compile_model(reference).made[:3] / (1 - reference.by_id["nut"].other)
    assert np.abs(listed - table).max() < 0.07
    assert np.abs(listed - table).sum(axis=1).max() < 3


def test_leaving_out_of_shares_is_exact() -> None:
    """The score of shares is the sum of what all others say of each row, one by one."""
    at = [3, 4, 4, 10, 11, 30]
    shown = [0, 0, 1, 1, 1, 0]
    bins = bins_of([Example("", m, m, 0.0, {}) for m in at], 0, parts=1)
    counts = np.zeros((len(bins.at), 2))
    np.add.at(counts, (bins.of_row, np.array(shown)), 1.0)
    found = smoothed(kernels_of(bins, 40), counts)
    best = -np.inf
    for band in (0.7, 1.5, 3, 6, 12, 24, 48):
        for strength in (0.5, 2, 8):
            total = 0.0
            for i, (month, variant) in enumerate(zip(at, shown, strict=True)):
                rest = [j for j in range(len(at)) if j != i]
                near = {j: np.exp(-0.5 * ((month - at[j]) / band) ** 2) for j in rest}
                own = sum(near[j] for j in rest if shown[j] == variant)
                overall = (sum(shown[j] == variant for j in rest) + 0.5) / (len(rest) + 1)
                total += np.log((own + strength * overall) / (sum(near.values()) + strength))
            best = max(best, total)
    assert found.score == pytest.approx(best, abs=1e-9)
    assert found.table.sum(axis=0) == pytest.approx(np.ones(40))


@given(st.lists(st.floats(0.001, 1), min_size=2, max_size=80))
def test_knots_stay_near(values: list[float]) -> None:
    """Lines between knots are within 0.01, or a tenth of the value, of what they stand for."""
    shares = np.array(values)
    knots = knots_of(shares, begins=BEGINS)["shares"]
    months = [parse_month(month) - BEGINS for month, _ in knots]
    assert months == sorted(set(months))
    line_of = np.interp(np.arange(len(shares)), months, [share for _, share in knots])
    assert (np.abs(line_of - shares) <= 0.0102).all()


@pytest.mark.parametrize("freedom", [1, 2, 3, 5.5, 30, 400])
def test_student(freedom: float) -> None:
    """The 95 % point of Student's t is scipy's."""
    assert student_90(freedom) == pytest.approx(stats.t.ppf(0.95, freedom), rel=1e-6)


def _sums(at: np.ndarray, values: np.ndarray) -> tuple[Any, Sums]:
    bins = bins_of([Example("", int(m), int(m), 0.0, {}) for m in at], 0, parts=1)
    sums = np.zeros((3, len(bins.at)))
    for row, value in enumerate(values.tolist()):
        sums[:, bins.of_row[row]] += (1, value, value * value)
    return bins, Sums(*sums)


@pytest.mark.parametrize("count", [5, 10, 20])
def test_a_line_holds_what_it_says(count: int) -> None:
    """90 % predictive ranges of a drift hold 86–96 % of new values, by 300 draws of a line."""
    rng = np.random.default_rng(count)
    held = 0
    for _ in range(300):
        at = rng.integers(0, MONTHS, count)
        bins, sums = _sums(at, 0.95 - 0.001 * at + rng.normal(0, 0.02, count))
        drift = line(bins, sums, months=MONTHS, width=0.4)
        month = int(rng.integers(0, MONTHS))
        off = 0.95 - 0.001 * month + rng.normal(0, 0.02) - drift.mean[month]
        held += abs(off) < 1.645 * drift.deviation[month]
    assert 0.86 <= held / 300 <= 0.97


def test_smoothing_follows_a_jump() -> None:
    """From 30 rows a jump in a measure is followed: both sides keep their own means."""
    rng = np.random.default_rng(2)
    at = rng.integers(0, MONTHS, 200)
    bins, sums = _sums(at, np.where(at < 60, 0.95, 0.85) + rng.normal(0, 0.01, 200))
    drift = smooth(bins, sums, months=MONTHS, width=0.4)
    assert np.abs(drift.mean[5:55] - 0.95).mean() < 0.008
    assert np.abs(drift.mean[65:115] - 0.85).mean() < 0.008


def test_a_measure_is_written_as_its_drift() -> None:
    """The mean of the mixture that a file says is the drift's, and there are at most 30 variants."""
    made = points({"id": "depth", "area": "neck", "kind": "measure", **DEPTH})
    rng = np.random.default_rng(5)
    examples = [
        example(made, at, {"depth": {"value": 0.98 - 0.0015 * at + rng.normal(0, 0.01)}})
        for at in rng.integers(0, 120, 25).tolist()
    ]
    learned, training, reference = taught(made, examples)
    assert learned.points[0].method is Method.LINE
    model = compile_model(reference)
    rows = model.rows["depth"]
    mixture = np.array([mean for mean, _ in rows.normals]) @ model.made[:-1] / 0.98
    assert len(rows.normals) <= 30
    assert mixture == pytest.approx(np.array(training.points[0].table[0]), abs=0.003)


def test_a_measure_that_stands_still_has_one_variant() -> None:
    """Without a drift there is one variant, fitted in all months."""
    made = points({"id": "depth", "area": "neck", "kind": "measure", **DEPTH})
    drift = line(*_sums(np.arange(0, 120, 6), np.full(20, 0.9)), months=MONTHS, width=0.4)
    flat = variants_of(made.reference.by_id["depth"], drift, begins=BEGINS)
    assert len(flat) == 1
    assert "shares" not in next(iter(flat.values()))


def test_rates_by_hand() -> None:
    """(20·0.05 + 3)/(20 + 10) for three of ten changed; changed parts teach no dates."""
    made = points(pick("nut", "brass", "bone"))
    examples = [
        example(made, at, {"nut": {"seen": "brass"} | ({"state": "changed"} if at < 3 else {})})
        for at in range(10)
    ]
    learned, _, reference = taught(made, examples)
    rate = learned.points[0].changed
    assert rate is not None
    assert (rate.counted, rate.of) == (3, 10)
    assert reference.by_id["nut"].changed == pytest.approx(4 / 30, abs=1e-4)
    assert learned.points[0].counts == {"brass": 7, "bone": 0, "other": 0}


def test_no_word_about_change_leaves_the_rate() -> None:
    """Where no row says anything about change, the rate of the points file stands."""
    made = points(pick("nut", "brass", "bone", changed=0.3))
    examples = [example(made, at, {"nut": {"seen": "brass"}}) for at in range(10)]
    learned, _, reference = taught(made, examples)
    assert learned.points[0].changed is None
    assert reference.by_id["nut"].changed == 0.3


def test_a_set_changed_in_one_go_counts_for_the_set() -> None:
    """Both screws changed: the set's rate rises, the rates of each by itself fall."""
    both = ("cover", "plate")
    made = points(
        *(pick(name, "slot", "cross", changed=0.1, changed_with="screws") for name in both),
        set={"screws": {"changed": 0.1}},
    )
    looks = [{"seen": "slot", "state": "changed"}] * 4 + [{"seen": "slot", "state": "no-sign"}] * 6
    examples = [example(made, at, dict.fromkeys(both, look)) for at, look in enumerate(looks)]
    learned, _, reference = taught(made, examples)
    assert (learned.sets["screws"].counted, learned.sets["screws"].of) == (4, 10)
    assert reference.sets["screws"].changed == pytest.approx(6 / 30)
    assert reference.by_id["cover"].changed == pytest.approx(2 / 26, abs=1e-4)


def test_what_nobody_listed_is_counted() -> None:
    """Two "other" in ten: (20·0.02 + 2)/30."""
    made = points(pick("nut", "brass", "bone"))
    shown = ["other"] * 2 + ["brass"] * 8
    examples = [example(made, at, {"nut": {"seen": s}}) for at, s in enumerate(shown)]
    _, _, reference = taught(made, examples)
    assert reference.by_id["nut"].other == pytest.approx(2.4 / 30)


def test_serials_are_learned_by_their_blocks() -> None:
    """A serial counts for the block that holds its number; one in no block is "other"."""
    blocks = [{"id": "a", "first": 1, "last": 99}, {"id": "b", "first": 100, "last": 199}]
    serial = {"id": "serial", "area": "serial", "kind": "serial", "pattern": "[0-9]+"}
    made = points(serial | {"seen": blocks})
    examples = [
        example(made, 20 + 4 * at, {"serial": {"read": text}})
        for at, text in enumerate(["7", "64", "90", "130", "171", "199", "500"])
    ]
    learned, _, _ = taught(made, examples)
    assert learned.points[0].counts == {"a": 3, "b": 3, "other": 1}


def test_what_no_example_shows_is_kept_and_told() -> None:
    """A point without examples keeps its dates; a variant without one is told."""
    dated = pick("strap", "peg", "steel")
    dated["seen"][0]["to"] = "1954-12"
    dated["seen"][1]["from"] = "1955-01"
    made = points(dated, pick("nut", "brass", "bone", "moulded"))
    examples = [
        example(made, at, {"nut": {"seen": "brass" if at < 60 else "moulded"}})
        for at in range(30, 90, 3)
    ]
    learned, _, reference = taught(made, examples)
    strap, nut = learned.points
    assert strap.method is Method.KEPT
    assert reference.by_id["strap"].seen[0].last == parse_month("1954-12")
    assert 'no example shows "bone"' in nut.remarks
    assert compile_model(reference).expect((BEGINS, BEGINS))["nut"]["bone"] < 0.01


def test_an_order_that_the_months_contradict_is_told() -> None:
    """Variants in the wrong order: the report says in which order they would stand."""
    made = points(pick("nut", "late", "early"))
    examples = [
        example(made, at, {"nut": {"seen": "early" if at < 60 else "late"}})
        for at in range(0, 120, 4)
    ]
    learned, _, _ = taught(made, examples)
    assert learned.points[0].method is Method.OVERLAP
    assert any("the order early, late" in remark for remark in learned.points[0].remarks)


def test_the_order_of_rows_says_nothing() -> None:
    """The same examples in another order teach the same."""
    made = points(pick("screws", "slot", "cross"))
    rows = [
        example(made, 5 * at, {"screws": {"seen": "slot" if at < 11 else "cross"}})
        for at in range(24)
    ]
    order = np.random.default_rng(4).permutation(24).tolist()
    assert learn(made, [rows[i] for i in order])[0].points == learn(made, rows)[0].points
