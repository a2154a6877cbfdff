"""Thresholds, groups, counts and rules of the plain second implementation, reckoned by hand."""

import math
from typing import Any

import pytest

from tests.engine import plain_answers, plain_dates, plain_parts
from tests.engine.plain import plain_verdict, verdict_of
from tests.engine.plain_dates import Dating, Window

Doc = dict[str, Any]


def old_or_new(name: str, **changes: Any) -> Doc:
    """One point: `old` in January, `new` in February and March, a clean break."""
    seen = [
        {"id": "old", "to": "1950-01", "give": 0},
        {"id": "new", "from": "1950-02", "give": 0},
    ]
    return {"id": name, "area": "neck", "kind": "pick", "seen": seen} | changes


def spring(*points: Doc, **more: Any) -> Doc:
    return {"covers": ["1950-01", "1950-03"], "point": list(points), **more}


def seen_old(*names: str, **more: Any) -> Doc:
    answers = {name: {"seen": "old"} for name in names}
    return {"window": ["1950-01", "1950-01"], "answers": answers, **more}


def shaped(likelihood: list[float]) -> Dating:
    """Return a dating in which only L matters, all months equally productive."""
    size = len(likelihood)
    total = sum(likelihood)
    p = [x / total for x in likelihood]
    return Dating([likelihood], 1.0, 5, likelihood, [1 / size] * size, p)


def test_outside_is_sixty_months_on_either_side() -> None:
    """Outside are the 60 months before and after the window, as far as they are covered."""
    window = Window(70, 71, 140, [])
    assert window.outside() == [*range(10, 70), *range(72, 132)]
    assert Window(3, 70, 72, []).outside() == [0, 1, 2, 71]


def test_speaking_is_a_factor_of_two() -> None:
    """A group speaks from a factor of exactly 2 on, after rounding to 9 decimals."""
    assert plain_dates.speaks([0.1, 0.2])
    assert plain_dates.speaks([0.1, 0.2 - 1e-12])
    assert not plain_dates.speaks([0.1, 0.19])


def test_temper_falls_with_the_speaking_groups() -> None:
    """Four speaking groups temper to 1.7/2; the reference's own kappa stands in place of 1.7."""
    names = ("a", "b", "c", "d")
    reference = spring(*(old_or_new(name) for name in names))
    assert plain_verdict(reference, seen_old(*names))["temper"] == pytest.approx(0.85)
    assert plain_verdict(reference | {"kappa": 1.2}, seen_old(*names))["temper"] == 0.6


def test_equally_stops_at_the_first_gap() -> None:
    """Months at half the best or better are joined on until one is not."""
    dating = shaped([0.9, 0.2, 0.5, 1.0, 0.5, 0.49, 0.9])
    assert plain_dates.equally(dating, Window(3, 3, 7, [])) == (2, 4)


def test_ruled_out_is_below_an_eighth() -> None:
    """Of four months outside, those below an eighth of the best inside are ruled out."""
    dating = shaped([0.125, 0.12, 1.0, 0.01, 0.5])
    assert plain_dates.ruled_out(dating, Window(2, 2, 5, [])) == pytest.approx(0.5)


def test_best_window_takes_the_earlier_of_equals() -> None:
    """Among windows of the same length and the same mean the first one stands."""
    dating = shaped([0.1, 0.9, 0.3, 0.9, 0.3])
    best = plain_dates.best_window(dating, Window(3, 4, 5, []))
    assert (best.lo, best.hi) == (1, 2)


def test_reads_as_are_runs() -> None:
    """The likeliest months up to 90 % are given as runs, equal ones by the earlier first."""
    reference = {"covers": ["1950-01", "1950-06"]}
    runs = plain_dates.reads_as(reference, [0.05, 0.3, 0.3, 0.05, 0.25, 0.05])
    assert runs == [["1950-01", "1950-03"], ["1950-05", "1950-05"]]


def test_serial_in_two_blocks() -> None:
    """A number that two blocks hold has both chances, and twice the chance of a misreading."""
    point = old_or_new("number", kind="serial", pattern="[0-9]{2}")
    point["seen"] = [
        {"id": name, "first": first, "last": 40} for name, first in (("a", 10), ("b", 30))
    ]
    both = plain_answers.serial(point, "35", 0.02, (23400, 1))
    # U = .49 each; Q = .9 · .49 + .1/3 each
    assert both.o[0] == pytest.approx([0.98 * 0.98 + 2 * 0.02 / 3])
    assert both.g[0] == pytest.approx([0.98 * 0.98])
    assert both.b == pytest.approx([0.98 * 2 * (0.9 * 0.49 + 0.1 / 3) + 2 * 0.02 / 3])
    none = plain_answers.serial(point, "99", 0.02, (23400, 1))
    assert none.o[0] == pytest.approx([0.98 * 0.02 + 0.02 / 3])
    assert none.g[0] == [0.0]


def test_set_counts_all_at_once_or_one_by_one() -> None:
    """Two points of a set with γ = .1: the tail of one found is γ and the Poisson-binomial rest."""
    points = [old_or_new(name, changed_with="rewire", changed=0.03) for name in ("a", "b")]
    reference = spring(*points, set={"rewire": {"changed": 0.1}})
    answers = seen_old("a", "b")
    answers["answers"]["b"] = {"seen": "other", "state": "undisturbed"}
    result = plain_verdict(reference, answers)
    assert (result["flagged"], result["odd"]) == ([], ["b"])
    rate = 0.03 + 0.97 * (1 - 0.98 * 0.98)
    assert result["changed_count"]["usual"] == pytest.approx(0.9 * 2 * rate + 0.1 * 2)
    assert result["changed_count"]["tail"] == pytest.approx(1 - 0.9 * (1 - rate) ** 2)


def test_assembly_needs_three_lasting_witnesses() -> None:
    """Three witnesses at rates of up to 0.1, their set's included, are judged as an assembly."""
    kept = [old_or_new("a", changed=0.1), old_or_new("b"), old_or_new("c", changed_with="n")]
    reference = spring(*kept, old_or_new("d", changed=0.11), set={"n": {"changed": 0.1}})
    names = ("a", "b", "c", "d")
    neck = plain_verdict(reference, seen_old(*names))["assemblies"]
    assert (list(neck), neck["neck"]["points"]) == (["neck"], 3)
    often = reference | {"set": {"n": {"changed": 0.2}}}
    assert plain_verdict(often, seen_old(*names))["assemblies"] == {}


def test_neck_of_another_time_is_apart() -> None:
    """Three undisturbed neck parts that are older than the claim stand apart."""
    reference = spring(*(old_or_new(name) for name in "abc"))
    answers = seen_old("a", "b", "c", window=["1950-03", "1950-03"])
    for answer in answers["answers"].values():
        answer["state"] = "undisturbed"
    result = plain_verdict(reference, answers)
    assert (result["apart"], result["odd"]) == (["neck"], ["a", "b", "c"])
    # one part never decides alone: each of two that are left still says less than 1/8
    assert result["verdict"] == "disagrees"


def test_no_time_leaves_a_point_open() -> None:
    """Only a point marked no-time is proposed again; access and tools narrow the rest."""
    points = [old_or_new(name) for name in "abc"]
    reference = spring(*points, old_or_new("d", access="open"), old_or_new("e", tools=["lamp"]))
    reasons = {"a": "no-time", "b": "no-tool", "c": "not-allowed"}
    marked: Doc = {name: {"not_seen": reason} for name, reason in reasons.items()}

    def proposed(**more: Any) -> list[str]:
        answers = {"window": ["1950-01", "1950-01"], "answers": marked, **more}
        return [look["point"] for look in plain_verdict(reference, answers)["next"]]

    assert proposed() == ["a", "d", "e"]
    assert proposed(access="handle") == ["a", "e"]
    assert proposed(tools=[]) == ["a", "d"]


def part(rho: float, *, changed: float, fits: float = 0.9) -> plain_parts.Part:
    chances = plain_answers.Chances([[1.0]], [[1.0]], [1.0])
    w = plain_answers.Witness("a", {"changed": rho}, 0.02, None, 1, 1, chances)
    return plain_parts.Part(w, changed, fits)


FINE: Doc = {
    "ratio_to_best": 1.0,
    "bayes_factor": 9.0,
    "ruled_out": 0.9,
    "apart": [],
    "changed_count": {"tail": 0.5},
}
SOUND, GONE, SELDOM = part(0.1, changed=0.1), part(0.1, changed=0.5), part(0.02, changed=0.5)
STRANGE = part(0.1, changed=0.1, fits=0.49)


@pytest.mark.parametrize(
    ("speaking", "changes", "parts", "verdict"),
    [
        (5, {}, [SOUND], "agrees"),
        (5, {}, [GONE], "agrees-with-changes"),
        (5, {}, [STRANGE], "agrees-with-changes"),
        (5, {}, [SELDOM], "in-doubt"),
        (5, {"changed_count": {"tail": 0.0099}}, [GONE], "in-doubt"),
        (5, {"changed_count": {"tail": 0.01}}, [GONE], "agrees-with-changes"),
        (5, {"changed_count": {"tail": 0.0}}, [SOUND], "agrees"),
        (5, {"apart": ["body"]}, [SOUND], "in-doubt"),
        (5, {"ratio_to_best": 0.124}, [SOUND], "in-doubt"),
        (5, {"ratio_to_best": 0.125}, [SOUND], "agrees"),
        (4, {}, [SOUND], "too-little-seen"),
        (5, {"ruled_out": 0.49}, [SOUND], "too-little-seen"),
        (5, {"bayes_factor": 1.99}, [SOUND], "too-little-seen"),
        (5, {"bayes_factor": None}, [SOUND], "too-little-seen"),
        (2, {"ratio_to_best": 0.03}, [SOUND], "in-doubt"),
        (2, {"ratio_to_best": 0.04}, [SOUND], "too-little-seen"),
        (1, {"ratio_to_best": 0.03}, [SELDOM], "too-little-seen"),
    ],
)
def test_rules(speaking: int, changes: Doc, parts: list[plain_parts.Part], verdict: str) -> None:
    """The first rule that applies decides, at exactly its threshold."""
    base = shaped([1.0, 0.5])
    dating = Dating(base.p_groups, 1.0, speaking, base.likelihood, base.w, base.p)
    assert verdict_of(dating, Window(0, 0, 2, []), parts, FINE | changes) == verdict


def test_one_part_never_decides_alone() -> None:
    """Below 1/32 the claim is denied only where any one group can be dropped."""
    window, low = Window(0, 0, 2, []), {"ratio_to_best": 0.01}
    for groups, verdict in (
        ([[0.01, 1.0]], "in-doubt"),
        ([[0.1, 1.0], [0.1, 1.0]], "disagrees"),
        ([[0.02, 1.0], [0.5, 1.0]], "in-doubt"),
    ):
        likelihood = [math.prod(p[t] for p in groups) for t in (0, 1)]
        base = shaped(likelihood)
        dating = Dating(groups, 1.0, 5, likelihood, base.w, base.p)
        assert verdict_of(dating, window, [SOUND], FINE | low) == verdict
