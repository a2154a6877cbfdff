"""One marking or gauge read by itself, without an inspection."""

from dataclasses import dataclass
from typing import Final

from flask import Blueprint, render_template, request

from quickcheck.errors import Fault, ReadingError
from quickcheck.readings import SCHEMES, Meaning, Reading, read_text
from quickcheck.readings.wording import day_words

pages = Blueprint("reading", __name__)
_FIRST: Final = "source-week"


@dataclass(frozen=True, slots=True)
class _Told:
    """What comes of a text: a reading, or what is wrong with it; neither where none was given."""

    reading: Reading | None = None
    faults: tuple[Fault, ...] = ()


_NOTHING: Final = _Told()


def _told(scheme: str, text: str) -> _Told:
    if not text.strip():
        return _NOTHING
    try:
        return _Told(read_text(scheme, text))
    except ReadingError as error:
        return _Told(faults=error.faults)


def _days(meaning: Meaning) -> str:
    """Return the days of a meaning in words; "" where it has none, or is one day."""
    first, last = meaning.first, meaning.last
    if first and last:
        return f"{day_words(first)} to {day_words(last)}" if first != last else ""
    if first:
        return f"from {day_words(first)} on"
    return f"to {day_words(last)}" if last else ""


@pages.get("/read")
def show() -> tuple[str, int]:
    """Show the ways of reading, and what one text means by one of them."""
    scheme, text = request.args.get("scheme", _FIRST), request.args.get("text", "")
    told = _told(scheme, text)
    page = read_page(scheme, text, told)
    return page, ReadingError.status if told.faults else 200


def read_page(
    scheme: str = _FIRST, text: str = "", told: _Told = _NOTHING, *, shell: bool = False
) -> str:
    """Return the page; ``shell``: the empty one that a device keeps and fills by itself."""
    return render_template(
        "readings/read.html",
        schemes=SCHEMES,
        scheme=scheme,
        text=text,
        told=told,
        days=_days,
        shell=shell,
    )
