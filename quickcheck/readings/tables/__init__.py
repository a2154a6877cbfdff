"""Tables of facts as they are kept: CSV, each row with its source and how well it is known."""

import csv
from functools import cache
from importlib import resources


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of ``name``.csv, each by the names of its columns."""
    text = resources.files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
