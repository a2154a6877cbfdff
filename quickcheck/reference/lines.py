"""Where in its text a fault of a reference stands, so that an editor can show it there.

The reader works on the parsed tree, which has no lines; this goes through the text once more, as
far as headings and keys go. A fault whose own line is not found stands at the next thing around it.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from quickcheck.errors import Fault, shown

_HEADING: Final = re.compile(r"\s*\[(\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY: Final = re.compile(r"""\s*([A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*=\s*(.*)$""")
_AT_LINE: Final = re.compile(r", line (\d+)")
_LONG: Final = ('"' * 3, "'" * 3)


@dataclass
class _Entry:
    """One table of the text: what it is, how many of its kind came before, where its keys are."""

    kind: str
    rank: int
    line: int
    name: str = ""
    around: "_Entry | None" = None
    keys: dict[str, int] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """The words by which the reader names it."""
        if not self.kind:
            return ""
        called = shown(self.name) if self.name else self.rank or ""
        own = f"{self.kind} {called}".rstrip()
        return f"{self.around.words}, {own}" if self.around else own


def located(text: str, faults: Iterable[Fault]) -> tuple[tuple[int | None, Fault], ...]:
    """Return each fault with the number of its line, from 1, or None where it is of the whole."""
    places = _places(text)
    return tuple((_line(fault.where, places), fault) for fault in faults)


def _line(where: str, places: Mapping[str, int]) -> int | None:
    told = _AT_LINE.search(where)
    if told:
        return int(told[1])
    _, _, words = where.partition(", ")
    while words:
        if words in places:
            return places[words]
        words, _, _ = words.rpartition(", ")
    return None


def _places(text: str) -> dict[str, int]:
    """Return the line of every entry, and of every key in it, by the words of a fault."""
    places: dict[str, int] = {}
    for entry in _entries(text):
        if entry.words:
            places.setdefault(entry.words, entry.line)
        for key, line in entry.keys.items():
            place = ", ".join(part for part in (entry.words, f'key "{key}"') if part)
            places.setdefault(place, line)
    return places


def _entries(text: str) -> list[_Entry]:
    entries = [_Entry("", 0, 1)]
    for number, line in _plain_lines(text):
        heading = _HEADING.match(line)
        if heading:
            entries.append(_begun(heading, entries, number))
            continue
        key = _KEY.match(line)
        if key:
            name = key[1].strip("\"'")
            entries[-1].keys.setdefault(name, number)
            if name == "id" and entries[-1].kind:
                entries[-1].name = _value(key[2])
    return entries


def _begun(heading: re.Match[str], entries: list[_Entry], line: int) -> _Entry:
    """Return the entry that a heading begins: ``[[point]]``, ``[[point.seen]]``, ``[set.x]``."""
    first, _, rest = (part.strip() for part in heading[2].partition("."))
    if heading[1] and rest:
        point = next((each for each in reversed(entries) if each.kind == "point"), None)
        rank = 1 + sum(each.kind == "variant" and each.around is point for each in entries)
        return _Entry("variant", rank, line, around=point)
    if heading[1]:
        return _Entry(first, 1 + sum(each.kind == first for each in entries), line)
    if rest:
        return _Entry(first, 0, line, name=rest.strip("\"'"))
    return _Entry(f'key "{first}"', 0, line)


def _value(text: str) -> str:
    try:
        value = tomllib.loads(f"value = {text}")["value"]
    except ValueError:
        return ""
    return value if isinstance(value, str) else ""


def _plain_lines(text: str) -> Iterator[tuple[int, str]]:
    """Yield the numbered lines that are not inside a text of several lines."""
    inside = ""
    for number, line in enumerate(text.split("\n"), 1):
        if not inside:
            yield number, line
        for mark in _LONG:
            if (not inside or inside == mark) and line.count(mark) % 2:
                inside = "" if inside else mark
