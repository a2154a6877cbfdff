"""Week codes stamped on parts: from the digits to every stretch of days they can mean.

A code is read without a clock and without the claim: a one-digit year gives a meaning for every
decade, and a week gives the days of all customs of counting weeks. Choosing among them is for
whoever weighs the code against other things. A part's date is a floor for what it was built
into, as parts lay in stock; it is never a ceiling.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType
from typing import Final

from quickcheck.readings.parts_table import usual_parts
from quickcheck.readings.records import Meaning, Reading, once
from quickcheck.readings.scheme import like, refused
from quickcheck.readings.weeks import WEEK_SOURCES, plain_years, registered_years, week_days
from quickcheck.readings.wording import (
    ONLY_THE_PART,
    STATUS_WORDS,
    are_sure,
    capital,
    floor_words,
    listed,
)

_SIGNS: Final = re.compile(r"[ ./-]")
_EXTRA: Final = re.compile(r"(?P<code>(?:[ -]?[0-9X?]){6,8})(?:[ -]?[A-WYZ]{1,2}|[ -][0-9]{1,2})")
"""A plant or a shift after a code of six digits or more: letters, or digits that are set off."""


@dataclass(frozen=True, slots=True)
class Split:
    """How many digits are the symbol, the year and the week."""

    symbol: int
    year: int
    week: int = 2


@dataclass(frozen=True, slots=True)
class _Piece:
    symbol: str
    year: str
    week: int


@dataclass(frozen=True, slots=True)
class WeekCode:
    """One way of stamping weeks: the splits of its digits, in words and as a table."""

    about: str
    example: str
    form: re.Pattern[str]
    splits: tuple[Split, ...]
    years: Callable[[str], Iterable[int]]
    sources: tuple[str, ...]
    extra: bool = False  # whether a sign of plant or shift may follow


WEEK_CODES: Final[Mapping[str, WeekCode]] = MappingProxyType(
    {
        "year-week": WeekCode(
            "Year and week: two digits each, with or without a sign between.",
            "59-31",
            re.compile(r"[0-9]{2}[ ./-]?[0-9]{2}"),
            (Split(0, 2),),
            plain_years,
            ("organ builder's note on part stamps (7215 is the 15th week of 1972)", *WEEK_SOURCES),
        ),
        "source-week": WeekCode(
            "Registered symbol of whoever made the part (3 or 4 digits; X for one that can't be "
            "read), then year (1 or 2 digits) and week (2 digits).",
            "137-6634",
            re.compile(r"[0-9X?]{3,4}[ -]?[0-9]{1,2}[ -]?[0-9]{1,2}"),
            (Split(3, 1, 1), Split(3, 1), Split(3, 2), Split(4, 1), Split(4, 2)),
            registered_years,
            ("registrar's list of source symbols, first edition 1946", *WEEK_SOURCES),
            extra=True,
        ),
    }
)


def read_weeks(scheme: str, text: str) -> Reading:
    """Return every meaning of a code; raise ReadingError where it has none."""
    rule = WEEK_CODES[scheme]
    texts = _forms(rule, text.upper())
    if not texts:
        raise refused("code", text, like(rule.example, rule.about), remedy="Copy the stamp again.")
    pieces = [piece for each in texts for split in rule.splits for piece in _split(each, split)]
    meanings = sorted(
        {
            _meaning(piece, year)
            for piece in pieces
            if 1 <= piece.week <= 53
            for year in rule.years(piece.year)
        },
        key=lambda meaning: (meaning.first, meaning.source or ""),
    )
    if not meanings:
        raise refused(
            "code",
            text,
            "a week from 01 to 53 in the last two digits",
            remedy="Copy the stamp again; another way of stamping needs another scheme.",
        )
    return Reading(
        scheme,
        text,
        tuple(meanings),
        _says(meanings),
        meanings[0].first,
        None,
        (*rule.sources, *_usual_sources(meanings)),
    )


def _forms(rule: WeekCode, code: str) -> list[str]:
    """Return the code as it stands, and without what may be a plant or a shift, where they fit."""
    cut = _EXTRA.fullmatch(code) if rule.extra else None
    texts = [code, cut["code"]] if cut else [code]
    return [each for each in texts if rule.form.fullmatch(each)]


def _split(code: str, split: Split) -> list[_Piece]:
    """Return symbol, year and week where these lengths fit and no sign stands inside a piece."""
    ends = (split.symbol, split.symbol + split.year, split.symbol + split.year + split.week)
    digits = _SIGNS.sub("", code)
    breaks = {len(_SIGNS.sub("", code[: found.start()])) for found in _SIGNS.finditer(code)}
    if len(digits) != ends[2] or not breaks <= set(ends) or not digits[split.symbol :].isdigit():
        return []
    return [_Piece(digits[: ends[0]], digits[ends[0] : ends[1]], int(digits[ends[1] :]))]


def _meaning(piece: _Piece, year: int) -> Meaning:
    first, last = week_days(year, piece.week)
    part = usual_parts().get(piece.symbol)
    more = (("usual", part.usual), ("status", part.status)) if part else ()
    says = f"week {piece.week} of {year}"
    return Meaning(first, last, year, piece.week, says, piece.symbol or None, more)


def _says(meanings: Sequence[Meaning]) -> str:
    first = meanings[0].first
    floor = floor_words(first) if first else ""
    return " ".join(
        [f"{capital(weeks_words(meanings))}: {floor}. {ONLY_THE_PART}", *_usual_words(meanings)]
    )


def weeks_words(meanings: Sequence[Meaning]) -> str:
    """Return ``week 34 of 1946, 1956 or 1966``; runs of one week are told together."""
    told = dict.fromkeys((meaning.week, meaning.year) for meaning in meanings)
    runs = groupby(told, key=lambda each: each[0])
    return listed([f"week {week} of {listed([str(y) for _, y in run])}" for week, run in runs])


def _usual_words(meanings: Sequence[Meaning]) -> tuple[str, ...]:
    """Return what is told of each symbol: on what it is met, and how well that is known."""
    symbols = {meaning.source: dict(meaning.more) for meaning in meanings if meaning.more}
    return tuple(
        f"Symbol {symbol} is {met_on(str(more['usual']), str(more['status']))}."
        for symbol, more in symbols.items()
    )


def met_on(usual: str, status: str) -> str:
    """Return on what parts a symbol is met, softly where it is not sure, and how well it is known."""
    said = "" if are_sure([status]) else "said to be "
    return f"{said}met on {usual} ({STATUS_WORDS[status]})"


def _usual_sources(meanings: Sequence[Meaning]) -> tuple[str, ...]:
    parts = [usual_parts().get(meaning.source or "") for meaning in meanings]
    return once(f"part symbols: {part.source}" for part in parts if part)
