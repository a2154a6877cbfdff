"""Date codes, held against the registrar's example and weeks counted by hand."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import DATE_SCHEMES, Reading, month_of, read_code
from quickcheck.readings.weeks import WEEK_RULES, week_start

_ISO = "monday, ISO 8601"


@pytest.mark.parametrize("rule", ["sunday, most of the week", "sunday, first full week"])
def test_registrars_example_fits_two_sunday_rules(rule: str) -> None:
    """E1 (ecianow.org/eia-source-codes): 113-9910 is Sunday 7 to Saturday 13 March 1999."""
    assert week_start(rule, 1999, 10) == date(1999, 3, 7)


def test_registrars_example_differs_from_iso() -> None:
    """E2 (computed): by ISO 8601 the same week begins on Monday 8 March 1999."""
    assert week_start(_ISO, 1999, 10) == date(1999, 3, 8)


def test_registrars_example_is_read_with_its_source() -> None:
    """E1: source, year and week are told apart, and the registrar's week lies inside."""
    (meaning,) = read_code("source-week", "113-9910").meanings
    assert (meaning.source, meaning.year, meaning.week) == ("113", 1999, 10)
    assert meaning.first <= date(1999, 3, 7)
    assert meaning.last >= date(1999, 3, 13)


@pytest.mark.parametrize("text", ["137 634", "137634", "137-6-34", "137 6 34", "137-634"])
def test_one_digit_years_mean_every_decade(text: str) -> None:
    """E3 (form verified, set derived from the first list of 1946): 1946, 1956 … 1986."""
    reading = read_code("source-week", text)
    assert [meaning.year for meaning in reading.meanings] == [1946, 1956, 1966, 1976, 1986]
    assert {(meaning.source, meaning.week) for meaning in reading.meanings} == {("137", 34)}


@pytest.mark.parametrize(
    ("text", "year", "first", "last"),
    [
        pytest.param("XXX 0 34", 1950, date(1950, 8, 20), date(1950, 8, 27), id="E5 computed"),
        pytest.param("XXX 1 13", 1951, date(1951, 3, 25), date(1951, 4, 7), id="E6 computed"),
    ],
)
def test_a_week_is_the_union_of_the_customs(text: str, year: int, first: date, last: date) -> None:
    """Where customs differ the days of all are kept."""
    reading = read_code("source-week", text)
    (meaning,) = [each for each in reading.meanings if each.year == year]
    assert (meaning.first, meaning.last) == (first, last)


@pytest.mark.parametrize("week", ["00", *(str(week) for week in range(54, 100))])
@pytest.mark.parametrize("text", ["137-66{}", "137-6{}"])
def test_weeks_that_no_year_has_are_refused(text: str, week: str) -> None:
    """E8 (definition): a week must be 01 to 53."""
    with pytest.raises(ReadingError, match="a week from 01 to 53 in the last two digits"):
        read_code("source-week", text.format(week))


@pytest.mark.parametrize("week", range(1, 54))
def test_every_week_of_a_year_is_read(week: int) -> None:
    """E8, the other side: 01 to 53 are all taken."""
    assert read_code("year-week", f"59-{week:02d}").meanings[0].week == week


def test_seven_digits_show_both_splits() -> None:
    """Source 137 of 1966 and source 1376 of any decade's 6 are both meant."""
    reading = read_code("source-week", "1376634")
    found = {(meaning.source, meaning.year) for meaning in reading.meanings}
    assert found == {("137", 1966)} | {("1376", year) for year in range(1946, 1990, 10)}
    assert reading.says.count("1966") == 1


@pytest.mark.parametrize(
    ("text", "source"),
    [("137-6634", "137"), ("1376-634", "1376"), ("137 66 34", "137"), ("1376 6 34", "1376")],
)
def test_hyphens_and_blanks_decide_the_split(text: str, source: str) -> None:
    """Where the stamp shows how it is divided, only that is meant."""
    assert {meaning.source for meaning in read_code("source-week", text).meanings} == {source}


def test_eight_digits_are_a_long_source() -> None:
    """Four digits of source, two of year, two of week."""
    (meaning,) = read_code("source-week", "13766634").meanings
    assert (meaning.source, meaning.year, meaning.week) == ("1376", 1966, 34)


@pytest.mark.parametrize(
    ("text", "years"),
    [("7215", [1972]), ("59-31", [1959]), ("59 31", [1959]), ("12/31", [1912, 2012])],
)
def test_plain_stamps_are_year_and_week(text: str, years: list[int]) -> None:
    """7215 is the 15th week of 1972 (note on organ parts); early years leave two centuries."""
    assert [meaning.year for meaning in read_code("year-week", text).meanings] == years


def test_months_are_those_in_which_a_day_falls() -> None:
    """A week across the turn of a month counts for both months, once each, rising."""
    assert read_code("year-week", "59-31").months == (month_of(1959, 7), month_of(1959, 8))


def test_a_part_is_a_floor_and_no_ceiling() -> None:
    """The bound is the first day of the earliest meaning; parts lie in stock."""
    reading = read_code("source-week", "137 0 34")
    assert reading.floor == date(1950, 8, 20)
    assert reading.ceiling is None
    assert (
        "Week 34 of 1950, 1960, 1970 or 1980: the part is no older than 20 Aug 1950."
        in reading.says
    )
    assert "This bounds the part, never the instrument." in reading.says


def test_json_has_the_names_of_the_command_line() -> None:
    """The printed form carries meanings, bounds and sources."""
    found = read_code("year-week", " 59-31 ").as_json()
    assert found["scheme"] == "year-week"
    assert found["read"] == "59-31"
    assert found["meanings"] == [
        {
            "from": "1959-07-26",
            "to": "1959-08-08",
            "year": 1959,
            "week": 31,
            "source": None,
            "says": "week 31 of 1959",
        }
    ]
    assert (found["floor"], found["ceiling"]) == ("1959-07-26", None)
    assert found["sources"]


def test_bounds_that_are_missing_are_null_in_json() -> None:
    """A scheme without a floor, should one come, prints null."""
    reading = Reading("year-week", "", (), "", None, date(1959, 1, 1), ())
    assert reading.as_json()["floor"] is None
    assert reading.as_json()["ceiling"] == "1959-01-01"


@pytest.mark.parametrize(
    ("scheme", "text"),
    [
        ("year-week", "593"),
        ("year-week", "59--31"),
        ("year-week", "59311"),
        ("year-week", "week 31"),
        ("year-week", "٥٩٣١"),
        ("source-week", "13 634"),
        ("source-week", "137"),
        ("source-week", "137-6X34"),
        ("source-week", "1" * 41),
        ("year-week", ""),
    ],
)
def test_other_forms_are_refused(scheme: str, text: str) -> None:
    """What does not look like the scheme is refused with its example."""
    with pytest.raises(ReadingError, match=f"a code like {DATE_SCHEMES[scheme].example}"):
        read_code(scheme, text)


def test_unknown_schemes_are_refused() -> None:
    """The message lists those that are known."""
    with pytest.raises(
        ReadingError, match='one of year-week, source-week, date-stamp; got "month-day"'
    ):
        read_code("month-day", "59-31")


@pytest.mark.parametrize("scheme", DATE_SCHEMES)
def test_every_scheme_reads_its_own_example(scheme: str) -> None:
    """What a form shows as an example can be typed."""
    assert read_code(scheme, DATE_SCHEMES[scheme].example).meanings


@given(st.integers(1900, 2045), st.integers(1, 53))
def test_weeks_agree_with_days_counted_one_by_one(year: int, week: int) -> None:
    """Each custom, counted forward from 1 January, day by day, gives the same first day."""
    january = [date(year, 1, 1) + timedelta(days=n) for n in range(-6, 14)]
    sundays = [day for day in january if day.isoweekday() == 7]
    in_year = {day: sum((day + timedelta(n)).year >= year for n in range(7)) for day in sundays}
    counted = {
        "sunday, most of the week": next(day for day in sundays if in_year[day] >= 4),
        "sunday, first full week": next(day for day in sundays if in_year[day] == 7),
        "sunday, holds 1 January": next(day for day in sundays if in_year[day] >= 1),
        _ISO: next(d for d in january if d.isocalendar()[:2] == (year, 1)),
    }
    for rule, first in counted.items():
        assert week_start(rule, year, week) == first + timedelta(days=7 * (week - 1))
    assert set(counted) == set(WEEK_RULES)


@given(st.sampled_from(["source-week", "year-week"]), st.text("0123456789-X? ", max_size=12))
def test_any_code_is_read_or_refused(scheme: str, text: str) -> None:
    """Meanings, if any, are in order, at most two weeks and a day or two long, and not empty."""
    try:
        reading = read_code(scheme, text)
    except ReadingError:
        return
    assert list(reading.meanings) == sorted(reading.meanings, key=lambda each: each.first)
    assert all(7 < (each.last - each.first).days + 1 <= 15 for each in reading.meanings)
    assert list(reading.months) == sorted(set(reading.months))
