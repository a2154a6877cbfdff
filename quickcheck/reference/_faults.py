"""Faults as they are found, and where: every entry of a file knows its words and its position."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

from quickcheck.errors import Fault, ReferenceFaultsError, shown

_AFTER_ALL: Final = 10**6
_MANY: Final = 200
_TOLD: Final = 1000  # a megabyte of wrong keys must not become ten of words


@dataclass(frozen=True, eq=False)
class Entry:
    """One table of the file, as it came (``raw``) and as far as it could be read (``values``)."""

    words: str  # 'point "tuners", variant "open"'
    position: tuple[int, ...]
    raw: Mapping[str, Any]
    values: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, key: str) -> Any:
        """Return the value read, None where it is missing or faulty."""
        return self.values.get(key)

    def child(self, words: str, raw: Mapping[str, Any], *, at: tuple[str, int]) -> "Entry":
        """Return the entry of a table inside this one, ``at`` a key and its place in the list."""
        inside = f"{self.words}, {words}" if self.words else words
        return Entry(inside, (*self.position, self.index(at[0]), at[1]), raw)

    def index(self, key: str | None) -> int:
        """Return where a key stands in the entry; what is missing comes after what is there."""
        return self._places.get(key, _AFTER_ALL)

    @cached_property
    def _places(self) -> Mapping[str | None, int]:
        return {key: at for at, key in enumerate(self.raw)}


class Faults:
    """All faults of one file; `check` raises them together, in file order."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._found: list[tuple[tuple[int, ...], Fault]] = []

    def add(self, entry: Entry, key: str | None, *, say: tuple[str, str, str]) -> None:
        """Note a fault at a key; ``say`` is what was expected, what came and what to do."""
        parts = (self.name, entry.words, f'key "{key}"' if key else "")
        where = ", ".join(part for part in parts if part)
        self._found.append(((*entry.position, entry.index(key)), Fault(where, *say)))

    @property
    def are_many(self) -> bool:
        """Whether there are more than anybody reads, so that no pains need be taken over hints."""
        return len(self._found) > _MANY

    def check(self) -> None:
        """Raise what was found, if anything was; of more than anybody mends at once, the first."""
        if self._found:
            found = [fault for _, fault in sorted(self._found, key=lambda f: f[0])]
            more = len(found) - _TOLD
            if more > 0:
                remedy = "Mend the first ones; then these are told."
                found[_TOLD:] = [Fault(self.name, "no faults", f"{more} more", remedy)]
            raise ReferenceFaultsError(*found)


def came(value: object) -> str:
    """Return what came in words that a writer of the file knows."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dt.date | dt.time):
        return f"{value.isoformat()} without quotes"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, int) and abs(value) > 10**18:
        return "a number beyond all measure"
    return shown(value)
