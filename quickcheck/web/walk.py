"""The order in which hands go over an instrument, and how far they have come."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from quickcheck.reference import Access, Place, Point, Reference
from quickcheck.web.words import PLACE_WORDS

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Stop:
    """One point on the way: its answer so far, and what keeps it from being looked at."""

    point: Point
    answer: Document | None
    needs: tuple[str, ...]  # leave or tools that are missing

    @property
    def is_done(self) -> bool:
        """Whether something was said about it, if only why it was not seen."""
        return self.answer is not None

    @property
    def is_open(self) -> bool:
        """Whether it can be looked at now and was not."""
        return self.answer is None and not self.needs

    @property
    def mark(self) -> str:
        """One word for lists: seen, not-seen, out-of-reach, open."""
        if self.answer is not None:
            return "not-seen" if "not_seen" in self.answer else "seen"
        return "out-of-reach" if self.needs else "open"


def _needs(point: Point, access: Access, tools: frozenset[str] | None) -> tuple[str, ...]:
    missing = [] if tools is None else [tool for tool in point.tools if tool not in tools]
    leave = [f"leave to {point.access.value}"] if point.access.rank > access.rank else []
    return (*leave, *missing)


@dataclass(frozen=True)
class Walk:
    """All stops, place by place."""

    stops: tuple[Stop, ...]

    @classmethod
    def over(cls, reference: Reference, document: Document) -> "Walk":
        """Lay out the walk over an instrument as far as it was answered."""
        access = Access(document.get("access", Access.OPEN))
        tools = frozenset(document["tools"]) if "tools" in document else None
        answers = document.get("answers", {})
        order = list(Place)
        points = sorted(reference.points, key=lambda point: order.index(point.place))
        return cls(tuple(
            Stop(point, answers.get(point.id), _needs(point, access, tools)) for point in points
        ))  # fmt: skip

    @cached_property
    def _index(self) -> Mapping[str, int]:
        return {stop.point.id: number for number, stop in enumerate(self.stops)}

    def stop(self, point_id: str) -> Stop | None:
        """Return the stop at that point, or None."""
        number = self._index.get(point_id)
        return None if number is None else self.stops[number]

    def _around(self, point_id: str) -> Iterator[Stop]:
        start = self._index[point_id]
        yield from self.stops[start + 1 :]
        yield from self.stops[:start]

    def after(self, point_id: str) -> Stop | None:
        """Return the next stop that is open, going round once; None when nothing is."""
        return next((stop for stop in self._around(point_id) if stop.is_open), None)

    def before(self, point_id: str) -> Stop | None:
        """Return the stop just before, or None at the first."""
        number = self._index[point_id]
        return self.stops[number - 1] if number else None

    @property
    def first_open(self) -> Stop | None:
        """The first stop that is open, or None."""
        return next((stop for stop in self.stops if stop.is_open), None)

    def at(self, place: Place) -> tuple[Stop, ...]:
        """Return the stops at a place."""
        return tuple(stop for stop in self.stops if stop.point.place is place)

    @cached_property
    def places(self) -> Mapping[Place, tuple[int, int]]:
        """Place → how many of its stops are done, of how many; places without stops left out."""
        return {
            place: (sum(stop.is_done for stop in stops), len(stops))
            for place in Place
            if (stops := self.at(place))
        }

    @cached_property
    def areas(self) -> Mapping[str, tuple[int, int]]:
        """Area → how many of its points are done, of how many."""
        counts: dict[str, tuple[int, int]] = {}
        for stop in self.stops:
            done, total = counts.get(stop.point.area, (0, 0))
            counts[stop.point.area] = (done + stop.is_done, total + 1)
        return counts

    def place_href(self, place: str) -> str:
        """Return where a touch on that place of the outline leads: its first open point."""
        stops = self.at(Place(place))
        found = next((stop for stop in stops if stop.is_open), stops[0] if stops else None)
        return f"?at={found.point.id}" if found else "#main"

    def place_word(self, place: str) -> str:
        """Return the word on the outline: the place and how far it is done."""
        done, total = self.places.get(Place(place), (0, 0))
        return f"{PLACE_WORDS[place]} {done}/{total}" if total else PLACE_WORDS[place]

    def place_label(self, place: str) -> str:
        """Return the same for a screen reader; it begins with what is drawn."""
        return f"{self.place_word(place)} points done"

    @property
    def done(self) -> int:
        """How many stops are done."""
        return sum(stop.is_done for stop in self.stops)
