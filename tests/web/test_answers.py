"""From a point's fields to its answer and back."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from quickcheck.engine import check_answer
from quickcheck.errors import ReadingError
from quickcheck.reference import OTHER, Kind, Place, Point
from quickcheck.web.answers import answer_of, fields_of
from quickcheck.web.words import NOT_SEEN_WORDS, STATE_WORDS, units_like
from tests.web.kit import read

REFERENCE = read()
STATES = [state for state in STATE_WORDS if state]
NOTES = st.text(min_size=1, max_size=30).map(str.strip).filter(bool)


def readings(point: Point) -> st.SearchStrategy[dict[str, Any]]:
    """Return what may be read off a point, of any kind."""
    variants = [variant.id for variant in point.seen]
    match point.kind:
        case Kind.PICK:
            return st.sampled_from([*variants, OTHER]).map(lambda seen: {"seen": seen})
        case Kind.SIGN if point.many:
            several = st.lists(st.sampled_from(variants), min_size=1, unique=True)
            where = st.lists(st.sampled_from([p.value for p in Place]), min_size=1, unique=True)
            return st.builds(lambda seen, at: {"seen": seen, "where": at}, several, where) | (
                several.map(lambda seen: {"seen": seen})
            )
        case Kind.SIGN:
            return st.sampled_from(variants).map(lambda seen: {"seen": seen})
        case Kind.MEASURE:
            values = st.decimals("0.7", "1.1", places=4).map(float)
            return st.builds(
                lambda value, unit: {"value": value, "unit": unit}, values, st.just(point.unit)
            )
        case Kind.SERIAL:
            return st.from_regex(r"[0-9]{3,4}", fullmatch=True).map(lambda text: {"read": text})
        case _:
            return st.from_regex(r"5[0-9]-[0-4][1-9]", fullmatch=True).map(
                lambda text: {"read": text}
            )


@st.composite
def answers(draw: st.DrawFn) -> tuple[Point, dict[str, Any]]:
    """Return a point of any kind and an answer that it takes, in the form that is stored."""
    point = draw(st.sampled_from(REFERENCE.points))
    note = draw(st.none() | NOTES)
    extra = {} if note is None else {"note": note}
    kind = draw(st.sampled_from(["read", "not seen", "note", "changed"]))
    if kind == "not seen":
        return point, {"not_seen": draw(st.sampled_from(list(NOT_SEEN_WORDS))), **extra}
    if kind == "note":
        return point, {"note": draw(NOTES)}
    if kind == "changed" and point.kind is not Kind.SIGN:
        return point, {"state": "changed", **extra}
    answer = {**draw(readings(point)), **extra}
    if draw(st.booleans()):
        answer["sure"] = False
    if point.kind is not Kind.SIGN and draw(st.booleans()):
        answer["state"] = draw(st.sampled_from(STATES))
    return point, answer


@given(answers())
def test_round_trip(case: tuple[Point, dict[str, Any]]) -> None:
    """The fields that an answer fills give the same answer again."""
    point, answer = case
    check_answer(point, answer)
    assert answer_of(point, fields_of(point, answer)) == answer


@given(answers(), answers())
def test_other_points_do_not_matter(
    one: tuple[Point, dict[str, Any]], other: tuple[Point, dict[str, Any]]
) -> None:
    """Fields of another point beside a point's own change nothing."""
    (point, answer), (beside, more) = one, other
    if point.id != beside.id:
        fields: MultiDict[str, str] = MultiDict(fields_of(point, answer))
        fields.update(fields_of(beside, more))
        assert answer_of(point, fields) == answer


@given(answers())
def test_checked_answer_is_the_same(case: tuple[Point, dict[str, Any]]) -> None:
    """The engine takes the answer from the form for the one that was stored."""
    point, answer = case
    again = answer_of(point, fields_of(point, answer))
    assert again is not None
    assert check_answer(point, again) == check_answer(point, answer)


@pytest.mark.parametrize("point", REFERENCE.points, ids=lambda point: point.id)
def test_nothing_filled_in(point: Point) -> None:
    """Empty fields, or only a tick at "unsure", are no answer."""
    assert answer_of(point, MultiDict()) is None
    blank = MultiDict({point.id: " ", f"{point.id}.note": "\n", f"{point.id}.state": ""})
    assert answer_of(point, blank) is None
    assert answer_of(point, MultiDict({f"{point.id}.unsure": "1"})) is None


@pytest.mark.parametrize(
    ("text", "unit", "kept"),
    [
        ("15/16", None, {"value": 0.9375, "unit": "in"}),
        ("0.935", "in", {"value": 0.935, "unit": "in"}),
        ("23.8", "mm", {"value": 23.8, "unit": "mm"}),
        ("23,8 mm", "in", {"value": 23.8, "unit": "mm"}),
    ],
)
def test_units(text: str, unit: str | None, kept: dict[str, Any]) -> None:
    """A number takes the unit written beside it, else the one chosen, else the point's own."""
    point = REFERENCE.by_id["neck-depth"]
    fields = MultiDict({point.id: text} | ({f"{point.id}.unit": unit} if unit else {}))
    assert answer_of(point, fields) == kept


def test_no_number() -> None:
    """What is no number is refused with what came."""
    point = REFERENCE.by_id["neck-depth"]
    with pytest.raises(ReadingError, match="about an inch"):
        answer_of(point, MultiDict({point.id: "about an inch"}))


def test_unknown_places_are_left_out() -> None:
    """A place that no outline has is not kept."""
    point = REFERENCE.by_id["finish-signs"]
    fields: MultiDict[str, str] = MultiDict([(point.id, "patch"), (f"{point.id}.where", "moon")])
    assert answer_of(point, fields) == {"seen": ["patch"]}


def test_units_of_a_kind() -> None:
    """The units to choose from are of the point's kind, its own first."""
    assert units_like("lb")[0] == "lb"
    assert set(units_like("in")) == {"in", "mm"}
    assert set(units_like("kohm")) == {"kohm", "ohm"}
