"""What to look at next: which points are open, and in which order they are proposed."""

import pytest

from quickcheck.engine import NextLook, next_looks
from quickcheck.reference import Access, Assembly, Kind, Reference
from tests.engine.small import change_over, judged, point, reference, variant

WINDOW = ("1954-06", "1955-06")


def bench() -> Reference:
    return reference(
        change_over("telling", "1954-06"),
        change_over("slow", "1954-06", minutes=4.0),
        change_over("idle", "1959-10"),
        change_over("inside", "1955-01", access=Access.OPEN, tools=("screwdriver",)),
        change_over("handled", "1955-01", access=Access.HANDLE, tools=("lamp",)),
        change_over("case", "1955-01", assembly=Assembly.CASE),
        point("signs", variant("holes", odds=5.0), kind=Kind.SIGN, bears_on=("slow",)),
        point("pot", kind=Kind.DATECODE, scheme="year-week"),
    )


def looks(answers: dict[str, dict[str, object]], **more: object) -> list[NextLook]:
    model, sheet, verdict = judged(bench(), WINDOW, answers, **({"access": "look"} | more))
    return list(next_looks(model, sheet, verdict))


def test_most_telling_per_minute_comes_first() -> None:
    """Bits about the window, by minutes; date codes, signs and the case are never proposed."""
    found = looks({})
    assert [look.point for look in found] == ["telling", "slow", "idle"]
    assert found[0].window_bits == pytest.approx(found[1].window_bits)
    assert found[0].as_json() == {
        "point": "telling",
        "window_bits": found[0].window_bits,
        "date_bits": found[0].date_bits,
        "minutes": 1.0,
    }


@pytest.mark.parametrize(
    ("access", "tools", "added"),
    [
        ("look", None, set()),
        ("handle", None, {"handled"}),
        ("open", None, {"handled", "inside"}),
        ("open", ["lamp"], {"handled"}),
        ("open", [], set()),
    ],
)
def test_only_what_is_allowed_and_can_be_done(
    access: str, tools: list[str] | None, added: set[str]
) -> None:
    """Nothing is proposed beyond the owner's leave or the tools in the bag."""
    found = {look.point for look in looks({}, access=access, tools=tools)}
    assert found == {"telling", "slow", "idle"} | added


def test_answered_points_are_not_proposed_again() -> None:
    """Only "no time" can be mended by a later look."""
    found = looks(
        {
            "telling": {"seen": "new"},
            "slow": {"not_seen": "not-visible"},
            "idle": {"not_seen": "no-time"},
        }
    )
    assert [look.point for look in found] == ["idle"]


def test_what_says_nothing_any_more_is_not_proposed() -> None:
    """Points that a disclosure declares changed or silences would tell nothing."""
    made = reference(
        change_over("tuners", "1955-01", area="tuners"), change_over("knobs", "1955-01")
    )
    model, sheet, verdict = judged(made, WINDOW, {}, disclosures=["changed-tuners"])
    assert [look.point for look in next_looks(model, sheet, verdict)] == ["knobs"]


def test_window_that_fills_the_reference_ranks_by_the_date() -> None:
    """Where there is nothing to tell the window from, what tells the month comes first."""
    model, sheet, verdict = judged(bench(), ("1950-01", "1959-12"), {}, access="look")
    found = next_looks(model, sheet, verdict)
    assert {look.window_bits for look in found} == {0.0}
    assert [look.point for look in found] == ["telling", "slow", "idle"]
    assert found[0].date_bits / found[0].minutes > found[1].date_bits / found[1].minutes


def test_reference_without_points_proposes_nothing() -> None:
    """An empty reference has no looks."""
    model, sheet, verdict = judged(reference(), WINDOW, {})
    assert next_looks(model, sheet, verdict) == ()
