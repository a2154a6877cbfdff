"""Dates stamped or written on parts: every day, month or year that the signs can mean.

Two signs are open on a plain stamp: which number is the month, and which century two digits of a
year belong to. All orders that a calendar allows are given, none is preferred.
"""

import calendar
import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final

from quickcheck.readings.records import Meaning, Reading
from quickcheck.readings.scheme import refused
from quickcheck.readings.weeks import plain_years
from quickcheck.readings.wording import (
    ONLY_THE_PART,
    capital,
    day_words,
    floor_words,
    listed,
)

ABOUT: Final = (
    "Day, month and year, or month and year, or a year of four digits; the month as a number or "
    "in English."
)
EXAMPLE: Final = "AUG 14 1966"
SOURCES: Final = ("the date as it stands; orders of day and month: common practice, no source",)

_FIRST_YEAR: Final = 1850
_LAST_YEAR: Final = 2045
_MONTHS: Final = {calendar.month_name[month].upper(): month for month in range(1, 13)}
_TOKENS: Final = re.compile(r"[0-9]+|[A-Z]+|'")
_OTHER: Final = re.compile(r"[^0-9A-Z' .,/-]|[ .,/-]{3}|^[ .,/-]|[,/-]$")
_COUNTED: Final = re.compile(r"([0-9])(?:ST|ND|RD|TH)\b")
_ORDERS: Final = {3: ("mdy", "dmy", "ymd"), 2: ("my", "ym"), 1: ("y",)}
_UNBROKEN: Final = {6: ((2, 2, 2),), 8: ((2, 2, 4), (4, 2, 2))}

Days = tuple[date, date]


def read_stamp(text: str) -> Reading:
    """Return every run of days that a date can mean; raise ReadingError where it has none."""
    meanings = sorted({_meaning(days) for days in _all(text)}, key=lambda each: str(each.first))
    if not meanings:
        raise refused(
            "date",
            text,
            f"a date like {EXAMPLE}, 8-14-66, 8-66 or 1966. {ABOUT}",
            remedy=(
                "Copy the stamp again; a month and two digits up to 31 can be a day without a year,"
                " so write the year with four digits or like '14."
            ),
        )
    floor = meanings[0].first
    which = listed([meaning.says for meaning in meanings])
    says = f"{capital(which)}: {floor_words(floor) if floor else ''}. {ONLY_THE_PART}"
    return Reading("date-stamp", text, tuple(meanings), says, floor, None, SOURCES)


def _all(text: str) -> Iterator[Days]:
    """Yield every run of days, by every division and order that fits; some may come twice."""
    for pieces in _pieces(text.upper()):
        for order in _ORDERS.get(len(pieces), ()):
            yield from _ordered(dict(zip(order, pieces, strict=True)))


def _pieces(text: str) -> Iterable[list[str]]:
    """Return the divisions of a text in signs of year, month and day; a year's ' stays with it."""
    if _OTHER.search(text):
        return []
    plain = _COUNTED.sub(r"\1", text)
    pieces: list[str] = []
    for token in _TOKENS.findall(plain):
        if pieces and pieces[-1] == "'":
            pieces[-1] += token
        else:
            pieces.append(token)
    splits = _UNBROKEN.get(len(plain), ()) if plain.isdigit() else ()
    return [pieces, *(_cut(plain, lengths) for lengths in splits)]


def _cut(digits: str, lengths: tuple[int, ...]) -> list[str]:
    ends = [sum(lengths[: index + 1]) for index in range(len(lengths))]
    return [digits[end - size : end] for end, size in zip(ends, lengths, strict=True)]


def _ordered(by: dict[str, str]) -> Iterator[Days]:
    """Yield the runs of days that these signs of year, month and day mean."""
    month = _month(by["m"]) if "m" in by else None
    if "m" in by and (month is None or _may_be_a_day(by)):
        return
    for year in _years(by["y"], alone="m" not in by):
        days = _run(year, month, by.get("d"))
        if days:
            yield days


def _may_be_a_day(by: dict[str, str]) -> bool:
    """Tell whether two digits beside a month in letters may be its day, the year being left out."""
    letters = "d" not in by and by["m"].isalpha()
    return letters and len(by["y"]) == 2 and by["y"].isdigit() and 1 <= int(by["y"]) <= 31


def _month(signs: str) -> int | None:
    if signs.isdigit():
        number = int(signs) if len(signs) <= 2 else 0
        return number if 1 <= number <= 12 else None
    long = "SEPTEMBER" if signs == "SEPT" else signs
    fits = [month for name, month in _MONTHS.items() if name.startswith(long)]
    return fits[0] if len(long) >= 3 and len(fits) == 1 else None


def _years(signs: str, *, alone: bool) -> tuple[int, ...]:
    digits = signs.removeprefix("'")
    if len(digits) == 2 and digits.isdigit() and (signs != digits or not alone):
        return plain_years(digits)
    full = int(digits) if len(digits) == 4 and digits == signs and digits.isdigit() else 0
    return (full,) if _FIRST_YEAR <= full <= _LAST_YEAR else ()


def _run(year: int, month: int | None, day: str | None) -> Days | None:
    if month is None:
        return date(year, 1, 1), date(year, 12, 31)
    last = calendar.monthrange(year, month)[1]
    if day is None:
        return date(year, month, 1), date(year, month, last)
    number = int(day) if day.isdigit() and len(day) <= 2 else 0
    return (date(year, month, number),) * 2 if 1 <= number <= last else None


def _meaning(days: Days) -> Meaning:
    first, last = days
    return Meaning(first, last, first.year, None, _days_words(first, last))


def _days_words(first: date, last: date) -> str:
    if first == last:
        return day_words(first)
    if first.month == last.month:
        return f"{calendar.month_abbr[first.month]} {first.year}"
    return str(first.year)
