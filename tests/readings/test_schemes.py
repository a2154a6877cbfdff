"""The list of schemes, and what every one of them keeps to."""

import importlib
import json
import pkgutil
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

import quickcheck.readings as room
from quickcheck.errors import ReadingError
from quickcheck.readings import DATE_SCHEMES, SCHEMES, read_code, read_text
from quickcheck.readings.parts_table import usual_parts
from quickcheck.readings.tables import rows
from quickcheck.readings.weeks import WEEK_RULES, week_start
from quickcheck.readings.wording import STATUS_WORDS, bound_words, status_words

TABLES = ("bounds", "parts", "patents", "states")


def test_every_scheme_that_was_asked_for_is_there() -> None:
    """Three date a part by runs of days; nine are read."""
    assert set(SCHEMES) == {
        "source-week",
        "patent-us",
        "postal-us",
        "mark",
        "year-week",
        "date-stamp",
        "scale-length",
        "resistance",
        "weight",
    }
    assert set(DATE_SCHEMES) == {"source-week", "year-week", "date-stamp"}


@pytest.mark.parametrize("name", SCHEMES)
def test_every_scheme_reads_its_own_example(name: str) -> None:
    """What a form shows can be typed, and comes out in one form for all."""
    found = read_text(name, f"  {SCHEMES[name].example} ").as_json()
    assert list(found) == ["scheme", "read", "meanings", "floor", "ceiling", "says", "sources"]
    assert (found["scheme"], found["read"]) == (name, SCHEMES[name].example)
    assert found["sources"]
    for meaning in json.loads(json.dumps(found))["meanings"]:
        assert {"from", "to", "year", "week", "says"} <= set(meaning)
        for end in ("from", "to"):
            assert meaning[end] is None or date.fromisoformat(meaning[end])


@pytest.mark.parametrize("name", SCHEMES)
def test_a_floor_bounds_the_part_and_says_so(name: str) -> None:
    """Where there is a bound the words tell of what; where there is none they don't."""
    reading = read_text(name, SCHEMES[name].example)
    bounded = bool(reading.floor or reading.ceiling)
    assert ("This bounds the part, never the instrument." in reading.says) == bounded


@pytest.mark.parametrize("name", SCHEMES)
def test_too_long_a_text_is_refused(name: str) -> None:
    """Nobody stamps that much."""
    with pytest.raises(ReadingError, match=re.escape(f"a code like {SCHEMES[name].example}")):
        read_text(name, "1" * (SCHEMES[name].longest + 1))


@pytest.mark.parametrize("name", sorted(set(SCHEMES) - set(DATE_SCHEMES)))
def test_a_point_is_read_only_by_what_dates(name: str) -> None:
    """What gives no run of days is no date code."""
    with pytest.raises(ReadingError, match="one of year-week, source-week, date-stamp"):
        read_code(name, SCHEMES[name].example)


def test_unknown_schemes_are_refused_with_all_that_are_known() -> None:
    """The message lists every one."""
    with pytest.raises(ReadingError, match=r"year-week, .*, mark, .*, weight"):
        read_text("moon-phase", "59-31")


@pytest.mark.parametrize("name", DATE_SCHEMES)
def test_dates_are_whole_runs_of_days(name: str) -> None:
    """A point of a reference gets one month at least, each meaning with both ends."""
    reading = read_code(name, SCHEMES[name].example)
    assert reading.months
    assert all(meaning.first and meaning.last for meaning in reading.meanings)


@given(
    st.integers(1946, 2045),
    st.integers(1, 52),
    st.sampled_from(sorted(WEEK_RULES)),
    st.sampled_from(["137-{y:02d}{w:02d}", "137{y:02d}{w:02d}", "1376 {y:02d} {w:02d}", "137-{y:02d}-{w:02d}", "137{y:02d}{w:02d} A", "XXX {y:02d}{w:02d}"]),
)  # fmt: skip
def test_every_code_of_a_known_week_reads_back(year: int, week: int, rule: str, form: str) -> None:
    """By whatever custom it was stamped, that week is inside one of the meanings."""
    first = week_start(rule, year, week)
    meanings = read_code("source-week", form.format(y=year % 100, w=week)).meanings
    assert any(
        meaning.first
        and meaning.last
        and meaning.first <= first
        and (meaning.last - first).days >= 6
        for meaning in meanings
        if (meaning.year, meaning.week) == (year, week)
    )


@given(st.integers(1946, 1989), st.integers(1, 52))
def test_a_digit_leaves_the_decade_open(year: int, week: int) -> None:
    """One digit of the year gives its own decade and every other one."""
    years = {
        meaning.year for meaning in read_code("source-week", f"137 {year % 10}{week:02d}").meanings
    }
    assert years == {each for each in range(1946, 1990) if each % 10 == year % 10}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("137-6634 A", {("137", 1966, 34)}),
        ("137-6634B", {("137", 1966, 34)}),
        ("137-6634-2", {("137", 1966, 34)}),
        ("137 66 34", {("137", 1966, 34)}),  # 34 is no shift: five digits before it are too few
        ("1376634 12", {("137", 1966, 34), *(("1376", y, 34) for y in range(1946, 1990, 10))}),
        ("13764", {("137", y, 4) for y in range(1946, 1990, 10)}),
        ("137 6 4", {("137", y, 4) for y in range(1946, 1990, 10)}),
    ],
)
def test_plants_shifts_and_short_weeks(text: str, found: set[tuple[str, int, int]]) -> None:
    """Signs after a code are left aside; five digits have a week of one."""
    meanings = read_code("source-week", text).meanings
    assert {(meaning.source, meaning.year, meaning.week) for meaning in meanings} == found


def test_the_kind_of_part_is_told_with_its_status() -> None:
    """A symbol of the table tells what it is met on; another one is no error."""
    known, other = read_code("source-week", "137-6634"), read_code("source-week", "999-6634")
    assert "Symbol 137 is said to be met on potentiometers (reported by others)." in known.says
    assert "from memory: check before you rely on it" in read_code("source-week", "304-6634").says
    assert known.as_json()["meanings"][0]["usual"] == "potentiometers"  # type: ignore[index]
    assert "Symbol" not in other.says
    assert len(usual_parts()) == len(rows("parts"))


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_its_source_and_status(name: str) -> None:
    """No fact stands without where it is from and how well it is known."""
    for row in rows(name):
        assert row["source"]
        assert row["status"] in STATUS_WORDS
        assert None not in row
        assert None not in row.values()


def test_the_weakest_status_is_told() -> None:
    """A chain is as good as its worst link."""
    assert status_words(["checked", "memory", "reported"]) == STATUS_WORDS["memory"]


@pytest.mark.parametrize(
    ("floor", "ceiling", "words"),
    [
        (None, None, "that bounds nothing"),
        (date(1950, 1, 3), None, "the part is no older than 3 Jan 1950"),
        (None, date(1952, 4, 28), "the part is no younger than 28 Apr 1952"),
        (
            date(1950, 1, 3),
            date(1952, 4, 28),
            "the part is no older than 3 Jan 1950 and no younger than 28 Apr 1952",
        ),
    ],
)
def test_bounds_in_words(floor: date | None, ceiling: date | None, words: str) -> None:
    """Both, either or none."""
    assert bound_words(floor, ceiling) == words


def test_every_name_the_room_offers_is_there() -> None:
    """``__all__`` is true, and each module of the room says what it is for."""
    assert all(hasattr(room, name) for name in room.__all__)
    for module in pkgutil.iter_modules(room.__path__, "quickcheck.readings."):
        assert importlib.import_module(module.name).__doc__
