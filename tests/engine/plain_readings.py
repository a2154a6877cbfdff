"""Months, units and date codes in plain loops: nothing here comes from the package under test."""

import datetime as dt
import math
import re
from collections.abc import Iterator

INCH_MM = 25.4  # exact: international inch, 16 CFR 500.19
POUND_G = 453.59237  # exact: international pound
OUNCE_G = POUND_G / 16
UNITS = {
    "mm": ("length", 1.0),
    "in": ("length", INCH_MM),
    "g": ("mass", 1.0),
    "kg": ("mass", 1000.0),
    "lb": ("mass", POUND_G),
    "oz": ("mass", OUNCE_G),
    "ohm": ("resistance", 1.0),
    "kohm": ("resistance", 1000.0),
}
FIRST_CODE_YEAR = 1946  # the first register of source numbers
SUNDAY = 6  # as date.weekday() counts
DAY = dt.timedelta(days=1)
WEEK = dt.timedelta(days=7)


def month_number(text: object) -> int:
    """Return a month "1954-03" as one whole number that grows by 1 a month."""
    match = re.fullmatch(r"([0-9]{4})-([0-9]{2})", text) if isinstance(text, str) else None
    if match is None or not 1 <= int(match[2]) <= 12:
        raise ValueError(f"not a month: {text!r}")
    return int(match[1]) * 12 + int(match[2]) - 1


def month_text(number: int) -> str:
    return f"{number // 12:04d}-{number % 12 + 1:02d}"


def converted(value: float, unit: str, to: str) -> float:
    """Return a value of one unit in another of the same kind."""
    if unit not in UNITS:
        raise ValueError(f"unknown unit: {unit!r}")
    (kind, size), (wanted, target) = UNITS[unit], UNITS[to]
    if kind != wanted:
        raise ValueError(f"{unit} is no unit of {wanted}")
    if not math.isfinite(value):
        raise ValueError("a number that is not finite")
    return value if unit == to else value * size / target


def _sunday_on_or_before(day: dt.date) -> dt.date:
    while day.weekday() != SUNDAY:
        day -= DAY
    return day


def _first_weeks(year: int) -> Iterator[dt.date]:
    """First day of week 1 under each of the four rules in use."""
    new_year = dt.date(year, 1, 1)
    yield dt.date.fromisocalendar(year, 1, 1)  # Monday; week 1 holds four days of the year
    yield _sunday_on_or_before(dt.date(year, 1, 4))  # Sunday; the same
    yield _sunday_on_or_before(new_year)  # Sunday; week 1 holds 1 January
    yield _sunday_on_or_before(dt.date(year, 1, 7))  # Sunday; first full week


def week_months(year: int, week: int) -> set[int]:
    """Return all months in which a day of this week falls, under any of the week rules.

    reads: week 53 is counted on from week 1, also in a year that has only 52 under that rule.
    """
    months = set()
    for first in _first_weeks(year):
        for day in range(7):
            date = first + (week - 1) * WEEK + day * DAY
            months.add(date.year * 12 + date.month - 1)
    return months


def _years(digits: str, last_year: int) -> list[int]:
    """Return the years that a one- or two-digit year can mean, from 1946 up.

    The upper end is open; years after the last month asked about weigh nothing, so they may stop
    ten years later (a code with no earlier meaning still has one there).
    """
    size = 10 ** len(digits)
    until = max(last_year + 10, FIRST_CODE_YEAR + size)
    return [y for y in range(FIRST_CODE_YEAR, until + 1) if y % size == int(digits)]


def _source_splits(text: str) -> Iterator[tuple[str, str]]:
    """Year and week digits of every form that a source-and-date marking can be read in."""
    parts = re.fullmatch(r"(?:([0-9]{3,4})[ -])?([0-9]{1,2})[ -]?([0-9]{2})", text)
    if parts is not None and parts[1] is not None:
        yield parts[2], parts[3]
        return
    for source, year in ((3, 1), (3, 2), (4, 1), (4, 2), (0, 2)):
        # reads: unbroken, 6 digits are 3+1+2, 7 are 3+2+2 or 4+1+2, 8 are 4+2+2, 4 are year+week
        if re.fullmatch(rf"[0-9]{{{source + year + 2}}}", text):
            yield text[source : source + year], text[source + year :]


def code_months(scheme: str, read: str, last_year: int) -> list[int]:
    """Return the candidate months of a marking, sorted; ValueError where there is none."""
    text = read.strip()
    months: set[int] = set()
    if scheme == "year-week":
        match = re.fullmatch(r"([0-9]{2})[ -]?([0-9]{2})", text)
        # reads: a house stamp "59-31" is of the 1900s
        if match is not None and 1 <= int(match[2]) <= 53:
            months |= week_months(1900 + int(match[1]), int(match[2]))
    elif scheme == "source-week":
        for digits, week in _source_splits(text):
            if 1 <= int(week) <= 53:
                for year in _years(digits, last_year):
                    months |= week_months(year, int(week))
    if not months:
        raise ValueError(f"no candidate month in {read!r}")
    return sorted(months)
