"""Dates stamped on parts."""

import calendar
from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import Reading, month_of, read_code

DAYS = st.dates(date(1850, 1, 1), date(2045, 12, 31))


def read(text: str) -> Reading:
    return read_code("date-stamp", text)


def days(text: str) -> list[tuple[date | None, date | None]]:
    return [(meaning.first, meaning.last) for meaning in read(text).meanings]


@pytest.mark.parametrize(
    "text",
    [
        "AUG 14 1966",
        "Aug. 14, 1966",
        "14 August 1966",
        "14TH AUG '66",
        "14AUG66",
        "8-14-66",
        "14 8 66",
        "14/08/1966",
        "1966-08-14",
        "66.8.14",
        "081466",
        "140866",
        "660814",
        "19660814",
        "08141966",
    ],
)
def test_a_day_in_every_form(text: str) -> None:
    """Where only one order makes a day, that is the one."""
    assert days(text) == [(date(1966, 8, 14),) * 2]


@pytest.mark.parametrize(
    "text", ["8-66", "08/1966", "66-8", "1966-08", "AUG 66", "Aug. 1966", "AUG '66"]
)
def test_a_month_in_every_form(text: str) -> None:
    """Without a day the whole month is meant."""
    assert days(text) == [(date(1966, 8, 1), date(1966, 8, 31))]


@pytest.mark.parametrize("text", ["1966", "'66"])
def test_a_year(text: str) -> None:
    """A year alone is all its days."""
    assert days(text) == [(date(1966, 1, 1), date(1966, 12, 31))]
    assert len(read(text).months) == 12


def test_the_order_of_day_and_month_is_not_chosen() -> None:
    """3-4-52 is both days; the floor is the earlier."""
    assert days("3-4-52") == [(date(1952, 3, 4),) * 2, (date(1952, 4, 3),) * 2]
    assert read("3-4-52").floor == date(1952, 3, 4)
    assert read("3-4-52").says.startswith(
        "4 Mar 1952 or 3 Apr 1952: the part is no older than 4 Mar"
    )


def test_the_century_is_not_chosen() -> None:
    """Two digits up to 45 are of both centuries, in every order."""
    assert [meaning.year for meaning in read("AUG 14 05").meanings] == [1905, 2005]
    years = [meaning.year for meaning in read("01-02-03").meanings]
    assert years == [1901, 1903, 1903, 2001, 2003, 2003]


def test_it_is_a_floor_and_no_ceiling() -> None:
    """The part is bounded, the instrument is not, and the words say so."""
    reading = read("AUG 14 1966")
    assert (reading.floor, reading.ceiling) == (date(1966, 8, 14), None)
    assert "This bounds the part, never the instrument." in reading.says


@pytest.mark.parametrize(
    "text",
    [
        "AUG 14",  # a day without a year, or 1914
        "66",
        "2-30-66",
        "13-13-66",
        "8-0-66",
        "31-6-66",
        "29 FEB 1966",
        "MA 66",
        "J 1966",
        "1849",
        "2046",
        "8---66",
        "-8-66",
        "8-66-",
        "''66",
        "'1966",
        "8'66'1",
        "AUG 14 196",
        "AUG 14 1966 X",
        "AUG MA",
        "AUG 'A",
        "1 2 3 4",
        "123456789",
        "week 31",
        "٨-٦٦",
        "",
    ],
)
def test_what_is_no_date_is_refused(text: str) -> None:
    """The message has forms that are read."""
    with pytest.raises(ReadingError, match="a date like AUG 14 1966, 8-14-66, 8-66 or 1966"):
        read(text)


@given(DAYS)
def test_every_day_reads_back_in_letters(day: date) -> None:
    """Month in letters and four digits of the year leave nothing open."""
    month = calendar.month_name[day.month]
    for text in (f"{month} {day.day}, {day.year}", f"{day.day} {month[:3].upper()} {day.year}"):
        assert days(text) == [(day, day)]


@given(
    DAYS,
    st.sampled_from(
        ["{m}-{d}-{y:02d}", "{d}.{m}.{y:02d}", "{y:02d} {m} {d}", "{m:02d}{d:02d}{y:02d}"]
    ),
)
def test_every_day_is_among_the_meanings_of_its_digits(day: date, form: str) -> None:
    """In whatever order it was stamped, it is one of those that are given."""
    if day.year < 1900:
        day = day.replace(year=1950, day=min(day.day, 28))
    text = form.format(d=day.day, m=day.month, y=day.year % 100)
    assert (day, day) in days(text)
    assert month_of(day.year, day.month) in read(text).months


def by_two_digits() -> dict[tuple[int, int, int], set[date]]:
    """Return every day from 1900 to 2045 under each order of its numbers."""
    found: dict[tuple[int, int, int], set[date]] = {}
    day = date(1900, 1, 1)
    while day.year <= 2045:
        y, m, d = day.year % 100, day.month, day.day
        for key in ((m, d, y), (d, m, y), (y, m, d)):
            found.setdefault(key, set()).add(day)
        day += timedelta(days=1)
    return found


EVERY_DAY = by_two_digits()


@given(
    st.one_of(st.sampled_from(sorted(EVERY_DAY)), st.tuples(*[st.integers(0, 99)] * 3)),
    st.sampled_from(["{:02d}-{:02d}-{:02d}", "{:02d}{:02d}{:02d}", "{:02d} {:02d} {:02d}"]),
)
def test_three_numbers_mean_every_day_that_has_them_and_no_other(
    numbers: tuple[int, int, int], form: str
) -> None:
    """Held against all days of 146 years, counted one by one."""
    try:
        came = {meaning.first for meaning in read(form.format(*numbers)).meanings}
    except ReadingError:
        came = set()
    assert came == EVERY_DAY.get(numbers, set())


@given(st.text("0123456789AUGMYSEPTH'., -/", max_size=40))
@example("1" * 39 + "!")
@example("A1" * 20)
def test_any_text_is_read_or_refused(text: str) -> None:
    """Meanings are in order and whole; nothing else comes out, and at once."""
    try:
        reading = read(text)
    except ReadingError:
        return
    assert list(reading.meanings) == sorted(reading.meanings, key=lambda each: str(each.first))
    assert all(meaning.months() for meaning in reading.meanings)
    assert len(set(reading.meanings)) == len(reading.meanings)
