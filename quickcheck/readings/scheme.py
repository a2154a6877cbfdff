"""A scheme: one way of reading a text, and what a form or a help page says of it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from quickcheck.errors import ReadingError, shown
from quickcheck.readings.records import Reading

LONGEST: Final = 40
LONGEST_MARK: Final = 200


@dataclass(frozen=True, slots=True)
class Scheme:
    """How a text is read. ``read`` gets it with single blanks and raises ReadingError.

    ``dates``: every meaning is a run of days with both ends, so that a point of a reference may be
    read by it.
    """

    title: str
    about: str
    example: str
    read: Callable[[str], Reading]
    dates: bool = False
    longest: int = LONGEST


def spaced(text: str) -> str:
    """Return the text with single blanks and none around it."""
    return " ".join(text.split())


def refused(where: str, text: str, expected: str, *, remedy: str) -> ReadingError:
    """Return the error for a text that can't be read."""
    return ReadingError.of(where, expected=expected, came=shown(text), remedy=remedy)


def like(example: str, about: str) -> str:
    """Return what was expected, its example before its rule."""
    return f"a code like {example}. {about}"
