"""Naming several points at once: by id, by a part of an id, by area, by assembly."""

from collections.abc import Iterable
from fnmatch import fnmatchcase
from typing import Protocol

from quickcheck.reference.records import Kind


class Selectable(Protocol):
    """What a point must tell to be selected."""

    @property
    def id(self) -> str:
        """Its id."""
        ...

    @property
    def area(self) -> str:
        """Its area."""
        ...

    @property
    def assembly(self) -> str:
        """Its assembly."""
        ...

    @property
    def kind(self) -> Kind:
        """Its kind."""
        ...


def select(points: Iterable[Selectable], selectors: Iterable[str]) -> frozenset[str]:
    """Return the ids of the points that any of the selectors names.

    A selector is ``area:finish``, ``assembly:neck``, or an id in which a star stands for anything
    (``board*``). `sign` points are never selected: they speak about points, not for themselves.
    """
    wanted = tuple(selectors)
    return frozenset(
        point.id
        for point in points
        if point.kind is not Kind.SIGN and any(_names(each, point) for each in wanted)
    )


def _names(selector: str, point: Selectable) -> bool:
    word, colon, rest = selector.partition(":")
    if colon:
        return {"area": point.area, "assembly": str(point.assembly)}.get(word) == rest
    return fnmatchcase(point.id, selector)
