"""Registered symbols of whoever made a part: the kind of part that each is usually met on."""

from dataclasses import dataclass
from functools import cache

from quickcheck.readings.tables import rows


@dataclass(frozen=True, slots=True)
class UsualPart:
    """What a symbol is usually met on, and how well that is known."""

    usual: str
    status: str
    source: str


@cache
def usual_parts() -> dict[str, UsualPart]:
    """Return the table by symbol; a symbol that is not in it is no error."""
    return {
        row["symbol"]: UsualPart(row["usual"], row["status"], row["source"])
        for row in rows("parts")
    }
