"""What is refused, and in which words; what is taken, and as what."""

from typing import Any

import pytest

from quickcheck.engine import check_answer, judge_document, measure_step, measure_value, read_sheet
from quickcheck.errors import AnswerError
from quickcheck.reference import Access, Kind, Point
from tests.engine.small import change_over, document, month, point, reference, variant

DEPTH = point(
    "depth",
    variant("club", mean=0.94, spread=0.02),
    kind=Kind.MEASURE,
    unit="in",
    span=(0.7, 1.1),
    tolerance=0.006,
)
COIL = point(
    "coil",
    variant("one", mean=8000.0, spread=200.0),
    kind=Kind.MEASURE,
    unit="ohm",
    span=(7400.0, 12500000.0),
    tolerance=100.0,
)
SERIAL = point("serial", variant("early", block=(101, 640)), kind=Kind.SERIAL, pattern="[0-9]{3,4}")
POT = point("pot", kind=Kind.DATECODE, scheme="year-week")
KNOBS = change_over("knobs", "1955-01")
SIGNS = point(
    "signs",
    variant("holes", odds=20.0),
    variant("none", odds=0.5),
    kind=Kind.SIGN,
    bears_on=("knobs",),
    many=True,
)
ONE_SIGN = point("planed", variant("yes", silent=True), kind=Kind.SIGN, bears_on=("knobs",))
REFERENCE = reference(KNOBS, DEPTH, SERIAL, POT, SIGNS, ONE_SIGN)
WINDOW = ("1953-03", "1953-05")


def test_answers_are_taken_in_the_points_own_terms() -> None:
    """Values come in the point's unit, codes as months, serials as numbers."""
    sheet = read_sheet(
        REFERENCE,
        document(
            WINDOW,
            {
                "pot": {"read": "52-47"},
                "knobs": {"seen": "old", "sure": False, "state": "no-sign", "note": "one cracked"},
                "depth": {"value": 23.749, "unit": "mm", "where": ["edge"]},
                "serial": {"read": " 388 "},
                "signs": {"seen": ["holes", "none"]},
                "planed": {"seen": "other"},
            },
        ),
    )
    found = sheet.answers
    assert list(found) == ["knobs", "depth", "serial", "pot", "signs", "planed"]
    assert (found["knobs"].sure, found["knobs"].state) == (False, "no-sign")
    assert found["depth"].value == pytest.approx(0.935)
    assert found["depth"].where == ("edge",)
    assert found["serial"].number == 388
    assert month("1952-11") in found["pot"].months
    assert found["signs"].seen == ("holes", "none")


def test_value_may_be_text_as_it_was_typed() -> None:
    """A fraction or a unit inside the text is read as it stands."""
    assert check_answer(DEPTH, {"value": "15/16"}).value == pytest.approx(0.9375)
    assert check_answer(DEPTH, {"value": "23.749 mm"}).value == pytest.approx(0.935)


def test_edge_of_the_span_is_inside_in_any_unit() -> None:
    """27.94 mm is 1.1 in, whatever the last bit of the division says."""
    assert check_answer(DEPTH, {"value": 27.94, "unit": "mm"}).value == pytest.approx(1.1)


@pytest.mark.parametrize("reason", ["not-allowed", "not-visible", "no-tool", "no-time"])
def test_reason_for_not_seeing_is_kept(reason: str) -> None:
    """A point not seen carries why, and counts as not looked at."""
    answer = check_answer(KNOBS, {"not_seen": reason})
    assert answer.not_seen == reason
    assert not answer.looked


def test_note_alone_is_kept_and_says_nothing() -> None:
    """A note without an answer is no evidence."""
    answer = check_answer(KNOBS, {"note": "ask the owner"})
    assert not answer.looked


@pytest.mark.parametrize("kind", [KNOBS, DEPTH, SERIAL, POT])
def test_change_may_stand_alone(kind: Point) -> None:
    """Nothing but a change may be known."""
    answer = check_answer(kind, {"state": "changed"})
    assert answer.looked
    assert not answer.has_reading


REFUSED: list[tuple[Point, Any, str]] = [
    (KNOBS, "old", r"answers\.knobs: expected named fields; got \"old\""),
    (KNOBS, {}, r"answers\.knobs: expected seen, state or not_seen"),
    (
        KNOBS,
        {"seen": "blue"},
        r"answers\.knobs\.seen: expected one of old, new, other; got \"blue\"",
    ),
    (KNOBS, {"seen": ["old"]}, r"answers\.knobs\.seen: expected one of"),
    (KNOBS, {"value": 3}, r"answers\.knobs\.value: expected \"seen\", as this point is a pick"),
    (KNOBS, {"seen": "old", "sure": 1}, r"answers\.knobs\.sure: expected true or false; got \"1\""),
    (KNOBS, {"seen": "old", "note": 1}, r"answers\.knobs\.note: expected text"),
    (KNOBS, {"seen": "old", "where": "back"}, r"answers\.knobs\.where: expected a list"),
    (KNOBS, {"seen": "old", "where": [1]}, r"answers\.knobs\.where: expected a list of texts"),
    (KNOBS, {"seen": "old", "state": "odd"}, r"answers\.knobs\.state: expected one of changed"),
    (KNOBS, {"state": "signs"}, r"answers\.knobs\.state: .*\"seen\" beside the state \"signs\""),
    (KNOBS, {"not_seen": "lazy"}, r"answers\.knobs\.not_seen: expected one of not-allowed"),
    (KNOBS, {"seen": "old", "not_seen": "no-time"}, r"not_seen: .*a reason for none; got both"),
    (SIGNS, {"seen": []}, r"answers\.signs\.seen: expected one or more, each once"),
    (SIGNS, {"seen": ["holes", "holes"]}, r"answers\.signs\.seen: expected one or more"),
    (SIGNS, {"seen": "holes", "state": "signs"}, r"answers\.signs\.state: expected no state"),
    (ONE_SIGN, {"seen": ["yes", "other"]}, r"answers\.planed\.seen: expected exactly one"),
    (DEPTH, {"value": 2.0}, r"answers\.depth\.value: expected 0\.7 to 1\.1 in; got \"2 in\""),
    (DEPTH, {"value": float("nan")}, r"answers\.depth\.value: expected a finite number"),
    (DEPTH, {"value": float("inf")}, r"answers\.depth\.value: expected a finite number"),
    (DEPTH, {"value": True}, r"answers\.depth\.value: expected a finite number"),
    (DEPTH, {"value": 10**400}, r"depth\.value: expected a finite number; got \"inf\""),
    (DEPTH, {"value": -(10**400)}, r"depth\.value: expected a finite number; got \"-inf\""),
    (DEPTH, {"value": 1.10000001}, r"expected 0\.7 to 1\.1 in; got \"1\.10000001 in\"\. Meas"),
    (DEPTH, {"value": 28, "unit": "mm"}, r"0\.7 to 1\.1 in; got \"1\.102362205 in\"\. Measure"),
    (DEPTH, {"value": -0.0}, r"0\.7 to 1\.1 in; got \"0 in\"\. Measure"),
    (COIL, {"value": 12500000.25}, r"expected 7400 to 12500000 ohm; got \"12500000\.25 ohm\""),
    (DEPTH, {"value": 0.9, "unit": "kg"}, r"answers\.depth\.value: "),
    (DEPTH, {"value": "thick"}, r"answers\.depth\.value: "),
    (SERIAL, {"read": "A1"}, r"answers\.serial\.read: expected a serial such as "),
    (SERIAL, {"read": 388}, r"answers\.serial\.read: expected text"),
    (POT, {"read": "52-99"}, r"answers\.pot\.read: "),
]


@pytest.mark.parametrize(("asked", "given", "message"), REFUSED)
def test_answer_is_refused_in_words(asked: Point, given: Any, message: str) -> None:
    """A refusal names the field, what was expected and what came."""
    with pytest.raises(AnswerError, match=message):
        check_answer(asked, given)


KNOWN = "one of seen, value, unit, read, sure, state, not_seen, note, where, photos"
MISSPELT: list[tuple[dict[str, Any], str, str]] = [
    ({"seen": "old", "stat": "changed"}, "stat", 'Did you mean "state"?'),
    ({"seen": "old", "Sure": False}, "Sure", 'Did you mean "sure"?'),
    ({"value": 9, "units": "mm"}, "units", 'Did you mean "unit"?'),
    ({"seen": "old", "not-seen": None}, "not-seen", 'Did you mean "not_seen"?'),
    ({"sean": "old"}, "sean", 'Did you mean "seen"?'),
    ({"seen": "old", "colour": "red"}, "colour", "Take it out."),
]


@pytest.mark.parametrize(("given", "key", "remedy"), MISSPELT)
def test_misspelt_key_is_refused_with_the_nearest_known(
    given: dict[str, Any], key: str, remedy: str
) -> None:
    """A state that nobody hears would change the verdict, so no key is passed over."""
    asked = DEPTH if "value" in given else KNOBS
    with pytest.raises(AnswerError) as raised:
        check_answer(asked, given)
    fault = raised.value.faults[0]
    assert fault.where == f"answers.{asked.id}.{key}"
    assert (fault.expected, fault.came, fault.remedy) == (KNOWN, f'"{key}"', remedy)


def test_every_unknown_key_is_told_beside_the_other_faults() -> None:
    """All that is wrong with one answer is told at once."""
    with pytest.raises(AnswerError) as raised:
        check_answer(KNOBS, {"seen": "blue", "stat": "changed", "colour": "red"})
    told = [fault.where for fault in raised.value.faults]
    assert told == ["answers.knobs.stat", "answers.knobs.colour", "answers.knobs.seen"]


def test_every_known_key_is_taken_at_every_kind_of_point() -> None:
    """Null counts as left out; photos are kept elsewhere, and alone are no evidence."""
    nothing = dict.fromkeys(("value", "unit", "read", "sure", "state", "not_seen", "note", "where"))
    photos = ["f00d"]
    assert check_answer(KNOBS, nothing | {"seen": "old", "photos": photos}).seen == ("old",)
    for asked in REFERENCE.points:
        assert not check_answer(asked, {"photos": photos}).looked


CLAIMS: list[tuple[dict[str, Any], str]] = [
    ({"reference": "other"}, r"reference: expected \"small\"; got \"other\""),
    ({"window": "1953"}, r"window: expected first and last month claimed"),
    ({"window": ["1953-03", "soon"]}, r"window: expected a month"),
    ({"window": ["1953-05", "1953-03"]}, r"window: expected the first month before the last"),
    ({"window": ["1970-01", "1970-02"]}, r"window: expected months within 1950|window: expected"),
    ({"answers": None}, r"answers: expected named fields"),
    ({"answers": {"nut": {"seen": "x"}}}, r"answers\.nut: expected a point of small"),
    ({"access": "all"}, r"access: expected one of look, handle, open; got \"all\""),
    ({"tools": "lamp"}, r"tools: expected a list"),
    ({"claim": "old"}, r"claim: expected named fields"),
    ({"claim": {"nothing_changed": "yes"}}, r"claim\.nothing_changed: expected true or false"),
    ({"claim": {"words": 5}}, r"claim\.words: expected text"),
    ({"serial_text": 5}, r"serial_text: expected text"),
    ({"marks": [{"place": "back", "kind": "burn", "mm": -1}]}, r"marks\.0\.mm: expected 0 or more"),
    ({"marks": [{"mm": 10**400}]}, r"marks\.0\.mm: expected a finite number; got \"inf\""),
    ({"marks": ["burn"]}, r"marks\.0: expected named fields"),
    ({"disclosures": ["polished-twice"]}, r"disclosures: expected one of "),
]


@pytest.mark.parametrize(("changes", "message"), CLAIMS)
def test_claim_is_refused_in_words(changes: dict[str, Any], message: str) -> None:
    """What stands around the answers is checked as strictly."""
    with pytest.raises(AnswerError, match=message):
        read_sheet(REFERENCE, document(WINDOW, {}) | changes)


@pytest.mark.parametrize("wrong", [[], None, "answers", 5])
def test_document_that_is_no_object_is_refused_in_words(wrong: Any) -> None:
    """A list or a text has no fields to name, so the refusal shows what a document looks like."""
    words = r"document: expected named fields; .* Write an object such as {\"reference\": "
    with pytest.raises(AnswerError, match=words):
        read_sheet(REFERENCE, wrong)
    with pytest.raises(AnswerError, match=words):
        judge_document(REFERENCE, wrong)


def test_all_faults_are_told_at_once() -> None:
    """Nobody should have to mend a document one fault at a time."""
    wrong = document(
        ("1953-05", "1953-03"),
        {"knobs": {"seen": "blue", "state": "odd"}, "depth": {"value": 9}, "nut": {}},
        access="all",
    )
    with pytest.raises(AnswerError) as raised:
        read_sheet(REFERENCE, wrong)
    assert sorted(fault.where for fault in raised.value.faults) == [
        "access",
        "answers.depth.value",
        "answers.knobs.seen",
        "answers.knobs.state",
        "answers.nut",
        "window",
    ]


def test_claim_is_clipped_to_what_the_reference_covers() -> None:
    """The claim stays as it was made; the window judged is what the reference knows."""
    sheet = read_sheet(REFERENCE, document(("1948-05", "1950-03"), {}))
    assert sheet.claimed == (month("1948-05"), month("1950-03"))
    assert sheet.window == (month("1950-01"), month("1950-03"))


def test_window_given_apart_stands_in_place_of_the_documents() -> None:
    """One document can be judged against another claim."""
    window = (month("1955-01"), month("1955-02"))
    sheet = read_sheet(REFERENCE, {"reference": "small", "answers": {}}, window=window)
    assert sheet.window == sheet.claimed == window


def test_what_stands_around_the_answers_is_kept() -> None:
    """Claim, access, tools, serial, marks and disclosures come through; other keys are ignored."""
    sheet = read_sheet(
        REFERENCE,
        document(
            WINDOW,
            {},
            name="The one with the burn",
            claim={"words": "spring '53", "nothing_changed": True},
            access="handle",
            tools=["lamp"],
            serial_text="388",
            marks=[{"place": "board-9", "kind": "burn", "mm": 6}],
            disclosures=["player-wear"],
        ),
    )
    assert (sheet.claim_words, sheet.nothing_changed) == ("spring '53", True)
    assert (sheet.access, sheet.tools) == (Access.HANDLE, frozenset({"lamp"}))
    assert (sheet.marks[0].place, sheet.marks[0].kind, sheet.marks[0].mm) == ("board-9", "burn", 6)
    assert (sheet.serial_text, sheet.disclosures) == ("388", ("player-wear",))


def test_nothing_said_about_access_or_tools_rules_nothing_out() -> None:
    """A document that says nothing of leave or tools is not held to any."""
    sheet = read_sheet(REFERENCE, document(WINDOW, {}))
    assert (sheet.access, sheet.tools) == (Access.OPEN, None)


def test_measures_are_judged_as_a_card_can_carry_them() -> None:
    """Twelve bits of the span, the half rounded up, and every step stands for one value."""
    assert [measure_step(DEPTH, v) for v in (0.7, 1.1, 0.9)] == [0, 4095, 2048]
    for step in (0, 1, 2047, 4095):
        assert measure_step(DEPTH, measure_value(DEPTH, step)) == step


def test_other_errors_are_not_swallowed() -> None:
    """Only refusals are gathered; a bug stays a bug."""

    class Broken(dict[str, object]):
        def get(self, key: str, _: object = None) -> object:
            raise KeyError(key)

    with pytest.raises(KeyError, match="seen"):
        check_answer(KNOBS, Broken(seen="old"))
