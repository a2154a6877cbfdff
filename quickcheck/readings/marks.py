"""Marks on parts and labels: country, trade mark, telephone, bar code, postal forms.

Each mark is found by its pattern, and each bounds a part by the rows of a table. Hard bounds of
several marks hold together: the latest floor, the earliest ceiling. What is only usual is told and
bounds nothing, as old stock and early use are met. A mark that is not there is no evidence.
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Final

from quickcheck.readings.records import Meaning, Reading, once
from quickcheck.readings.scheme import refused
from quickcheck.readings.tables import rows
from quickcheck.readings.wording import (
    ONLY_THE_PART,
    STATUS_WORDS,
    are_sure,
    bound_words,
    capital,
    day_words,
    listed,
    status_words,
)

MARK_ABOUT: Final = (
    "The words on a part or label: country of origin, trade mark, telephone number, bar code, "
    "sign of an authority; several may stand together."
)
MARK_EXAMPLE: Final = "Made in Occupied Japan"
POSTAL_ABOUT: Final = "The last line of a US address, as printed: city, zone, state, ZIP."
POSTAL_EXAMPLE: Final = "Springfield 7, Ill."

_NO_EVIDENCE: Final = "A mark that is missing is no evidence."
_SIGNS: Final = str.maketrans({"®": "(r)", "Ⓡ": "(r)", "ⓡ": "(r)", "’": "'", "‘": "'", "–": "-"})
_BOUND_WORDS: Final = {
    "floor": ("not before {}", "said to be not before {}"),
    "ceiling": ("not after {}", "said to be not after {}"),
    "usual-from": ("usual from {} on",) * 2,
    "usual-to": ("usual to {}",) * 2,
    "rule": ("no day",) * 2,
    "none": ("bounds nothing", "said to bound nothing"),
}
"""Bound → its words where the row is sure, and where it is not."""
_STOP: Final = re.compile(r"(?<=\b[a-z])\.|(?<=[a-z])\.(?![a-z])", re.ASCII)
_POINT: Final = re.compile(r"(?<=[0-9])\.(?=[0-9])")
_FROM: Final = frozenset({"floor", "usual-from"})
_HARD: Final = frozenset({"floor", "ceiling"})


@dataclass(frozen=True, slots=True)
class Bound:
    """One row on a mark: ``day`` None where it bounds nothing."""

    kind: str
    day: date | None
    says: str
    source: str
    status: str

    @property
    def is_sure(self) -> bool:
        """Whether it may be told as it stands."""
        return are_sure([self.status])


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark, how it is found, and what it bounds."""

    name: str
    words: str
    pattern: re.Pattern[str]
    check: str
    bounds: tuple[Bound, ...]
    states: bool  # whether it is found by how states are spelt

    def found_in(self, text: str) -> bool:
        """Tell whether the text has it."""
        return any(_fits(self.check, found[0]) for found in self.pattern.finditer(text))


def read_mark(text: str) -> Reading:
    """Return the bounds of every mark in a text; raise ReadingError where none is known."""
    return _read("mark", text, _plain(text))


def read_postal(text: str) -> Reading:
    """Return the bounds of a US address line; raise ReadingError where it has no postal form."""
    return _read("postal-us", text, unicodedata.normalize("NFKC", text))


def intersection(
    floors: Iterable[date | None], ceilings: Iterable[date | None]
) -> tuple[date | None, date | None]:
    """Return the latest floor and the earliest ceiling; None where nothing bounds."""
    return (
        max((day for day in floors if day), default=None),
        min((day for day in ceilings if day), default=None),
    )


def check_digit_fits(digits: str) -> bool:
    """Tell whether the last digit of a bar code is its check digit: weights 3 and 1, mod 10.

    Source: GS1 General Specifications, section 7.9 (from memory).
    """
    weighted = sum(int(digit) * (3, 1)[at % 2] for at, digit in enumerate(digits[-2::-1]))
    return (weighted + int(digits[-1])) % 10 == 0


@cache
def _marks(scheme: str) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            row["id"],
            row["mark"],
            re.compile(_filled(row["pattern"]), re.ASCII),
            row["check"],
            _bounds(row["id"]),
            "{" in re.sub(r"\{\d", "", row["pattern"]),
        )
        for row in rows("marks")
        if row["scheme"] == scheme
    )


def _bounds(name: str) -> tuple[Bound, ...]:
    return tuple(
        Bound(
            row["bound"],
            date.fromisoformat(row["date"]) if row["date"] else None,
            row["says"],
            row["source"],
            row["status"],
        )
        for row in rows("bounds")
        if row["mark"] == name
    )


def _filled(pattern: str) -> str:
    """Return a pattern with the states in place of ``{state}``, their codes of ``{two}``."""
    codes = [row["code"] for row in rows("states")]
    names = [row["name"] for row in rows("states")]
    older = [word for row in rows("states") for word in row["older"].split(";") if word]
    spelt = sorted({*codes, *names, *older, *(name.upper() for name in names)}, key=len)
    states = "|".join(re.escape(word) for word in reversed(spelt))
    return pattern.replace("{state}", states).replace("{two}", "|".join(codes))


def _plain(text: str) -> str:
    """Return a text in small letters, its signs plain, without the stops of what is shortened."""
    small = unicodedata.normalize("NFKC", text.translate(_SIGNS)).lower()
    return " ".join(_POINT.sub("-", _STOP.sub("", small)).split())


def _fits(check: str, found: str) -> bool:
    """Tell whether what a pattern found stands up to its check, if it has one."""
    return not check or check_digit_fits("".join(sign for sign in found if sign.isdigit()))


def _read(scheme: str, text: str, plain: str) -> Reading:
    marks = [mark for mark in _marks(scheme) if mark.found_in(plain)]
    if not marks:
        raise refused(
            "mark",
            text,
            f"one of these: {'; '.join(mark.words for mark in _marks(scheme))}",
            remedy="Copy the words as they stand; a mark that is not known bounds nothing.",
        )
    floor, ceiling = intersection(_days(marks, "floor"), _days(marks, "ceiling"))
    return Reading(
        scheme,
        text,
        tuple(_meaning(mark, bound) for mark in marks for bound in mark.bounds),
        _says(marks, floor, ceiling),
        floor,
        ceiling,
        once(
            [
                *(bound.source for mark in marks for bound in mark.bounds),
                *_state_facts(marks, "source"),
            ]
        ),
    )


def _state_facts(marks: Sequence[Mark], column: str) -> tuple[str, ...]:
    """Return what the table of states has in a column, if a mark was found by it."""
    spelt = any(mark.states for mark in marks)
    return once(row[column] for row in rows("states")) if spelt else ()


def _days(marks: Sequence[Mark], kind: str) -> list[date | None]:
    return [bound.day for mark in marks for bound in mark.bounds if bound.kind == kind]


def _meaning(mark: Mark, bound: Bound) -> Meaning:
    begins = bound.kind in _FROM
    more = (
        ("mark", mark.name),
        ("bound", bound.kind),
        ("hard", bound.kind in _HARD),
        ("status", bound.status),
    )
    return Meaning(
        bound.day if begins else None,
        None if begins else bound.day,
        None,
        None,
        f"{mark.words}: {_bound_words(bound)}",
        more=more,
    )


def _bound_words(bound: Bound) -> str:
    words = _BOUND_WORDS[bound.kind][not bound.is_sure]
    day = day_words(bound.day) if bound.day else ""
    return f"{words.format(day)} ({bound.says}; {STATUS_WORDS[bound.status]})"


def _says(marks: Sequence[Mark], floor: date | None, ceiling: date | None) -> str:
    told = "; ".join(_told(mark) for mark in marks)
    if floor and ceiling and floor > ceiling:
        whole = "No day fits all of these: they don't belong to one part, or one was misread."
    elif floor or ceiling:
        bounds = [bound for mark in marks for bound in mark.bounds if bound.kind in _HARD]
        sure = all(bound.is_sure for bound in bounds if bound.day in {floor, ceiling})
        whole = f"{capital(bound_words(floor, ceiling, sure=sure))}. {ONLY_THE_PART}"
    else:
        whole = f"{capital(bound_words(None, None))}."
    words = [f"{whole} {capital(told)}."]
    statuses = _state_facts(marks, "status")
    if statuses:
        words.append(f"How states are spelt is a list of ours ({status_words(statuses)}).")
    return " ".join([*words, _NO_EVIDENCE])


def _told(mark: Mark) -> str:
    bounds = [_bound_words(bound) for bound in mark.bounds if bound.kind != "rule"]
    return f"{mark.words}: {listed(bounds, 'and')}"
