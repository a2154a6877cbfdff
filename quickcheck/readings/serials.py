"""The small pattern language for serial numbers, and the number that a serial holds.

A pattern is literals, ``[classes]``, groups, ``|``, ``?``, ``*``, ``+`` and ``{m,n}``: a subset
of what regular expressions share everywhere, so a browser can use the text as it stands. It is
not given to a backtracking engine: a file is written by someone else, and ``(a*)*b`` would hang.
It becomes a position automaton (Glushkov 1961): one position a sign, sets of positions as bits,
time proportional to text × positions.
"""

import string
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import reduce
from typing import Final

from quickcheck.errors import ReadingError, shown
from quickcheck.readings._pattern_text import Node, parse

_LONGEST_SERIAL: Final = 64
_MOST_POSITIONS: Final = 256


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece of the automaton: can it be empty, which positions begin and end it."""

    empty: bool
    begin: int  # bits
    end: int  # bits


@dataclass(frozen=True, slots=True)
class SerialPattern:
    """A compiled pattern; made by `compile` only."""

    text: str
    example: str
    signs: tuple[frozenset[str], ...]  # position → the signs it takes
    follow: tuple[int, ...]  # position → bits of the positions that may come next
    begin: int
    end: int

    @classmethod
    def compile(cls, text: str) -> "SerialPattern":
        """Return the pattern; raise ReadingError that says what is not in the language."""
        node = parse(text)
        if node.size > _MOST_POSITIONS:
            raise ReadingError.of(
                "pattern",
                expected=f"at most {_MOST_POSITIONS} signs once repeats are written out",
                came=shown(text),
                remedy="Use smaller numbers in braces, or * or +.",
            )
        return _Builder().pattern(text, node)

    def matches(self, text: str) -> bool:
        """Return whether the whole text, without blanks around it, fits."""
        signs = text.strip()
        if not signs or len(signs) > _LONGEST_SERIAL:
            return False
        reached, ahead = 0, self.begin
        for sign in signs:
            reached = sum(1 << p for p in _bits(ahead) if sign in self.signs[p])
            ahead = reduce(int.__or__, (self.follow[p] for p in _bits(reached)), 0)
        return bool(reached & self.end)

    def can_hold(self, first: int, last: int) -> bool:
        """Return whether some serial that fits holds a number from ``first`` to ``last``.

        Every length of the number is tried, with noughts in front, as ``0641`` holds 641.
        """
        most = min(_LONGEST_SERIAL, len(str(last)) + 8)
        return any(
            self._reaches(str(first).zfill(digits), str(min(last, 10**digits - 1)).zfill(digits))
            for digits in range(len(str(first)), most + 1)
        )

    def _reaches(self, low: str, high: str) -> bool:
        """Return whether digits from ``low`` to ``high``, of that length, can be spelt."""
        start = [(p, 0, True, True) for p in _bits(self.begin)]
        known, todo = set(start), start
        while todo:
            position, count, *tight = todo.pop()
            for after in _steps(self.signs[position], low, high, at=(count, *tight)):
                if after[0] == len(low) and self.end >> position & 1:
                    return True
                fresh = {(p, *after) for p in _bits(self.follow[position])} - known
                known |= fresh
                todo.extend(fresh)
        return False


_State = tuple[int, bool, bool]  # digits spelt, still equal to low, still equal to high


def _steps(signs: frozenset[str], low: str, high: str, *, at: tuple[int, ...]) -> Iterator[_State]:
    """Yield what one position makes of a state: a letter leaves it, a digit goes on."""
    count, at_low, at_high = at[0], bool(at[1]), bool(at[2])
    if any(sign not in string.digits for sign in signs):
        yield count, at_low, at_high
    if count == len(low):
        return
    least = low[count] if at_low else "0"
    most = high[count] if at_high else "9"
    for sign in sorted(signs & set(string.digits)):
        if least <= sign <= most:
            yield count + 1, at_low and sign == least, at_high and sign == most


class _Builder:
    """Gives every sign of the pattern a position and notes what may follow it."""

    def __init__(self) -> None:
        self._signs: list[frozenset[str]] = []
        self._follow: list[int] = []
        self._build: dict[str, Callable[[Node], _Part]] = {
            "signs": self._one,
            "row": self._row,
            "either": self._either,
            "repeat": self._repeat,
        }

    def pattern(self, text: str, node: Node) -> SerialPattern:
        part = self._build[node.form](node)
        return SerialPattern(
            text,
            _example(node),
            tuple(self._signs),
            tuple(self._follow),
            part.begin,
            part.end,
        )

    def _link(self, ends: int, begins: int) -> None:
        for position in _bits(ends):
            self._follow[position] |= begins

    def _one(self, node: Node) -> _Part:
        self._signs.append(node.signs)
        self._follow.append(0)
        bit = 1 << len(self._signs) - 1
        return _Part(False, bit, bit)

    def _row(self, node: Node) -> _Part:
        return self._chain(node.parts)

    def _chain(self, parts: tuple[Node, ...]) -> _Part:
        whole = _Part(True, 0, 0)
        for node in parts:
            part = self._build[node.form](node)
            self._link(whole.end, part.begin)
            whole = _Part(
                whole.empty and part.empty,
                whole.begin | (part.begin if whole.empty else 0),
                part.end | (whole.end if part.empty else 0),
            )
        return whole

    def _either(self, node: Node) -> _Part:
        parts = [self._build[each.form](each) for each in node.parts]
        return _Part(
            any(part.empty for part in parts),
            reduce(int.__or__, (part.begin for part in parts), 0),
            reduce(int.__or__, (part.end for part in parts), 0),
        )

    def _repeat(self, node: Node) -> _Part:
        (inner,) = node.parts
        if node.most is not None:
            optional = Node("either", parts=(inner, Node("row")))
            return self._chain((inner,) * node.least + (optional,) * (node.most - node.least))
        before = self._chain((inner,) * max(node.least - 1, 0))
        loop = self._build[inner.form](inner)
        self._link(loop.end, loop.begin)
        self._link(before.end, loop.begin)
        free = node.least == 0 or loop.empty
        return _Part(
            before.empty and free,
            before.begin | (loop.begin if before.empty else 0),
            loop.end | (before.end if free else 0),
        )


def _bits(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def _example(node: Node) -> str:
    """Return a serial that fits, digits counting 1, 2, 3 …, the fewest repeats."""
    digits = 0
    signs = []
    for choice in _spell(node):
        if choice <= set(string.digits):
            digits += 1
        wanted = str(digits % 10)
        signs.append(wanted if wanted in choice else min(choice))
    return "".join(signs)


def _spell(node: Node) -> Iterator[frozenset[str]]:
    if node.form == "signs":
        yield node.signs
    elif node.form == "either":
        yield from _spell(node.parts[0])
    elif node.form == "row":
        for part in node.parts:
            yield from _spell(part)
    else:
        for _ in range(node.least):
            yield from _spell(node.parts[0])


def serial_number(text: str) -> int | None:
    """Return the number a serial holds, its digits joined; None where it has none."""
    digits = "".join(sign for sign in text if sign in string.digits)
    return int(digits) if 0 < len(digits) <= _LONGEST_SERIAL else None
