r"""The grammar of serial patterns: text in, a small tree out; every refusal says what to write.

::

    either = row { "|" row }
    row    = { one [ "?" | "*" | "+" | "{m}" | "{m,}" | "{m,n}" ] }
    one    = sign | "\" punctuation | "[" class "]" | "(" either ")"
"""

import re
import string
from dataclasses import dataclass
from typing import Final

from quickcheck.errors import ReadingError, shown

_LONGEST_PATTERN: Final = 200
_DEEPEST: Final = 16
_MOST_REPEATS: Final = 64
_PLAIN: Final = frozenset(string.ascii_letters + string.digits + " #%&,-/:;<=>@_!~'\"`")
_PRINTED: Final = frozenset(map(chr, range(32, 127)))
_BRACES: Final = re.compile(r"\{([0-9]{1,3})(?:(,)([0-9]{0,3}))?\}")
_TIMES: Final = {"?": (0, 1), "*": (0, None), "+": (1, None)}


@dataclass(frozen=True, slots=True)
class Node:
    """One piece: ``form`` is signs (one of them), row, either or repeat."""

    form: str
    signs: frozenset[str] = frozenset()
    parts: "tuple[Node, ...]" = ()
    least: int = 1
    most: int | None = 1

    @property
    def size(self) -> int:
        """How many signs it has once repeats are written out."""
        times = max(self.least, self.most or 1)
        # An empty group counts as one, or a tower of repeats of nothing would cost nothing.
        return times * max(sum(part.size for part in self.parts), 1)


def parse(text: str) -> Node:
    """Return the tree of a pattern; raise ReadingError at the first thing that is not allowed."""
    if not 0 < len(text) <= _LONGEST_PATTERN:
        raise _refused(text, f"a pattern of 1 to {_LONGEST_PATTERN} signs", "Write a shorter one.")
    return _Parser(text).whole()


class _Parser:
    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._depth = 0

    def whole(self) -> Node:
        node = self._either()
        if self._at < len(self._text):
            raise self._refuse('a "(" before every ")"', "Remove it, or write \\) for the sign.")
        return node

    @property
    def _next(self) -> str:
        return self._text[self._at : self._at + 1]

    def _take(self) -> str:
        self._at += 1
        return self._text[self._at - 1 : self._at]

    def _either(self) -> Node:
        rows = [self._row()]
        while self._next == "|":
            self._at += 1
            rows.append(self._row())
        return rows[0] if len(rows) == 1 else Node("either", parts=tuple(rows))

    def _row(self) -> Node:
        parts = []
        while self._next and self._next not in "|)":
            parts.append(self._times(self._one()))
        return parts[0] if len(parts) == 1 else Node("row", parts=tuple(parts))

    def _one(self) -> Node:
        sign = self._take()
        if sign == "(":
            return self._group()
        if sign == "[":
            return Node("signs", signs=self._class())
        if sign == "\\":
            return Node("signs", signs=frozenset(self._escaped()))
        if sign not in _PLAIN:
            self._at -= 1
            raise self._refuse(
                "literals, [classes], groups, |, ?, *, + and {m,n}",
                "Put \\ before a sign that is meant as it stands.",
            )
        return Node("signs", signs=frozenset(sign))

    def _group(self) -> Node:
        self._depth += 1
        if self._depth > _DEEPEST:
            raise self._refuse(f"at most {_DEEPEST} groups in one another", "Write it flatter.")
        node = self._either()
        if self._take() != ")":
            raise self._refuse('a ")" for every "("', "Close the group.")
        self._depth -= 1
        return node

    def _escaped(self) -> str:
        sign = self._take()
        if not sign or sign not in _PRINTED or sign.isalnum():
            raise self._refuse(
                "a punctuation mark after \\", "Digits are [0-9]; other short forms are not known."
            )
        return sign

    def _class(self) -> frozenset[str]:
        signs: set[str] = set()
        while self._next not in {"]", ""}:
            low = self._class_sign()
            high = low
            if self._next == "-" and self._text[self._at + 1 :][:1] != "]":
                self._at += 1
                high = self._class_sign()
            signs.update(map(chr, range(ord(low), ord(high) + 1)))
            if high < low:
                raise self._refuse("a range that rises, like 0-9", "Turn it round.")
        if self._take() != "]" or not signs:
            raise self._refuse('signs and a "]" after "["', "Close the class.")
        return frozenset(signs)

    def _class_sign(self) -> str:
        sign = self._take()
        if sign == "\\":
            return self._escaped()
        if not sign or sign not in _PRINTED or sign in "^[":
            raise self._refuse(
                "plain signs in a class", "Name the signs that are allowed, like [A-F0-9]."
            )
        return sign

    def _times(self, node: Node) -> Node:
        if self._next in _TIMES:
            least, most = _TIMES[self._take()]
        elif self._next == "{":
            least, most = self._braces()
        else:
            return node
        if self._next and self._next in "?*+{":
            raise self._refuse("one repeat after a sign", "Put the first in a group.")
        return Node("repeat", parts=(node,), least=least, most=most)

    def _braces(self) -> tuple[int, int | None]:
        found = _BRACES.match(self._text, self._at)
        if not found:
            raise self._refuse("{m}, {m,} or {m,n} with whole numbers", "Mend the braces.")
        least = int(found[1])
        most = least if found[2] is None else int(found[3]) if found[3] else None
        if max(least, most or 0) > _MOST_REPEATS or (most is not None and not least <= most > 0):
            raise self._refuse(f"repeats that rise, at most {_MOST_REPEATS}", "Mend the braces.")
        self._at = found.end()
        return least, most

    def _refuse(self, expected: str, remedy: str) -> ReadingError:
        before = self._text[: self._at]
        return _refused(self._text, expected, f"Look after {shown(before)}. {remedy}")


def _refused(text: str, expected: str, remedy: str) -> ReadingError:
    return ReadingError.of("pattern", expected=expected, came=shown(text), remedy=remedy)
