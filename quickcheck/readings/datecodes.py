"""Date codes stamped on parts: from the digits to every stretch of days they can mean.

A code is read without a clock and without the claim: a one-digit year gives a meaning for every
decade, and a week gives the days of all customs of counting weeks (below). Choosing among them
is for whoever weighs the code against other things. A part's date is a floor for the instrument,
as parts lay in stock; it is never a ceiling.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from quickcheck.errors import ReadingError, shown
from quickcheck.readings.months import month_of

_FIRST_LIST: Final = 1946
"""Year of the registrar's first list of source symbols."""
_LAST_ONE_DIGIT: Final = 1989
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


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing a code can mean: from ``first`` to ``last``, both days included."""

    first: date
    last: date
    year: int
    week: int | None
    says: str
    source: str | None = None  # the registered symbol, as written

    def as_json(self) -> dict[str, object]:
        """Return the form the command line prints."""
        return {
            "from": self.first.isoformat(),
            "to": self.last.isoformat(),
            "year": self.year,
            "week": self.week,
            "source": self.source,
            "says": self.says,
        }

    def months(self) -> range:
        """Return the months in which one of its days falls."""
        return range(
            month_of(self.first.year, self.first.month),
            month_of(self.last.year, self.last.month) + 1,
        )


@dataclass(frozen=True, slots=True)
class Reading:
    """A code, every meaning it can have (earliest first), and what that bounds."""

    scheme: str
    text: str
    meanings: tuple[Meaning, ...]
    says: str
    floor: date | None
    ceiling: date | None
    sources: tuple[str, ...]

    @property
    def months(self) -> tuple[int, ...]:
        """Return the distinct months, rising, in which a day of any meaning falls."""
        return tuple(sorted({month for meaning in self.meanings for month in meaning.months()}))

    def as_json(self) -> dict[str, object]:
        """Return the form the command line prints."""
        return {
            "scheme": self.scheme,
            "read": self.text,
            "meanings": [meaning.as_json() for meaning in self.meanings],
            "floor": self.floor.isoformat() if self.floor else None,
            "ceiling": self.ceiling.isoformat() if self.ceiling else None,
            "says": self.says,
            "sources": list(self.sources),
        }


@dataclass(frozen=True, slots=True)
class Scheme:
    """One way of stamping dates: the splits of its digits, in words and as a table."""

    about: str
    example: str
    form: re.Pattern[str]
    splits: tuple[tuple[int, int], ...]  # digits of the source symbol, digits of the year
    years: Callable[[str], Iterable[int]]
    sources: tuple[str, ...]


def _registered_years(digits: str) -> Iterable[int]:
    """One digit: every decade from the first list on. Two: the hundred years from then on."""
    if len(digits) == 1:
        return range(_FIRST_LIST + (int(digits) - _FIRST_LIST) % 10, _LAST_ONE_DIGIT + 1, 10)
    return (_FIRST_LIST + (int(digits) - _FIRST_LIST) % 100,)


def _plain_years(digits: str) -> Iterable[int]:
    """Two digits on a plain stamp may also be older than the registered symbols."""
    return sorted({1900 + int(digits), *_registered_years(digits)})


SCHEMES: Final[Mapping[str, Scheme]] = MappingProxyType(
    {
        "year-week": Scheme(
            "Year and week: two digits each, with or without a sign between.",
            "59-31",
            re.compile(r"[0-9]{2}[ ./-]?[0-9]{2}"),
            ((0, 2),),
            _plain_years,
            ("organ builder's note on part stamps (7215 is the 15th week of 1972)", *WEEK_SOURCES),
        ),
        "source-week": Scheme(
            "Registered symbol of whoever made the part (3 or 4 digits; X for one that can't be "
            "read), then year (1 or 2 digits) and week (2 digits).",
            "137-6634",
            re.compile(r"[0-9X?]{3,4}[ -]?(?:[0-9]{1,2}[ -]?[0-9]{2})"),
            ((3, 1), (3, 2), (4, 1), (4, 2)),
            _registered_years,
            ("registrar's list of source symbols, first edition 1946", *WEEK_SOURCES),
        ),
    }
)


def read_code(scheme: str, text: str) -> Reading:
    """Return every meaning of a code; raise ReadingError where it has none."""
    rule = _scheme(scheme)
    code = " ".join(text.upper().split()) if len(text) <= 40 else ""
    if not rule.form.fullmatch(code):
        raise _refused(text, f"a code like {rule.example}. {rule.about}", "Copy the stamp again.")
    pieces = [piece for split in rule.splits for piece in _split(code, split)]
    meanings = [
        _meaning(year, int(week), symbol)
        for symbol, digits, week in pieces
        if 1 <= int(week) <= 53
        for year in rule.years(digits)
    ]
    if not meanings:
        raise _refused(
            text,
            "a week from 01 to 53 in the last two digits",
            "Copy the stamp again; another way of stamping needs another scheme.",
        )
    meanings.sort(key=lambda meaning: (meaning.first, meaning.source or ""))
    return Reading(
        scheme,
        text.strip(),
        tuple(meanings),
        _says(meanings),
        meanings[0].first,
        None,
        rule.sources,
    )


def _scheme(name: str) -> Scheme:
    if name not in SCHEMES:
        raise ReadingError.of(
            "scheme",
            expected=f"one of {', '.join(SCHEMES)}",
            came=shown(name),
            remedy="Use one of these.",
        )
    return SCHEMES[name]


def _split(code: str, lengths: tuple[int, int]) -> list[tuple[str, str, str]]:
    """Return symbol, year and week where these lengths fit and no sign stands inside a piece."""
    symbol, year = lengths
    ends = (symbol, symbol + year, symbol + year + 2)
    digits = re.sub(r"[ ./-]", "", code)
    breaks = {len(re.sub(r"[ ./-]", "", code[: found.start()])) for found in _breaks(code)}
    if len(digits) != ends[2] or not breaks <= set(ends) or not digits[symbol:].isdigit():
        return []
    return [(digits[:symbol], digits[symbol : ends[1]], digits[ends[1] :])]


def _breaks(code: str) -> Iterable[re.Match[str]]:
    return re.finditer(r"[ ./-]", code)


def _meaning(year: int, week: int, symbol: str) -> Meaning:
    starts = [week_start(rule, year, week) for rule in WEEK_RULES]
    says = f"week {week} of {year}"
    first, last = min(starts), max(starts) + timedelta(days=6)
    return Meaning(first, last, year, week, says, symbol or None)


def _says(meanings: list[Meaning]) -> str:
    *others, last = dict.fromkeys(meaning.says for meaning in meanings)
    which = f"{', '.join(others)} or {last}" if others else last
    start = f"{which[:1].upper()}{which[1:]}"
    return f"{start}. If the part is the first one, the instrument is not older."


def _refused(text: str, expected: str, remedy: str) -> ReadingError:
    return ReadingError.of("code", expected=expected, came=shown(text), remedy=remedy)
