"""The verdict: which evidence counts, what is found; `test_rules` has which rule decides."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quickcheck.engine import compile_model, judge, judge_document, read_sheet
from quickcheck.engine.constants import RULES
from quickcheck.engine.dating import runs
from quickcheck.engine.witnesses import find_witnesses, gather
from quickcheck.reference import Assembly, Kind, Reference
from tests.engine.small import (
    answers_of,
    change_over,
    document,
    judged,
    ladder,
    month,
    point,
    reference,
    sets,
    variant,
)

Answers = dict[str, dict[str, object]]

# Which answers speak


def test_case_and_signs_are_no_witnesses() -> None:
    """A case is recorded and a sign bears on others; neither has a say of its own."""
    made = reference(
        change_over("case", "1955-01", assembly=Assembly.CASE),
        point("signs", variant("holes", odds=9.0), kind=Kind.SIGN, bears_on=("case",)),
    )
    answers = {"case": {"seen": "new"}, "signs": {"seen": "holes"}}
    _, _, verdict = judged(made, ("1955-01", "1955-12"), answers)
    assert (verdict.groups, verdict.points) == (0, {})
    assert verdict.verdict == "too-little-seen"


def signed(*seen: str) -> float:
    """Return the chance of a change of a part that signs bear on."""
    made = reference(
        change_over("finish", "1955-01", area="finish", assembly=Assembly.BODY),
        point(
            "signs",
            variant("overspray", odds=20.0),
            variant("drips", odds=2.0),
            kind=Kind.SIGN,
            bears_on=("area:finish",),
            many=True,
        ),
    )
    answers: Answers = {"finish": {"seen": "new"}}
    if seen:
        answers["signs"] = {"seen": list(seen)}
    _, _, verdict = judged(made, ("1958-01", "1958-12"), answers)
    return verdict.points["finish"].changed


def test_signs_multiply_the_odds_of_a_change() -> None:
    """Each variant ticked multiplies the odds of what it bears on; "other" says nothing."""
    plain = signed() / (1 - signed())
    assert signed("other") == signed()
    for seen, odds in ((("drips",), 2.0), (("overspray", "drips"), 40.0)):
        assert signed(*seen) / (1 - signed(*seen)) == pytest.approx(odds * plain, rel=1e-9)


def test_sign_of_the_case_bears_on_nothing() -> None:
    """What is wrong with a case says nothing of the instrument in it."""
    made = reference(
        change_over("knobs", "1955-01"),
        point(
            "stains",
            variant("damp", silent=True),
            kind=Kind.SIGN,
            assembly=Assembly.CASE,
            bears_on=("knobs",),
        ),
    )
    answers = {"knobs": {"seen": "new"}, "stains": {"seen": "damp"}}
    _, _, verdict = judged(made, ("1955-01", "1955-12"), answers)
    assert set(verdict.points) == {"knobs"}


def test_silencing_sign_takes_a_witness_away() -> None:
    """Of a planed board, the depth of the neck says nothing."""
    made = reference(
        change_over("depth", "1955-01", assembly=Assembly.NECK, area="neck"),
        point("planed", variant("yes", silent=True), kind=Kind.SIGN, bears_on=("depth",)),
    )
    answers = {"depth": {"seen": "new"}, "planed": {"seen": "yes"}}
    _, _, verdict = judged(made, ("1955-01", "1955-12"), answers)
    assert verdict.points == {}


def test_disclosure_declares_and_silences() -> None:
    """A planed board silences its markers; changed tuners are declared even if nobody looked."""
    made = reference(
        change_over("tuners", "1955-01", area="tuners"),
        change_over("markers", "1955-01", area="neck", assembly=Assembly.NECK),
    )
    told = ["changed-tuners", "planed-board"]
    answers = {"markers": {"seen": "new"}}
    _, _, verdict = judged(made, ("1955-01", "1955-12"), answers, disclosures=told)
    assert verdict.declared == ("tuners",)
    assert set(verdict.points) == {"tuners"}
    assert verdict.points["tuners"].changed == pytest.approx(1)


def test_change_alone_says_nothing_of_the_date() -> None:
    """Nothing but a change leaves the posterior at the output."""
    made = reference(change_over("knobs", "1955-01"), output={"1950": 1.0, "1951": 2.0})
    model, _, verdict = judged(made, ("1955-01", "1955-12"), {"knobs": {"state": "changed"}})
    np.testing.assert_allclose(verdict.posterior, model.weights / model.weights.sum())
    assert verdict.points["knobs"].changed == pytest.approx(1)
    assert verdict.found == ()


def test_measured_value_outside_every_variant_is_odd() -> None:
    """A value that nothing listed explains does not fit, whenever the instrument was built."""
    depth = point(
        "depth",
        variant("club", mean=0.9, spread=0.01),
        kind=Kind.MEASURE,
        unit="in",
        span=(0.7, 1.1),
        changed=0.001,
    )
    answers = {"depth": {"value": 1.0}}
    _, _, verdict = judged(reference(depth), ("1955-01", "1955-12"), answers)
    assert verdict.odd == ("depth",)
    assert verdict.found == ("depth",)


def test_early_part_is_odd_and_not_flagged() -> None:
    """A part too early can't come from later production, so it does not fit rather than changed."""
    made = ladder(9)
    answers = answers_of(9, built="1958-06") | {"part-1": {"seen": "old"}}
    _, _, verdict = judged(made, ("1958-04", "1958-09"), answers)
    assert verdict.odd == ("part-1",)
    assert verdict.flagged == ()


def test_code_far_before_the_reference_adds_nothing_but_misreading() -> None:
    """A code of another century is a misreading in every month."""
    made = reference(point("pot", kind=Kind.DATECODE, scheme="year-week"), covers=(24000, 24023))
    model = compile_model(made)
    sheet = read_sheet(
        made,
        {
            "reference": "small",
            "window": ["2000-01", "2000-03"],
            "answers": {"pot": {"read": "1001"}},
        },
    )
    witnesses = find_witnesses(model, sheet)
    first = gather(model, witnesses).codes.first
    assert np.isfinite(first).all()


# The date


def test_runs_join_neighbours() -> None:
    """Rising months become runs; a gap begins another."""
    assert runs([3, 4, 5, 9, 11, 12]) == ((3, 5), (9, 9), (11, 12))
    assert runs([]) == ()


def test_window_that_fills_the_reference_has_nothing_to_be_held_against() -> None:
    """No outside: no factor, nothing ruled out, no side to lean to."""
    made = ladder(9)
    answers = answers_of(9, built="1955-06")
    _, _, verdict = judged(made, ("1950-01", "1959-12"), answers)
    assert verdict.bayes_factor is None
    assert verdict.ruled_out == 0
    assert verdict.because == ("whole",)
    assert {part.leaning for part in verdict.points.values()} == {"silent"}
    assert verdict.best_window.window == verdict.window == verdict.equally


def test_leanings_point_to_the_side_that_a_part_speaks_for() -> None:
    """An old part leans earlier, a new one later, one of the window's own time within."""
    span = variant("mid", "1954-10", "1955-12")
    made = reference(
        change_over("early", "1952-01"),
        change_over("late", "1958-01"),
        point("mid", span, variant("rest", "1956-01", None)),
    )
    answers = {"early": {"seen": "old"}, "late": {"seen": "new"}, "mid": {"seen": "mid"}}
    _, _, verdict = judged(made, ("1955-01", "1955-06"), answers)
    leanings = {name: part.leaning for name, part in verdict.points.items()}
    assert leanings == {"early": "earlier", "late": "later", "mid": "within"}


def test_equally_reaches_as_far_as_the_fit_does() -> None:
    """The claim fits as well until a change-over cuts it off on either side."""
    made = ladder(9)
    answers = answers_of(9, built="1955-03")
    _, _, verdict = judged(made, ("1955-02", "1955-04"), answers)
    first, last = verdict.equally
    assert first < month("1955-02") < month("1955-04") < last
    assert last - first < 24


# Whole verdicts


def test_right_claim_agrees() -> None:
    """A claim that holds, with everything seen and nothing changed, agrees."""
    made = ladder(12)
    _, _, verdict = judged(made, ("1955-01", "1955-06"), answers_of(12, built="1955-03"))
    assert (verdict.verdict, verdict.found) == ("agrees", ())
    assert verdict.best_window.flagged == ()


def test_claim_far_off_disagrees() -> None:
    """A claim years off does not agree, and the best window is where it was built."""
    made = ladder(12)
    _, _, verdict = judged(made, ("1951-01", "1951-06"), answers_of(12, built="1958-03"))
    assert verdict.verdict == "disagrees"
    assert abs(verdict.best_window.window[0] - month("1958-01")) <= 6
    assert verdict.best_window.flagged == ()
    assert len(verdict.flagged) > 5


def test_declared_change_is_not_held_against_it() -> None:
    """One later part, declared, leaves nothing found."""
    made = ladder(12)
    answers = answers_of(12, built="1955-03")
    answers["part-11"] = {"seen": "new", "state": "changed"}
    _, _, verdict = judged(made, ("1955-01", "1955-06"), answers)
    assert (verdict.verdict, verdict.found) == ("agrees-with-changes", ())
    assert verdict.declared == verdict.flagged == ("part-11",)


def married() -> tuple[Reference, Answers]:
    """Return a neck of 1958, with a dated pot in it, on everything else of 1953."""
    body = ladder(12).points
    neck = [
        change_over(f"neck-{i}", f"195{i}-06", area="neck", assembly=Assembly.NECK, changed=0.04)
        for i in range(3, 8)
    ]
    pot = point(
        "neck-code",
        kind=Kind.DATECODE,
        scheme="year-week",
        changed=0.04,
        area="neck",
        assembly=Assembly.NECK,
    )
    answers: Answers = {**answers_of(12, built="1953-02"), "neck-code": {"read": "58-10"}}
    for i in range(3, 8):
        answers[f"neck-{i}"] = {"seen": "new"}
    return reference(*body, *neck, pot, sets=sets(codes=0.02)), answers


def test_married_neck_stands_apart() -> None:
    """A whole neck of another year is in doubt; the neck is named and dated by itself."""
    made, answers = married()
    _, _, verdict = judged(made, ("1953-01", "1953-06"), answers)
    assert verdict.verdict in {"in-doubt", "disagrees"}
    assert verdict.apart == ("neck",)
    neck = verdict.assemblies["neck"]
    assert neck.points == 6
    assert all(first >= month("1957-06") for first, _ in neck.reads_as)
    told = verdict.as_json()["assemblies"]
    assert set(told["neck"]) == {"points", "ratio_to_best", "reads_as"}  # type: ignore[index]


def test_assembly_is_judged_as_if_nothing_else_were_there() -> None:
    """By itself an assembly reads as an instrument of just its lasting parts, without sets."""
    neck = [
        change_over(
            f"neck-{i}", f"195{i}-06", assembly=Assembly.NECK, changed=0.04, changed_with="neck"
        )
        for i in range(3, 7)
    ]
    codes = [
        point(f"code-{i}", kind=Kind.DATECODE, scheme="year-week", assembly=Assembly.NECK)
        for i in range(2)
    ]
    answers: Answers = {f"neck-{i}": {"seen": "new" if i < 6 else "old"} for i in range(3, 7)}
    answers |= {"code-0": {"read": "55-10"}, "code-1": {"read": "55-30", "sure": False}}
    whole = reference(*neck, *codes, *ladder(12).points, sets=sets(neck=0.03))
    alone = reference(*(replace(p, changed_with=None) for p in neck), *codes)
    window = ("1953-01", "1955-03")
    _, _, among = judged(whole, window, answers | answers_of(12, built="1953-02"))
    _, _, by_itself = judged(alone, window, answers)
    assert among.assemblies["neck"].points == 6
    assert among.assemblies["neck"].reads_as == by_itself.reads_as
    assert among.assemblies["neck"].ratio_to_best == pytest.approx(by_itself.ratio_to_best)


def test_result_is_plain_data() -> None:
    """The whole result of a document has the fields of the format, months as text."""
    made = ladder(6)
    result = judge_document(made, document(("1949-06", "1955-06"), {"part-1": {"seen": "new"}}))
    assert result["claimed"] == ["1949-06", "1955-06"]
    assert result["window"] == ["1950-01", "1955-06"]
    assert result["rules"] == 1
    assert result["assemblies"] == {}
    assert list(result)[-1] == "next"
    assert len(result["posterior"]) == 120  # type: ignore[arg-type]
    assert {look["point"] for look in result["next"]} == {  # type: ignore[union-attr]
        f"part-{i}" for i in (0, 2, 3, 4, 5)
    }


# What always holds

LADDER = ladder(8)
ANSWER = st.one_of(
    st.fixed_dictionaries(
        {"seen": st.sampled_from(["old", "new", "other"])},
        optional={
            "sure": st.booleans(),
            "state": st.sampled_from(["changed", "signs", "no-sign", "undisturbed"]),
        },
    ),
    st.just({"state": "changed"}),
)
SHEETS = st.dictionaries(st.sampled_from([f"part-{i}" for i in range(8)]), ANSWER)
WINDOWS = st.tuples(st.integers(0, 119), st.integers(0, 119)).map(
    lambda pair: (LADDER.covers[0] + min(pair), LADDER.covers[0] + max(pair))
)


@given(SHEETS, WINDOWS)
@settings(max_examples=60)
def test_relations_that_always_hold(answers: Answers, window: tuple[int, int]) -> None:
    """The posterior adds up to 1; lists keep apart; windows lie where they must."""
    model = compile_model(LADDER)
    given_answers = {"reference": "small", "answers": answers}
    verdict = judge(model, read_sheet(LADDER, given_answers, window=window))
    assert sum(verdict.posterior) == pytest.approx(1)
    assert not set(verdict.flagged) & set(verdict.odd)
    assert set(verdict.declared) <= set(verdict.flagged)
    assert not set(verdict.found) & set(verdict.declared)
    assert verdict.equally[0] <= window[0] <= window[1] <= verdict.equally[1]
    best = verdict.best_window.window
    assert best[1] - best[0] == window[1] - window[0]
    assert 0 <= verdict.changed_count.tail <= 1 + 1e-12
    for name, part in verdict.points.items():
        assert -1e-12 <= part.changed <= 1 + 1e-12
        assert part.changed + part.fits <= 1 + 1e-12
        assert (name in verdict.flagged) == (round(part.changed, 9) >= RULES.likely)
    held = sum(
        verdict.posterior[m - LADDER.covers[0]]
        for first, last in verdict.reads_as
        for m in range(first, last + 1)
    )
    assert held >= 0.9 - 1e-9


@given(SHEETS, st.sampled_from(["not-allowed", "not-visible", "no-tool", "no-time"]))
@settings(max_examples=30)
def test_not_seen_changes_nothing(answers: Answers, reason: str) -> None:
    """A reason for not looking is no evidence."""
    window = ("1954-01", "1954-12")
    more = {f"part-{i}": {"not_seen": reason} for i in range(8)} | answers
    assert judged(LADDER, window, more)[2] == judged(LADDER, window, answers)[2]


@given(SHEETS, st.randoms())
@settings(max_examples=30)
def test_order_of_answers_is_irrelevant(answers: Answers, shuffle: Any) -> None:
    """Points can be looked at as the hands go."""
    window = ("1954-01", "1954-12")
    names = list(answers)
    shuffle.shuffle(names)
    mixed = {name: answers[name] for name in names}
    assert judged(LADDER, window, mixed)[2] == judged(LADDER, window, answers)[2]
