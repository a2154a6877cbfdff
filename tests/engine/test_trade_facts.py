"""What is commonly said of one early slab-body electric, against the real engine.

Facts of the trade, common practice, no source: late-1950 examples have slotted screws throughout,
closed tuner housings, a thin brittle finish with no undercoat and 0.85 to 0.86 in at the first
fret, and a light one weighs under 7 lb; by mid 1953 all screws but the selector switch's are
cross-recessed, the tuners are open and unmarked (from spring 1952), the finish has an undercoat
below the colour and a clear coat above, and the depth is over 0.90 in. `facts/slab_body.toml` says
no more than that.
"""

import functools
import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from quickcheck.engine import Verdict, compile_model, judge, read_sheet
from quickcheck.readings import month_text, parse_month
from quickcheck.reference import Reference, read_reference_text

TEXT = (Path(__file__).parent / "facts/slab_body.toml").read_text(encoding="utf-8")
SCREWS = ("guard-screws", "plate-screws", "bridge-screws", "joint-screws", "tuner-screws")

Answers = Mapping[str, Mapping[str, object]]

LATE_1950: Answers = {
    **{screws: {"seen": "slot"} for screws in SCREWS},
    "selector-screws": {"seen": "slot"},
    "tuners": {"seen": "closed"},
    "undercoat": {"seen": "none"},
    "top-coat": {"seen": "thin"},
    "depth-1": {"value": 0.855, "unit": "in"},
    "weight": {"value": "6 lb 14 oz"},
}
MID_1953: Answers = {
    **{screws: {"seen": "cross"} for screws in SCREWS},
    "selector-screws": {"seen": "slot"},
    "tuners": {"seen": "open"},
    "undercoat": {"seen": "below"},
    "top-coat": {"seen": "clear"},
    "depth-1": {"value": 0.915, "unit": "in"},
}

# three months each; the facts say "late" and "mid", so the neighbours are tried as well
LATE_1950_WINDOWS = ("1950-09", "1950-10", "1950-11", "1950-12")
MID_1953_WINDOWS = ("1953-04", "1953-05", "1953-06", "1953-07")
OPEN_TUNERS: Answers = {"tuners": {"seen": "open"}}
NOT_CONTRADICTED = {"agrees", "too-little-seen"}


@functools.cache
def _read(text: str) -> Reference:
    return read_reference_text(text)


def assert_outcomes(text: str) -> None:
    """Check all that the facts promise, on another wording of them."""
    assert verdict(LATE_1950, "1950-10", text=text).verdict == "agrees"
    assert verdict(MID_1953, "1953-05", text=text).verdict in NOT_CONTRADICTED
    assert verdict(LATE_1950, "1953-05", text=text).verdict == "disagrees"
    assert verdict(MID_1953, "1950-10", text=text).verdict == "disagrees"
    assert verdict({**LATE_1950, **OPEN_TUNERS}, "1950-10", text=text).found == ("tuners",)


def verdict(answers: Answers, first: str, *, text: str = TEXT) -> Verdict:
    """Judge answers against three months."""
    reference = _read(text)
    window = [first, month_text(parse_month(first) + 2)]
    document = {"reference": reference.id, "window": window, "answers": answers}
    return judge(compile_model(reference), read_sheet(reference, document))


@pytest.mark.parametrize("first", LATE_1950_WINDOWS)
def test_the_first_agrees_with_late_1950(first: str) -> None:
    """What late-1950 examples show agrees with late 1950, nothing flagged, and reads as it."""
    seen = verdict(LATE_1950, first)
    assert (seen.verdict, seen.found) == ("agrees", ())
    assert seen.reads_as[0][0] <= parse_month("1950-12") <= seen.reads_as[0][1]


@pytest.mark.parametrize("first", MID_1953_WINDOWS)
def test_the_second_is_never_contradicted_in_mid_1953(first: str) -> None:
    """What mid-1953 examples show agrees, or too little is seen; never is a part at fault."""
    seen = verdict(MID_1953, first)
    assert seen.verdict in NOT_CONTRADICTED
    assert seen.found == ()
    assert any(a <= parse_month("1953-07") <= z for a, z in seen.reads_as)


@pytest.mark.parametrize("first", MID_1953_WINDOWS)
def test_the_first_does_not_agree_with_mid_1953(first: str) -> None:
    """What late-1950 examples show does not agree with mid 1953."""
    assert verdict(LATE_1950, first).verdict == "disagrees"


@pytest.mark.parametrize("first", LATE_1950_WINDOWS)
def test_the_second_does_not_agree_with_late_1950(first: str) -> None:
    """What mid-1953 examples show does not agree with late 1950."""
    assert verdict(MID_1953, first).verdict == "disagrees"


@pytest.mark.parametrize("covered_to", ["1953-12", "1955-12", "1960-12"])
def test_months_that_nothing_is_said_of_change_nothing(covered_to: str) -> None:
    """However far the reference goes on after mid 1953, the outcomes stay."""
    assert_outcomes(TEXT.replace('"1954-12"]', f'"{covered_to}"]'))


@pytest.mark.parametrize("give", [6, 10, 18])
def test_the_outcomes_do_not_hang_on_the_width_of_the_change_over(give: int) -> None:
    """The facts don't say when within two years most things changed; no choice matters."""
    assert_outcomes(TEXT.replace("give = 15", f"give = {give}"))


def test_the_outcomes_do_not_hang_on_the_rates_of_change() -> None:
    """Rates of change are judgement: twice as high, the outcomes stay."""
    rates = re.compile(r"^changed = ([0-9.]+)$", re.MULTILINE)
    assert_outcomes(rates.sub(lambda found: f"changed = {2 * float(found[1]):g}", TEXT))


def test_all_screws_taken_as_one_witness_leave_too_little() -> None:
    """If all screws are one witness, four speak: too few to say that it agrees, none against."""
    with_face = 'changed_with = "face-screws"\n'
    joint = "minutes = 0.3\nchanged = 0.05\n"
    text = TEXT.replace(joint, joint + with_face)
    text = text.replace('changed_with = "tuners"\n', with_face, 1)
    seen = verdict(LATE_1950, "1950-10", text=text)
    assert (seen.speaking, seen.verdict, seen.found) == (4, "too-little-seen", ())
    assert verdict(LATE_1950, "1953-05", text=text).verdict == "disagrees"
    assert verdict(MID_1953, "1950-10", text=text).verdict == "disagrees"


@pytest.mark.parametrize("first", LATE_1950_WINDOWS)
def test_later_tuners_on_the_first_do_not_fit(first: str) -> None:
    """Open tuners on a late-1950 example are the one part that does not fit; the rest agrees."""
    seen = verdict({**LATE_1950, **OPEN_TUNERS}, first)
    assert (seen.verdict, seen.found) == ("agrees-with-changes", ("tuners",))
    assert seen.points["tuners"].leaning == "later"


def test_later_tuners_with_their_own_screws_do_not_fit() -> None:
    """Tuners put on later with cross-recessed screws: these two parts, no others."""
    later = {"tuners": {"seen": "open"}, "tuner-screws": {"seen": "cross"}}
    seen = verdict({**LATE_1950, **later}, "1950-10")
    assert (seen.verdict, set(seen.found)) == ("agrees-with-changes", set(later))


def test_later_tuners_that_the_owner_tells_of_are_not_held_against_the_first() -> None:
    """A declared change is flagged, but it is not found against the claim."""
    declared = {"tuners": {"seen": "open", "state": "changed"}}
    seen = verdict({**LATE_1950, **declared}, "1950-10")
    assert (seen.verdict, seen.flagged, seen.found) == ("agrees-with-changes", ("tuners",), ())


def test_earlier_tuners_on_the_second_lean_earlier() -> None:
    """Closed tuners on a mid-1953 example are found, and lean to before spring 1952."""
    seen = verdict({**MID_1953, "tuners": {"seen": "closed"}}, "1953-06")
    assert seen.found == ("tuners",)
    assert seen.points["tuners"].leaning == "earlier"


@pytest.mark.parametrize("unseen", sorted(LATE_1950))
def test_one_thing_not_looked_at_overturns_nothing(unseen: str) -> None:
    """Without any one answer neither is contradicted in its months, nor fits the other's."""
    first = {name: answer for name, answer in LATE_1950.items() if name != unseen}
    second = {name: answer for name, answer in MID_1953.items() if name != unseen}
    assert verdict(first, "1950-10").verdict in NOT_CONTRADICTED
    assert verdict(second, "1953-05").verdict in NOT_CONTRADICTED
    assert verdict(first, "1953-05").verdict == "disagrees"
    assert verdict(second, "1950-10").verdict == "disagrees"


@pytest.mark.parametrize(("answers", "sign"), [(LATE_1950, -1), (MID_1953, 1)])
def test_between_the_two_the_fit_falls_from_the_one_to_the_other(
    answers: Answers, sign: int
) -> None:
    """Month by month from late 1950 to mid 1953, the first fits less and the second better."""
    months = range(parse_month("1950-12"), parse_month("1953-06"))
    fits = [verdict(answers, month_text(month)).ratio_to_best for month in months]
    assert fits == sorted(fits, reverse=sign < 0)
    assert min(fits) < 1 / 1000 * max(fits)


def test_what_the_facts_do_not_date_says_nothing() -> None:
    """The selector switch's screws and the weight are looked at, and lean nowhere."""
    points = verdict(LATE_1950, "1950-10").points
    assert {points["selector-screws"].leaning, points["weight"].leaning} == {"silent"}
