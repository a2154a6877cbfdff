"""The words of claim and parts: how wide, what speaks against it, what was not seen; names."""

from dataclasses import replace

import pytest

from quickcheck import paths
from quickcheck.engine import compile_model, explain, judge, read_sheet
from quickcheck.engine.sentences import listed, number, one_in
from quickcheck.reference import Assembly, Kind, read_reference
from tests.engine.small import change_over, point, reference, sets, variant
from tests.engine.telling import HOLDS, NOTHING_CHANGED, tell


def test_what_stands_apart_speaks_against_nothing_changed() -> None:
    """No line about a claim of "nothing changed" reassures while the neck reads as another time."""
    spread = {"give": 40.0}
    neck = [
        point(
            f"n{i}",
            variant("a", None, "1954-06", **spread),
            variant("b", "1954-07", **spread),
            assembly=Assembly.NECK,
            changed=0.1,
        )
        for i in range(6)
    ]
    others = [change_over(f"h{i}", "1954-07") for i in range(8)]
    answers = {f"n{i}": {"seen": "b"} for i in range(6)} | {
        f"h{i}": {"seen": "old"} for i in range(8)
    }
    window = ("1953-07", "1953-09")
    told = tell(reference(*neck, *others), window, answers, **NOTHING_CHANGED)
    assert told["claim"] == ["Nothing changed is claimed. Against that: the neck stands apart."]


def test_dates_that_do_not_hold_stand_beside_nothing_changed() -> None:
    """Where no part is found, the line still says that the months are another matter."""
    calm = "Nothing changed is claimed. No sign of change seen at the points looked at; all were"
    window = ("1954-01", "1954-06")
    told = {}
    for give in (40.0, 80.0):  # so slow a change-over that no part by itself stands out
        slow = (variant("a", None, "1954-12", give=give), variant("b", "1955-01", give=give))
        made = reference(*(point(f"p{i}", *slow) for i in range(8)))
        answers = {f"p{i}": {"seen": "b", "state": "no-sign"} for i in range(8)}
        told[give] = tell(made, window, answers, **NOTHING_CHANGED)["claim"]
    assert told[40] == [f"{calm} looked at. What was seen does not fit the months claimed."]
    assert told[80] == [
        f"{calm} looked at. What was seen fits another time better than the months claimed."
    ]


def test_too_wide_a_claim() -> None:
    """A claim that takes in all that is known can't be held against anything."""
    made, _, answers = HOLDS
    told = tell(made, ("1950-01", "1959-12"), answers)
    assert told["why"] == [
        "The claim takes in all that the reference covers: there is nothing to hold it against."
    ]
    assert "width" not in told


def test_claim_that_its_neighbours_do_not_share() -> None:
    """Where the months beside the claim fit far worse, that is told in place of a width."""
    span = (variant("a", None, "1954-12", give=0), variant("b", "1955-01", "1955-06", give=0))
    sharp = [point(f"p{i}", *span) for i in range(6)]
    told = tell(
        reference(*sharp), ("1955-01", "1955-06"), {f"p{i}": {"seen": "b"} for i in range(6)}
    )
    assert told["width"] == [
        (
            "The month before the claim and the month after it fit less than half as well as its "
            "best month."
        )
    ]


@pytest.mark.parametrize(
    ("window", "seen", "words"),
    [
        (("1950-01", "1954-12"), "a", "The month after the claim fits less than half"),
        (("1955-01", "1959-12"), "b", "The month before the claim fits less than half"),
    ],
)
def test_claim_at_an_edge_of_the_reference_has_one_neighbour(
    window: tuple[str, str], seen: str, words: str
) -> None:
    """Of months that the reference does not cover nothing is said."""
    span = (variant("a", None, "1954-12", give=0), variant("b", "1955-01", give=0))
    made = reference(*(point(f"p{i}", *span) for i in range(6)))
    told = tell(made, window, {f"p{i}": {"seen": seen} for i in range(6)})
    assert told["width"] == [f"{words} as well as its best month."]


def test_width_of_a_claim_that_other_months_fit_twice_as_well() -> None:
    """Down to half is "about as well"; where some month is twice as good, "better" is said."""
    made, _, answers = HOLDS
    told = tell(made, ("1954-05", "1954-10"), answers)
    assert told["finding"][0].startswith("Claimed May–Oct 1954. What was seen agrees with")
    assert told["width"] == [
        (
            "It agrees with the claim, and about as well or better with any time from May 1954 to "
            "Jan 1956."
        )
    ]


def test_not_seen_is_told_by_reason() -> None:
    """Not allowed, not visible, no tool, no time, not looked at: each on its own line."""
    made = reference(
        *(change_over(f"p{i}", f"195{i}-06") for i in range(1, 6)),
        point("drips", variant("yes", odds=4.0), kind=Kind.SIGN, bears_on=("p1",)),
    )
    reasons = ("not-allowed", "not-visible", "no-tool", "no-time")
    answers = {f"p{i}": {"not_seen": reason} for i, reason in enumerate(reasons, start=1)}
    told = tell(made, ("1955-01", "1955-06"), answers)
    assert told["unseen"] == [
        "Not allowed: P1.",
        "Not visible: P2.",
        "No tool for it: P3.",
        "No time for it: P4.",
        "Not looked at: P5.",
        "Signs of change not looked for: drips.",
    ]


def test_signs_are_told_in_the_references_words() -> None:
    """What was ticked and where; a sign that says "none" is no change seen."""
    drips = point(
        "drips",
        variant("overspray", odds=20.0),
        variant("none", odds=0.5),
        variant("planed", silent=True),
        kind=Kind.SIGN,
        bears_on=("knobs",),
        many=True,
    )
    made = reference(change_over("knobs", "1955-01"), drips)
    answers = {"knobs": {"seen": "old"}, "drips": {"seen": ["overspray"], "where": ["back"]}}
    assert tell(made, HOLDS[1], answers)["found"][-1] == "Change seen: drips (Overspray; back)."
    answers["drips"] = {"seen": "none"}
    assert tell(made, HOLDS[1], answers)["found"] == [
        "No sign of change seen at the points looked at."
    ]
    answers["drips"] = {"seen": "planed"}
    assert tell(made, HOLDS[1], answers)["leaning"] == [
        "Say nothing any more, as work on them was disclosed or seen: knobs."
    ]


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("Neck depth at 1st", "neck depth at 1st"),
        ("DC resistance", "DC resistance"),
        ("E string hole", "E string hole"),
        ("T-nuts", "T-nuts"),
    ],
)
def test_points_are_called_by_the_references_short_name(label: str, words: str) -> None:
    """Small inside a sentence, but for what is written large for a reason."""
    made = reference(replace(change_over("neck-depth-1", "1955-01"), name=label))
    told = tell(made, HOLDS[1], {})
    assert told["unseen"] == [f"Not looked at: {words}."]
    assert told["next"] == [f"Would tell most next: {words}."]


def test_every_point_of_the_demo_has_a_name() -> None:
    """A file need not give one: the reader makes it from the id."""
    made = read_reference(paths.DEMO / "references" / "hobbinsley-poplin")
    window = (made.covers[0], made.covers[0] + 5)
    document = {"reference": made.id, "answers": {}}
    sheet = read_sheet(made, document, window=window)
    model = compile_model(made)
    told = explain(model, sheet, judge(model, sheet), ())
    unseen = next(s.text for s in told if s.about == "unseen")
    assert unseen.startswith("Not looked at: head mark, ")


@pytest.mark.parametrize(
    ("tail", "words"),
    [
        (0.9, "most show"),
        (0.5, "about one in two shows"),
        (0.34, "about one in three shows"),
        (0.0709, "about one in 14 shows"),
        (0.0043, "about one in 230 shows"),
        (0.0009, "fewer than one in a thousand shows"),
    ],
)
def test_chances_are_told_as_one_in_so_many(tail: float, words: str) -> None:
    """As rough as the arithmetic is."""
    assert one_in(tail) == words


def test_words_of_numbers_and_lists() -> None:
    """Numbers in words up to nine; lists as in speech."""
    assert [number(n) for n in (0, 9, 10)] == ["no", "nine", "10"]
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_set_of_changes_is_as_usual_as_its_rate() -> None:
    """A rewire changes several parts at once, and is not counted as if each had been."""
    made, window, answers = HOLDS
    wires = [change_over(f"w{i}", "1958-06", changed=0.05, changed_with="rewire") for i in range(3)]
    later = answers | {f"w{i}": {"seen": "new"} for i in range(3)}
    told = tell(reference(*made.points, *wires, sets=sets(rewire=0.2)), window, later)
    assert told["count"] == [
        "Three found; of genuine instruments of this age, about one in three shows as many."
    ]
