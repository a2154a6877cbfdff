"""What a reading gives back: meanings, values, bounds, words and sources; one form for all schemes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from quickcheck.readings.months import month_of


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing a marking can mean: from ``first`` to ``last``, both days included; None: open."""

    first: date | None
    last: date | None
    year: int | None
    week: int | None
    says: str
    source: str | None = None  # the registered symbol, as written
    more: tuple[tuple[str, object], ...] = ()  # what only this scheme tells: key and JSON value

    def as_json(self) -> dict[str, object]:
        """Return the form the command line prints."""
        return {
            "from": iso(self.first),
            "to": iso(self.last),
            "year": self.year,
            "week": self.week,
            "source": self.source,
            "says": self.says,
            **dict(self.more),
        }

    def months(self) -> range:
        """Return the months in which one of its days falls; none where an end is open."""
        if self.first is None or self.last is None:
            return range(0)
        return range(
            month_of(self.first.year, self.first.month),
            month_of(self.last.year, self.last.month) + 1,
        )


def measured(what: str, value: float, unit: str, *, says: str, **more: object) -> Meaning:
    """Return a meaning that is a number and bounds no day."""
    keys = {"what": what, "value": value, "unit": unit, **more}
    return Meaning(None, None, None, None, says, more=tuple(keys.items()))


@dataclass(frozen=True, slots=True)
class Reading:
    """A marking, every meaning it can have, and what that bounds: the part, never the instrument."""

    scheme: str
    text: str
    meanings: tuple[Meaning, ...]
    says: str
    floor: date | None
    ceiling: date | None
    sources: tuple[str, ...]

    @property
    def months(self) -> tuple[int, ...]:
        """Return the distinct months, rising, in which a day of any meaning falls."""
        return tuple(sorted({month for meaning in self.meanings for month in meaning.months()}))

    def as_json(self) -> dict[str, object]:
        """Return the form the command line prints."""
        return {
            "scheme": self.scheme,
            "read": self.text,
            "meanings": [meaning.as_json() for meaning in self.meanings],
            "floor": iso(self.floor),
            "ceiling": iso(self.ceiling),
            "says": self.says,
            "sources": list(self.sources),
        }


def iso(day: date | None) -> str | None:
    """Return ``1966-08-14``, or None where nothing bounds."""
    return day.isoformat() if day else None


def once(words: Iterable[str]) -> tuple[str, ...]:
    """Return words in their order, each once; empty ones left out."""
    return tuple(dict.fromkeys(word for word in words if word))
