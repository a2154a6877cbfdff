"""Months as numbers, held against the calendar."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import month_of, month_text, month_words, parse_month, run_words


@given(st.dates(date(1800, 1, 1), date(2100, 12, 31)))
def test_a_month_survives_being_written_and_read(day: date) -> None:
    """Text and number are two forms of one month, and the text is that of ISO 8601."""
    number = month_of(day.year, day.month)
    assert month_text(number) == day.isoformat()[:7]
    assert parse_month(month_text(number)) == number


@pytest.mark.parametrize(
    "text", ["1954", "1954-13", "1954-00", "54-03", "1799-12", "2101-01", "", "1954-3"]
)
def test_other_forms_are_refused_by_name(text: str) -> None:
    """The message names the field and shows how a month is written."""
    with pytest.raises(
        ReadingError, match=r"window: expected a month from 1800-01 .* like 1954-03"
    ):
        parse_month(text, where="window")


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("1954-03", "1954-03", "Mar 1954"),
        ("1954-03", "1954-05", "Mar–May 1954"),
        ("1953-11", "1955-01", "Nov 1953–Jan 1955"),
        ("1954-01", "1954-12", "1954"),
    ],
)
def test_runs_are_said_as_short_as_they_can_be(first: str, last: str, words: str) -> None:
    """A year is said once where one is enough."""
    assert run_words(parse_month(first), parse_month(last)) == words


def test_one_month_in_words() -> None:
    """A month is its short name and year."""
    assert month_words(month_of(1954, 3)) == "Mar 1954"
