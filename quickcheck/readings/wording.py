"""Words that several readings share: days, lists, what a floor bounds, how well a fact is known."""

import calendar
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

ONLY_THE_PART: Final = "This bounds the part, never the instrument."
STATUS_WORDS: Final = {
    "checked": "checked against a copy of the primary",
    "reported": "reported by others",
    "derived": "derived from what is checked",
    "year-checked": (
        "the year checked against a copy of the primary, the day from memory: "
        "check before you rely on it"
    ),
    "consistent": "from memory, and it agrees with dated examples: check before you rely on it",
    "memory": "from memory: check before you rely on it",
}
"""How well a row of a table is known; best first."""
_SURE: Final = frozenset({"checked", "derived"})
_RANK: Final = {status: rank for rank, status in enumerate(STATUS_WORDS)}


def status_words(statuses: Iterable[str]) -> str:
    """Return the words for what is known least well among these."""
    return STATUS_WORDS[weakest(statuses)]


def weakest(statuses: Iterable[str]) -> str:
    """Return the status that is known least well."""
    return max(statuses, key=_RANK.__getitem__)


def are_sure(statuses: Iterable[str]) -> bool:
    """Tell whether all of these may be told as they stand; of the others it is "said" that they are."""
    return _SURE.issuperset(statuses)


def day_words(day: date) -> str:
    """Return ``14 Aug 1966``."""
    return f"{day.day} {calendar.month_abbr[day.month]} {day.year}"


def listed(words: Sequence[str], last: str = "or") -> str:
    """Return ``1946, 1956 or 1966``."""
    *others, end = words
    return f"{', '.join(others)} {last} {end}" if others else end


def capital(words: str) -> str:
    """Return the words with a capital at their head."""
    return f"{words[:1].upper()}{words[1:]}"


def floor_words(floor: date) -> str:
    """Return what a floor says of a part."""
    return bound_words(floor, None)


def bound_words(floor: date | None, ceiling: date | None, *, sure: bool = True) -> str:
    """Return both bounds in a sentence's end: ``the part is no older than … and no younger than …``.

    Where they are not ``sure``, the part is said to be so.
    """
    ends = [f"no older than {day_words(floor)}"] if floor else []
    ends += [f"no younger than {day_words(ceiling)}"] if ceiling else []
    if not ends:
        return "that bounds nothing"
    return f"the part is {'' if sure else 'said to be '}{' and '.join(ends)}"
