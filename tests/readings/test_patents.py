"""Numbers of US patents."""

import calendar
import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import Reading, read_text
from quickcheck.readings.patents import first_tuesday, last_tuesday
from quickcheck.readings.tables import rows

UTILITY = [row for row in rows("patents") if row["series"] == "utility"]
DESIGN = [row for row in rows("patents") if row["series"] == "design"]


def read(text: str) -> Reading:
    return read_text("patent-us", text)


@given(st.integers(1800, 2100))
def test_issue_days_are_tuesdays(year: int) -> None:
    """First and last issue day of a year are Tuesdays of it, and the next ones are not."""
    first, last = first_tuesday(year), last_tuesday(year)
    week = timedelta(weeks=1)
    assert {calendar.weekday(*day.timetuple()[:3]) for day in (first, last)} == {calendar.TUESDAY}
    assert first.year == last.year == year
    assert (first - week).year < year < (last + week).year


@pytest.mark.parametrize("series", [UTILITY, DESIGN])
def test_the_table_rises_without_a_gap(series: list[dict[str, str]]) -> None:
    """Each year from 1900 to 2000 has a first number, higher than the last."""
    assert [int(row["year"]) for row in series] == list(range(1900, 2001))
    firsts = [int(row["first"]) for row in series]
    assert firsts == sorted(set(firsts))


@pytest.mark.parametrize(("at", "row"), list(enumerate(UTILITY[:-1])), ids=str)
def test_each_year_begins_with_its_first_number(at: int, row: dict[str, str]) -> None:
    """Its first number and the last before the next year's are of the year."""
    last = int(UTILITY[at + 1]["first"]) - 1
    for number in (row["first"], str(last)):
        (meaning,) = read(number).meanings
        assert meaning.year == int(row["year"])
        assert meaning.last == last_tuesday(int(row["year"]))


@given(st.integers(640167, 6009554), st.integers(640167, 6009554))
def test_floors_rise_with_numbers(one: int, other: int) -> None:
    """A higher number is never of an earlier year."""
    early, late = read(str(min(one, other))).floor, read(str(max(one, other))).floor
    assert early
    assert late
    assert early <= late


@pytest.mark.parametrize(
    ("text", "series", "number"),
    [
        ("PAT. 2,524,035", "utility", 2524035),
        ("U.S. Pat. No. 2524035", "utility", 2524035),
        ("Patents 2,524,035-7", "utility", 2524035),
        ("DES. 156,686", "design", 156686),
        ("D156,686", "design", 156686),
        ("d-156686", "design", 156686),
        ("USD156686", "design", 156686),
        ("Design Pat. 156,686", "design", 156686),
        ("Reg. U.S. Pat. Off. Pat. 2,524,035", "utility", 2524035),
    ],
)
def test_forms(text: str, series: str, number: int) -> None:
    """A number is found in the words around it, and a D makes it a design."""
    (meaning,) = read(text).meanings
    assert dict(meaning.more)["series"] == series
    assert dict(meaning.more)["number"] == number


def test_several_numbers_give_the_latest_floor() -> None:
    """A part that bears two is no older than the later one."""
    reading = read("PATS. 2,046,343 and 2,524,035")
    assert [meaning.year for meaning in reading.meanings] == [1936, 1950]
    assert reading.floor == date(1950, 1, 3)
    assert reading.ceiling is None


@pytest.mark.parametrize(
    ("number", "first", "last"),
    [
        ("D36,000", 1902, 1902),  # before the years that wait for a check
        ("D156,686", 1949, 1951),
        ("D365,671", 1996, 1996),
    ],
)
def test_designs_are_a_year_either_way(number: str, first: int, last: int) -> None:
    """From 1904 to 1995 the boundaries of designs are from memory: a year of slack."""
    (meaning,) = read(number).meanings
    assert (meaning.first, meaning.last) == (first_tuesday(first), last_tuesday(last))


def test_tables_that_differ_give_both_years() -> None:
    """1927 begins with 1,612,700 in one table and 1,612,790 in another."""
    assert read("1,612,699").meanings[0].says.endswith("issued in 1926")
    assert "1926 or 1927" in read("1,612,789").says
    assert read("1,612,789").floor == first_tuesday(1926)
    assert read("1,612,790").floor == first_tuesday(1927)


def test_numbers_outside_the_table_say_so() -> None:
    """Below it there is no floor; above it the last year is one."""
    below, above = read("640,166"), read("12,000,000")
    assert "before 1900, where the table begins" in below.says
    assert below.floor is None
    assert below.meanings[0].last == last_tuesday(1899)
    assert "in 2000 or later: the table ends there" in above.says
    assert (above.floor, above.meanings[0].last) == (date(2000, 1, 4), None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1,950,000", "(checked against a copy of the primary)"),
        ("2,400,000", "(from memory, and it agrees with dated examples: check before you rely"),
        ("D156,686", "(from memory: check before you rely on it)"),
        ("2,524,035", "This bounds the part, never the instrument."),
        ("900,000", "Numbers on goods are usual from 1 Apr 1927 on (reported by others)."),
    ],
)
def test_words_tell_how_well_it_is_known(text: str, words: str) -> None:
    """The weakest status that was used decides the wording."""
    assert words in read(text).says


@pytest.mark.parametrize(
    "text", ["Patent Pending", "PAT. PEND.", "Pat. Appl'd For", "Pats. applied for"]
)
def test_pending_bounds_nothing(text: str) -> None:
    """A patent that was applied for has no number and no legal effect."""
    reading = read(text)
    assert (reading.meanings, reading.floor, reading.ceiling) == ((), None, None)
    assert "bounds nothing" in reading.says


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("RE 23,123", "reissues are a series of their own"),
        ("Reissue 23,123", "reissues are a series of their own"),
        ("PP 12,345", "plants are a series of their own"),
        ("Brit. Pat. 812,345", "foreign patents are series of their own"),
        ("D.R.P. 712345", "foreign patents are series of their own"),
        ("Reg. U.S. Pat. Off. 512,345", "trade marks have numbers of their own"),
        ("T.M. 512,345", "trade marks have numbers of their own"),
        ("Pat. 1927", "a number of 5 to 8 digits"),
        ("PAT. AUG 14 1923", "the day of a patent is read by date-stamp"),
        ("", "a number of 5 to 8 digits"),
    ],
)
def test_other_numbers_are_refused_with_the_reason(text: str, why: str) -> None:
    """Other series, and what is no number, are not read as a US patent."""
    with pytest.raises(ReadingError, match=re.escape(why)):
        read(text)


def test_other_series_are_left_aside() -> None:
    """Beside a number that is read they are told and bound nothing."""
    reading = read("PAT. 2,524,035, RE 23,123")
    assert reading.floor == date(1950, 1, 3)
    assert "Left aside: RE 23,123: reissues are a series of their own." in reading.says


@given(st.text("PATDESRE.,-0123456789 ", max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing but a reading or a refusal comes out."""
    try:
        reading = read(text)
    except ReadingError:
        return
    assert reading.as_json()["scheme"] == "patent-us"
