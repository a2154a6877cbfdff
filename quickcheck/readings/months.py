"""Whole months as numbers: January of year 0 is 0, so that months can be counted and compared."""

import calendar
import re
from typing import Final

from quickcheck.errors import ReadingError, shown

FIRST: Final = 12 * 1800
LAST: Final = 12 * 2100 + 11
_FORM: Final = re.compile(r"([0-9]{4})-(0[1-9]|1[0-2])")


def month_of(year: int, month: int) -> int:
    """Return the number of a month (1 to 12) of a year."""
    return 12 * year + month - 1


def parse_month(text: str, *, where: str = "month") -> int:
    """Return the number of a month written ``1954-03``; refuse anything else, naming ``where``."""
    found = _FORM.fullmatch(text.strip())
    number = month_of(int(found[1]), int(found[2])) if found else -1
    if not FIRST <= number <= LAST:
        raise ReadingError.of(
            where,
            expected="a month from 1800-01 to 2100-12, written like 1954-03",
            came=shown(text),
            remedy="Write four digits, a hyphen and two digits.",
        )
    return number


def month_text(month: int) -> str:
    """Return ``1954-03``."""
    return f"{month // 12:04d}-{month % 12 + 1:02d}"


def month_words(month: int) -> str:
    """Return ``Mar 1954``."""
    return f"{calendar.month_abbr[month % 12 + 1]} {month // 12}"


def run_words(first: int, last: int) -> str:
    """Return a run of months in words: ``Mar 1954``, ``Mar–May 1954``, ``Nov 1953–Jan 1955``, ``1953–1954``."""
    if first == last:
        return month_words(first)
    if first % 12 == 0 and last % 12 == 11:
        return f"{first // 12}" if first // 12 == last // 12 else f"{first // 12}–{last // 12}"
    if first // 12 != last // 12:
        return f"{month_words(first)}–{month_words(last)}"
    return f"{calendar.month_abbr[first % 12 + 1]}–{month_words(last)}"
