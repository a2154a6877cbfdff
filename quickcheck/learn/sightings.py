"""What the examples show, point by point, as arrays: which rows, which variant or value, changed.

Parts that were changed are counted for the rates and for nothing else: they don't tell what was
fitted when the instrument was built.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quickcheck.engine import Answer
from quickcheck.learn.bins import Floats, Whole
from quickcheck.learn.records import Example
from quickcheck.reference import OTHER, Kind, Point, Reference

Flags = NDArray[np.bool_]
_NOTHING = -1
_CHANGED = "changed"


@dataclass(frozen=True, slots=True, eq=False)
class Sighting:
    """One point over all rows; every array has a number a row that looked at it."""

    point: Point
    rows: Whole
    variant: Whole  # place among the variants, their number for "other", −1 for none
    value: Floats  # of a measure, in the point's unit; not a number where there is none
    changed: Flags
    noted: Flags  # something was said about change

    @property
    def counted(self) -> Flags:
        """The rows that tell what was fitted: not changed, and something was read."""
        read: Flags = (self.variant != _NOTHING) | ~np.isnan(self.value)
        return ~self.changed & read


def sightings_of(reference: Reference, examples: Sequence[Example]) -> dict[str, Sighting]:
    """Return the sighting of every point that can be learned or changed, by id."""
    points = [p for p in reference.points if p.kind is not Kind.SIGN]
    return {point.id: _sighting(point, examples) for point in points}


def _sighting(point: Point, examples: Sequence[Example]) -> Sighting:
    looked = [
        (row, example.answers[point.id])
        for row, example in enumerate(examples)
        if point.id in example.answers and example.answers[point.id].looked
    ]
    answers = [answer for _, answer in looked]
    places = {variant.id: at for at, variant in enumerate(point.seen)} | {OTHER: len(point.seen)}
    return Sighting(
        point,
        np.array([row for row, _ in looked], dtype=np.intp),
        np.array([_place(point, places, answer) for answer in answers], dtype=np.intp),
        np.array([np.nan if a.value is None else a.value for a in answers], dtype=float),
        np.array([a.state == _CHANGED for a in answers], dtype=bool),
        np.array([bool(a.state) for a in answers], dtype=bool),
    )


def _place(point: Point, places: dict[str, int], answer: Answer) -> int:
    if point.kind is Kind.PICK and answer.seen:
        return places[answer.seen[0]]
    if point.kind is Kind.SERIAL and answer.read is not None:
        return _block(point, answer.number)
    return _NOTHING


def _block(point: Point, number: int | None) -> int:
    """Return the first block that holds a serial, or the place of "other"."""
    for at, variant in enumerate(point.seen):
        first, last = variant.block or (0, -1)
        if number is not None and first <= number <= last:
            return at
    return len(point.seen)
