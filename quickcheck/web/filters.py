"""Words and small helpers that templates use."""

import re
from collections.abc import Sequence
from dataclasses import replace

from flask import Flask

from quickcheck import __version__
from quickcheck.card import card_url
from quickcheck.errors import Fault
from quickcheck.readings import month_text, month_words, parse_month, run_words
from quickcheck.reference import border
from quickcheck.web import context, words


def _window_words(window: Sequence[int | str]) -> str:
    """Return a window in words, be it in numbers or as documents write it."""
    first, last = (parse_month(m) if isinstance(m, str) else m for m in window)
    return run_words(first, last)


_PARTS = {"state": "change", "not_seen": "not seen", "where": "where", "sure": "unsure"}


def fault_words(fault: Fault | str) -> str:
    """Return a fault with the place it names in the words of the screen."""
    if isinstance(fault, str) or not fault.where.startswith("answers."):
        return str(fault)
    _, point, *part = fault.where.split(".")
    where = ", ".join([words.point_words(point), *(_PARTS[p] for p in part if p in _PARTS)])
    return str(replace(fault, where=where))


def _picture_name(serial: str | None) -> str:
    """Return a name that every system can keep."""
    return f"card-{re.sub(r'[^A-Za-z0-9_-]+', '-', serial or '') or 'no-serial'}.png"


def init_app(app: Flask) -> None:
    """Give the templates the words."""
    env = app.jinja_env
    env.filters.update(
        fault=fault_words,
        window=_window_words,
        month=month_words,
        month_text=month_text,
        tool=words.tool_words,
        point=words.point_words,
        place=words.PLACE_WORDS.__getitem__,
        access=words.ACCESS_WORDS.__getitem__,
        assembly=words.ASSEMBLY_WORDS.__getitem__,
        area=words.AREA_WORDS.__getitem__,
        state=words.STATE_WORDS.__getitem__,
        not_seen=words.NOT_SEEN_WORDS.__getitem__,
        unit=words.unit_words,
        card_count=lambda count: "1 card" if count == 1 else f"{count} cards",
        card_address=lambda data: card_url(context.settings().base_url, data),
        picture_name=_picture_name,
        photo_count=lambda count: "1 photo" if count == 1 else f"{count} photos",
    )
    env.globals.update(
        version=__version__,
        words=words,
        border=border,
        is_veiled=context.is_veiled,
        base_url=lambda: context.settings().base_url,
    )
