"""Numbers of US patents: the year in which each was issued, and so from when a part can bear it.

From a number alone the floor is the first issue day of its year, a Tuesday: numbers are not spread
evenly inside a year (a straight line misses 3 October 1950 by 14 days), and some were never used.
There is no ceiling, as a number stays on the tool for decades.
"""

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Final

from quickcheck.readings.records import Meaning, Reading, once
from quickcheck.readings.scheme import refused
from quickcheck.readings.tables import rows
from quickcheck.readings.wording import (
    ONLY_THE_PART,
    are_sure,
    bound_words,
    capital,
    day_words,
    status_words,
    weakest,
)

ABOUT: Final = (
    "Number of a US patent, with D or DES before that of a design; several on one part may stand "
    "together."
)
EXAMPLE: Final = "PAT. 2,524,035"
SOURCES: Final = (
    "USPTO, Table of Issue Years and Patent Numbers, for Selected Document Types Issued Since 1836",
    "issue days are Tuesdays: Official Gazette, contents pages of November 1945 and January 1947",
)
_NUMBERED_FROM: Final = date(1927, 4, 1)
_DESIGN_UNSURE: Final = range(1904, 1996)  # one year either way until somebody checks them
_TUESDAY: Final = 1
_NUMBER: Final = re.compile(
    r"(?P<kind>[A-Z][A-Z.' ]*?)?[ .:#-]*(?P<number>[0-9]{1,3}(?:,[0-9]{3}){1,2}|[0-9]{5,8})(?![0-9]|,[0-9])"
)
_DESIGN: Final = re.compile(r"(?:^|[ .]|US)D(?:ES(?:IGN)?)?(?:[ .]|$)")
_PENDING: Final = re.compile(r"PAT(?:ENT)?S?[. ]+(?:PEND|APP)")
_FOREIGN: Final = (
    r"BRIT|BRITISH|G\.?B|U\.?K|CAN|CANADA|CANADIAN|GER|GERMAN|D\.?R\.?P|D\.?B\.?P|D\.?R\.?G\.?M|D\.?E|"
    r"F\.?R|FRENCH|JAP|JAPAN|JAPANESE|J\.?P|E\.?P|W\.?O|ITAL|ITALIAN|SWISS|SWEDISH"
)
_OTHERS: Final = (
    # A pattern of the word before the number, and why the number says nothing here.
    (r"\bRE(?:ISSUE)?\b(?!G)", "reissues are a series of their own"),
    (r"\bP\.?P\b|\bPLANT", "plants are a series of their own"),
    (r"\bREG\b|\bREGISTRATION|\bT\.?M\b|\bTRADE ?-?MARK", "trade marks have numbers of their own"),
    (rf"\b(?:{_FOREIGN})\b", "foreign patents are series of their own"),
)


@dataclass(frozen=True, slots=True)
class _Row:
    year: int
    first: int
    other: int | None  # the same boundary in a table that differs
    status: str
    source: str


@cache
def _series(name: str) -> tuple[_Row, ...]:
    """Return the first number of each year, rising."""
    return tuple(
        _Row(
            int(row["year"]),
            int(row["first"]),
            int(row["other"]) if row["other"] else None,
            row["status"],
            row["source"],
        )
        for row in rows("patents")
        if row["series"] == name
    )


def first_tuesday(year: int) -> date:
    """Return the first day of a year on which patents were issued."""
    return date(year, 1, 1) + timedelta(days=(_TUESDAY - date(year, 1, 1).weekday()) % 7)


def last_tuesday(year: int) -> date:
    """Return the last day of a year on which patents were issued."""
    return first_tuesday(year + 1) - timedelta(weeks=1)


def read_patent(text: str) -> Reading:
    """Return the years of every US utility and design number; raise ReadingError if there is none."""
    found = list(_NUMBER.finditer(text.upper()))
    aside = [(match, _aside(match)) for match in found]
    numbers = [match for match, why in aside if not why]
    others = once(f"{match[0].strip()}: {why}" for match, why in aside if why)
    if not numbers and not others and _PENDING.search(text.upper()):
        return _pending(text)
    if not numbers:
        raise _refused(text, others)
    read = [_read(match) for match in numbers]
    meanings = tuple(meaning for meaning, _ in read)
    return Reading(
        "patent-us",
        text,
        meanings,
        _says(meanings, others),
        max((meaning.first for meaning in meanings if meaning.first), default=None),
        None,
        once([*SOURCES, *(source for _, sources in read for source in sources)]),
    )


def _aside(found: re.Match[str]) -> str:
    """Return why a number is no US utility or design patent; "" where it may be one."""
    word = (found["kind"] or "").strip()
    tail = word.rpartition("OFF")[2]  # "Reg. U.S. Pat. Off." is no word on the number after it
    word = tail if "PAT" in tail else word
    return next((why for pattern, why in _OTHERS if re.search(pattern, word, re.ASCII)), "")


def _pending(text: str) -> Reading:
    says = (
        "A patent that was pending or applied for bounds nothing: it has no legal effect by itself "
        f"({status_words(['checked'])})."
    )
    sources = ("35 U.S.C. 292; USPTO guidance (goreading.org, noreklaw.com)",)
    return Reading("patent-us", text, (), says, None, None, sources)


def _refused(text: str, others: Sequence[str]) -> Exception:
    if others:
        return refused(
            "patent",
            text,
            "the number of a US utility or design patent",
            remedy=f"{capital('; '.join(others))}; they bound nothing here.",
        )
    return refused(
        "patent",
        text,
        f"a number of 5 to 8 digits, like {EXAMPLE} or DES. 156,686",
        remedy="Copy the number again; the day of a patent is read by date-stamp.",
    )


def _read(found: re.Match[str]) -> tuple[Meaning, tuple[str, ...]]:
    """Return what one number means, and its sources."""
    series = "design" if _DESIGN.search(found["kind"] or "") else "utility"
    number = int(found["number"].replace(",", ""))
    table = _series(series)
    near = [row for row in table if row.other and row.first <= number < row.other]
    at = bisect_right([row.first for row in table], number) - 1
    if at < 0:
        return _before(series, number, table[0]), (table[0].source,)
    last = at == len(table) - 1
    used = table[at : at + 1] if last else table[at : at + 2]
    status = weakest(row.status for row in used)
    if last:
        return _after(series, number, table[at]), (table[at].source,)
    year = table[at].year
    slack = int(series == "design" and year in _DESIGN_UNSURE)
    early = year - max(slack, int(bool(near)))
    issued = _issued(series, number, status)
    says = _year_words(issued, year, slack=slack, near=bool(near))
    more = (("series", series), ("number", number), ("status", status))
    meaning = Meaning(first_tuesday(early), last_tuesday(year + slack), year, None, says, more=more)
    return meaning, once(row.source for row in used)


def _year_words(issued: str, year: int, *, slack: int, near: bool) -> str:
    if slack:
        return f"{issued} in {year}, give or take a year"
    if near:
        return f"{issued} in {year - 1} or {year}: tables differ here"
    return f"{issued} in {year}"


def _issued(series: str, number: int, status: str) -> str:
    """Return the head of what is told of a number, softly where its rows are not sure."""
    was = "was" if are_sure([status]) else "is said to have been"
    return f"US {'design ' if series == 'design' else ''}patent {number:,} {was} issued"


def _before(series: str, number: int, row: _Row) -> Meaning:
    says = f"{_issued(series, number, row.status)} before {row.year}, where the table begins"
    more = (("series", series), ("number", number), ("status", row.status))
    return Meaning(None, last_tuesday(row.year - 1), None, None, says, more=more)


def _after(series: str, number: int, row: _Row) -> Meaning:
    says = f"{_issued(series, number, row.status)} in {row.year} or later: the table ends there"
    more = (("series", series), ("number", number), ("status", row.status))
    return Meaning(first_tuesday(row.year), None, None, None, says, more=more)


def _says(meanings: Sequence[Meaning], others: Sequence[str]) -> str:
    floor = max((meaning.first for meaning in meanings if meaning.first), default=None)
    statuses = [str(dict(meaning.more)["status"]) for meaning in meanings]
    words = [f"{'; '.join(meaning.says for meaning in meanings)} ({status_words(statuses)})."]
    words.append(f"{capital(bound_words(floor, None, sure=are_sure(statuses)))}.")
    if floor:
        words.append(f"{ONLY_THE_PART} A number stays on the tool for decades.")
    if floor and floor < _NUMBERED_FROM:
        words.append(
            f"Numbers on goods are usual from {day_words(_NUMBERED_FROM)} on "
            f"({status_words(['reported'])})."
        )
    if others:
        words.append(f"Left aside: {'; '.join(others)}.")
    return " ".join(words)
