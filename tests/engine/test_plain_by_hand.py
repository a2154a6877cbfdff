"""Tiny cases of the plain second implementation, reckoned by hand step by step."""

import math
from typing import Any

import pytest
from scipy import stats

from tests.engine import plain_answers, plain_model, plain_next
from tests.engine import plain_readings as readings
from tests.engine.plain import plain_verdict

Doc = dict[str, Any]


def tiny(**changes: Any) -> Doc:
    """One point, two variants with a clean break, three months."""
    point = {
        "id": "cover",
        "area": "hardware",
        "kind": "pick",
        "seen": [
            {"id": "old", "to": "1950-01", "give": 0},
            {"id": "new", "from": "1950-02", "give": 0},
        ],
    }
    return {"covers": ["1950-01", "1950-03"], "point": [point | changes]}


def asked(answers: Doc, first: str = "1950-01", last: str = "1950-01", **more: Any) -> Doc:
    return {"window": [first, last], "answers": answers, **more}


def test_one_point_two_variants_three_months() -> None:
    """The whole result of the smallest reference is the one reckoned by hand."""
    # s(old) = 1 0 0 and s(new) = 0 1 1, so D = 1 and U(old) = .98 0 0; w is the same in all months
    # Q(old) = .9 · 0 + .1/3 in all months: no `old` was fitted after any of them, or in the last
    b = 0.98 * (0.1 / 3) + 0.02 / 3
    # O = .98 · .98 + .02/3 in the first month, .02/3 after it; ρ = .05
    p_first = 0.95 * (0.98 * 0.98 + 0.02 / 3) + 0.05 * b
    p_after = 0.95 * (0.02 / 3) + 0.05 * b
    assert (p_first, p_after) == pytest.approx((0.92068, 0.0083), abs=1e-12)
    # F = 1, λ = min(1, 1.7) = 1, so L = 1, low, low
    low = p_after / p_first
    result = plain_verdict(tiny(), asked({"cover": {"seen": "old"}}))
    assert result["temper"] == 1
    assert result["posterior"] == pytest.approx(
        [1 / (1 + 2 * low), low / (1 + 2 * low), low / (1 + 2 * low)]
    )
    assert result["bayes_factor"] == pytest.approx(1 / low)
    assert result["in_window"] == pytest.approx(1 / (1 + 2 * low))
    part = result["points"]["cover"]
    assert part["changed"] == pytest.approx(0.05 * b / p_first)
    assert part["fits"] == pytest.approx(0.95 * 0.98 * 0.98 / p_first)
    assert part["leaning"] == "within"
    rate = 0.05 + 0.95 * (1 - 0.98 * 0.98)
    assert result["changed_count"] == pytest.approx(
        {"expected": 0.05 * b / p_first, "usual": rate, "tail": 1.0}
    )
    words = ("verdict", "speaking", "groups", "reads_as", "equally", "ruled_out", "ratio_to_best")
    january = ["1950-01", "1950-01"]
    assert [result[word] for word in words] == [
        "too-little-seen",
        1,
        1,
        [january],
        january,
        1.0,
        1.0,
    ]


def test_gap_is_none_of_these() -> None:
    """In a month between two clean edges every chance goes to 'other'."""
    point = tiny()["point"][0]
    point["seen"][1]["from"] = "1950-03"
    u = plain_model.usage(point, readings.month_number("1950-01"), 3)
    assert u == {"old": [0.98, 0.0, 0.0], "new": [0.0, 0.0, 0.98], "other": [0.02, 1.0, 0.02]}


def test_early_tail_is_not_inflated() -> None:
    """Where the only variant is 10 % likely to have begun, D is held at half its share."""
    point = tiny()["point"][0]
    point["seen"] = [{"id": "only", "shares": [["1950-01", 0.1], ["1950-03", 1.0]]}]
    u = plain_model.usage(point, readings.month_number("1950-01"), 3)
    # s = .1 .55 1; D = .5 .55 1
    assert u["only"] == [0.196, 0.98, 0.98]


def test_give_is_the_central_90_percent() -> None:
    """Three months on either side of a change-over, 5 % and 95 % are of the newer kind."""
    edge = {"from": "1950-04", "give": 3}
    first = readings.month_number("1950-01")
    # month index t has its middle at t + ½; the edge is at 3, so t = −½ and 5½ would be 3 away
    assert plain_model.fitted(edge, first, 0) == pytest.approx(
        stats.norm.cdf(-2.5 / (3 / 1.6448536269514722))
    )
    assert plain_model.fitted(edge, first, 5) == pytest.approx(
        stats.norm.cdf(2.5 / (3 / 1.6448536269514722))
    )


def test_replacements_come_from_later_production() -> None:
    """Q is 0.9 of the mean over later months and 0.1 even; the last month stands for itself."""
    point = tiny()["point"][0]
    u = {"old": [0.6, 0.3, 0.1], "new": [0.2, 0.5, 0.9], "other": [0.2, 0.2, 0.0]}
    q = plain_model.replaced(point, u)
    assert q["old"] == pytest.approx(
        [0.9 * 0.2 + 0.1 / 3, 0.9 * 0.1 + 0.1 / 3, 0.9 * 0.1 + 0.1 / 3]
    )
    assert [sum(q[v][t] for v in q) for t in range(3)] == pytest.approx([1, 1, 1])


def test_stated_replacements_leave_a_tenth_for_other() -> None:
    """Weights 1 and 3 leave 0.4 for 'other', out of 4.4 in all."""
    point = tiny()["point"][0]
    point["seen"][0]["if_changed"], point["seen"][1]["if_changed"] = 1, 3
    q = plain_model.replaced(point, plain_model.usage(point, 23400, 1))
    assert q == {"old": [1 / 4.4], "new": [3 / 4.4], "other": [pytest.approx(0.4 / 4.4)]}


def test_output_by_year_and_month() -> None:
    """Years are spread over covered months, a month's own figure overrides, the rest get 0.1."""
    reference = {
        "covers": ["1950-11", "1952-01"],
        "output": {"1950": 20, "1951-03": 50},
    }
    w = plain_model.output(reference)
    # figures: 10 10 | · · 50 · · … | ·; the mean of those with a figure is 70/3, the rest get 7/3
    total = 70 + 12 * 7 / 3
    assert w[0] == w[1] == round(10 / total, 9)
    assert w[4] == round(50 / total, 9)
    assert w[2] == w[14] == round(7 / 3 / total, 9)


def test_value_is_what_twelve_bits_carry() -> None:
    """A value goes to the nearest of 4096 steps of its span, both ends included."""
    point = {"span": [1.0, 5095.0 - 999.0]}
    assert plain_answers.carried(point, 1.0) == 1.0
    assert plain_answers.carried(point, 4096.0) == 4096.0
    assert plain_answers.carried(point, 17.4) == pytest.approx(17.0)
    assert plain_answers.carried(point, 17.5) == pytest.approx(18.0)


def test_date_code_by_hand() -> None:
    """One code of the first month: the P of the six stock times is averaged, then judged."""
    point = {"id": "pot", "area": "electrics", "kind": "datecode", "scheme": "year-week"}
    reference = {"covers": ["1950-01", "1950-02"], "point": [point]}
    result = plain_verdict(reference, asked({"pot": {"read": "50-02"}}))
    # the only candidate is January; k = 1, T + 36 = 38, ρ = .05
    b = 1 / 38
    p = []
    for t in (0, 1):
        lag = [math.exp(-t / s) - math.exp(-(t + 1) / s) for s in (1, 2, 4, 8, 16, 32)]
        p.append(sum(0.95 * (0.98 * x + 0.02 * b) + 0.05 * b for x in lag) / 6)
    assert result["posterior"] == pytest.approx([p[0] / sum(p), p[1] / sum(p)])
    assert result["points"]["pot"]["changed"] == pytest.approx(0.05 * b / p[0])


def test_only_a_change_seen() -> None:
    """A part of which nothing but a change is known is flagged, declared, not found, and silent."""
    result = plain_verdict(tiny(), asked({"cover": {"state": "changed"}}))
    assert result["points"]["cover"] == {"changed": 1.0, "fits": 0.0, "leaning": "silent"}
    assert (result["flagged"], result["declared"], result["odd"]) == (["cover"], ["cover"], [])
    assert result["changed_count"] == {"expected": 1.0, "usual": 0.0, "tail": 1.0}
    assert result["posterior"] == pytest.approx([1 / 3] * 3)


def test_too_early_a_part_is_odd() -> None:
    """A part older than the claim is no replacement, and yet does not fit."""
    undisturbed = {"cover": {"seen": "old", "state": "undisturbed"}}
    result = plain_verdict(tiny(), asked(undisturbed, "1950-03", "1950-03"))
    assert (result["flagged"], result["odd"]) == ([], ["cover"])
    assert result["best_window"] == {"window": ["1950-01", "1950-01"], "flagged": []}


def test_signs_multiply_and_silence() -> None:
    """Every tick multiplies r once for a point named twice, and a silent tick drops the point."""
    reference = tiny()
    sign = {"id": "holes", "area": "body", "kind": "sign", "many": True}
    sign["bears_on"] = ["cover", "area:hardware"]
    sign["seen"] = [{"id": "a", "odds": 20}, {"id": "b", "odds": 0.5}, {"id": "c", "silent": True}]
    reference["point"].append(sign)
    cover = {"seen": "new", "state": "signs"}
    found, _ = plain_answers.witnesses(
        reference, asked({"cover": cover, "holes": {"seen": ["a", "b"]}})
    )
    assert [w.r for w in found] == [6 * 20 * 0.5]
    found, silent = plain_answers.witnesses(
        reference, asked({"cover": cover, "holes": {"seen": "c"}})
    )
    assert (found, silent) == ([], {"cover"})


def test_disclosure_sets_and_silences() -> None:
    """A disclosure declares its own points changed, answered or not, and silences the others."""
    reference = tiny()
    reference["point"].append(tiny(id="tail", area="tuners")["point"][0])
    terms = {"redone": (["area:tuners"], ["cov*"])}
    answers = asked({"cover": {"seen": "old"}}, disclosures=["redone"])
    result = plain_verdict(reference, answers, terms=terms)
    assert (result["declared"], list(result["points"])) == (["tail"], ["tail"])


def test_case_never_counts() -> None:
    """A point of the case is recorded, and the verdict is the one without it."""
    answers = {"cover": {"seen": "old"}}
    result = plain_verdict(tiny(area="case"), asked(answers))
    assert (result["groups"], result["points"], result["next"]) == (0, {}, [])


def test_window_over_the_edge_is_clipped() -> None:
    """What lies outside the covered months is cut off and still told as claimed."""
    result = plain_verdict(tiny(), asked({}, "1949-05", "1950-02"))
    assert (result["claimed"], result["window"]) == (
        ["1949-05", "1950-02"],
        ["1950-01", "1950-02"],
    )


def test_what_to_look_at_next_by_hand() -> None:
    """Bits of an unanswered point are those of its answers' joint table with the window."""
    result = plain_verdict(tiny(), asked({}, "1950-01", "1950-01"))
    rows = plain_next.answer_chances(tiny()["point"][0], (readings.month_number("1950-01"), 3))
    before = stats.entropy([1 / 3] * 3, base=2)
    joint = [[row[t] / 3 for t in range(3)] for row in rows]
    after = sum(sum(row) * stats.entropy(row, base=2) for row in joint)
    [look] = result["next"]
    assert look["date_bits"] == pytest.approx(before - after)
    pairs = [[row[0] / 2, (row[1] + row[2]) / 4] for row in rows]
    left = sum(sum(pair) * stats.entropy(pair, base=2) for pair in pairs)
    assert look["window_bits"] == pytest.approx(1 - left)


@pytest.mark.parametrize(
    ("answers", "message"),
    [
        (asked({}, "1950-03", "1950-01"), "reversed"),
        (asked({}, "1950-04", "1950-06"), "wholly outside"),
        (asked({}, "1950-13", "1950-06"), "not a month"),
        (asked({"tail": {"seen": "old"}}), "unknown point"),
        (asked({"cover": {"seen": "odd"}}), "unknown variant"),
        (asked({"cover": {"seen": "old", "state": "worn"}}), "unknown state"),
        (asked({"cover": {"not_seen": "no-light"}}), "unknown reason"),
        (asked({"cover": {"state": "signs"}}), "needs an answer"),
        (asked({"cover": {"value": 3}}), "an answer of kind pick"),
        (asked({}, disclosures=["dropped"]), "unknown disclosure"),
    ],
)
def test_refused(answers: Doc, message: str) -> None:
    """Windows and answers that make no sense are refused, and the reason is named."""
    with pytest.raises(ValueError, match=message):
        plain_verdict(tiny(), answers)


@pytest.mark.parametrize(
    ("value", "unit", "message"),
    [
        (1.2, "in", "outside its span"),
        (math.nan, "in", "not finite"),
        (math.inf, "mm", "not finite"),
        (0.9, "lb", "no unit of"),
        (0.9, "furlong", "unknown unit"),
    ],
)
def test_refused_values(value: float, unit: str, message: str) -> None:
    """Values outside the span, not finite or of another kind of unit are refused."""
    gauge = {"kind": "measure", "unit": "in", "span": [0.7, 1.1], "tolerance": 0.006}
    point = gauge | {"id": "depth", "area": "neck", "seen": [{"id": "a", "mean": 1, "spread": 0}]}
    reference = tiny() | {"point": [point]}
    with pytest.raises(ValueError, match=message):
        plain_verdict(reference, asked({"depth": {"value": value, "unit": unit}}))


def test_refused_serial() -> None:
    """A serial has to match the whole pattern, in digits 0 to 9."""
    blocks = [{"id": "a", "first": 1, "last": 99}]
    reference = tiny(kind="serial", pattern="[0-9]{2}", seen=blocks)
    assert plain_verdict(reference, asked({"cover": {"read": "17"}}))["groups"] == 1
    with pytest.raises(ValueError, match="does not match"):
        plain_verdict(reference, asked({"cover": {"read": "170"}}))
