"""What the server writes down of itself: one line an event, and nothing of what anybody typed.

A line has the time in UTC, how grave it is, where it comes from, and what happened. Whatever could
end a line or command a terminal is escaped. Of an exception its kind and its places are told and
never its own words, as those may repeat what an owner said.
"""

import logging
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, TextIO

_FORM: Final = "%(asctime)sZ %(levelname)s %(name)s: %(message)s"
_OURS: Final = "quickcheck"
_BESIDE: Final = "waitress"


def escaped(text: str) -> str:
    """Return a text as one line: control, format and line separating characters by their numbers."""
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode() for char in text
    )


def told(error: BaseException) -> str:
    """Return the kinds and places of an exception and of what it came from, without its words."""
    places = " < ".join(
        f"{Path(frame.filename).name}:{frame.lineno} {frame.name}"
        for frame in reversed(traceback.extract_tb(error.__traceback__))
    )
    one = f"{type(error).__name__} at {places or 'no place'}"
    before = error.__cause__ or error.__context__
    return f"{one}; from {told(before)}" if before else one


class OneLine(logging.Formatter):
    """An event as one line."""

    def __init__(self) -> None:
        super().__init__(_FORM, "%Y-%m-%dT%H:%M:%S")
        self.converter = time.gmtime

    def format(self, record: logging.LogRecord) -> str:
        """Return the line of an event."""
        record.message = record.getMessage()
        record.asctime = self.formatTime(record, self.datefmt)
        error = record.exc_info[1] if record.exc_info else None
        return escaped(self.formatMessage(record) + (f" | {told(error)}" if error else ""))


@contextmanager
def written(stream: TextIO) -> Iterator[None]:
    """Write what happens meanwhile to a stream: all of ours, and what waitress warns of."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(OneLine())
    ours = logging.getLogger(_OURS)
    loggers, before = (ours, logging.getLogger(_BESIDE)), ours.level
    for logger in loggers:
        logger.addHandler(handler)
    ours.setLevel(logging.INFO)
    try:
        yield
    finally:
        ours.setLevel(before)
        for logger in loggers:
            logger.removeHandler(handler)
