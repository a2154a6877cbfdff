"""Weeks of a year by every custom of counting them, and years of one or two digits."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

FIRST_LIST: Final = 1946
"""Year of the registrar's first list of source symbols."""
LAST_ONE_DIGIT: Final = 1989
"""Judgement: two-digit years were the rule by the end of the 1960s; twenty years of grace."""

WEEK_SOURCES: Final = (
    "registrar's page, ecianow.org/eia-source-codes: 113-9910 is the week of 7 March 1999",
    "ISO 8601: weeks run Monday to Sunday, week 1 holds the first Thursday",
)


def _sunday_before(day: date) -> date:
    return day - timedelta(days=day.isoweekday() % 7)


WEEK_RULES: Final[Mapping[str, Callable[[int], date]]] = MappingProxyType(
    {
        # Each gives the first day of week 1. The one known example fits the first two; which was
        # in use where and when is not known, so a code means the union of all four.
        "sunday, most of the week": lambda year: _sunday_before(date(year, 1, 4)),
        "sunday, first full week": lambda year: _sunday_before(date(year, 1, 7)),
        "sunday, holds 1 January": lambda year: _sunday_before(date(year, 1, 1)),
        "monday, ISO 8601": lambda year: date.fromisocalendar(year, 1, 1),
    }
)


def week_start(rule: str, year: int, week: int) -> date:
    """Return the first day of a week (1 to 53) by one of `WEEK_RULES`."""
    return WEEK_RULES[rule](year) + timedelta(weeks=week - 1)


def week_days(year: int, week: int) -> tuple[date, date]:
    """Return the first and the last day that a week has by any of `WEEK_RULES`."""
    starts = [week_start(rule, year, week) for rule in WEEK_RULES]
    return min(starts), max(starts) + timedelta(days=6)


def registered_years(digits: str) -> tuple[int, ...]:
    """One digit: every decade from the first list on. Two: the hundred years from then on."""
    if len(digits) == 1:
        first = FIRST_LIST + (int(digits) - FIRST_LIST) % 10
        return tuple(range(first, LAST_ONE_DIGIT + 1, 10))
    return (FIRST_LIST + (int(digits) - FIRST_LIST) % 100,)


def plain_years(digits: str) -> tuple[int, ...]:
    """Two digits on a plain stamp may also be older than the registered symbols."""
    return tuple(sorted({1900 + int(digits), *registered_years(digits)}))
