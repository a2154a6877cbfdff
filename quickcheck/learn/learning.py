"""From documented instruments to a reference: points and examples in, what was learned out."""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from quickcheck.engine import Model, compile_model
from quickcheck.learn import leaving_out
from quickcheck.learn.bins import bins_of
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.document import apply, with_room_for_measures
from quickcheck.learn.points import Training, learn_points
from quickcheck.learn.records import Example, Learned, Tell, silent, within
from quickcheck.learn.sightings import sightings_of
from quickcheck.reference import Reference, read_reference_tree

_HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """A points file: its tree, and the reference that it is with nothing learned."""

    tree: Mapping[str, Any]
    reference: Reference

    @classmethod
    def of(cls, tree: Mapping[str, Any], *, name: str, pictures: Mapping[str, bytes]) -> "Points":
        """Return the points of a tree; ReferenceFaultsError has everything that is wrong."""
        room = copy.deepcopy(dict(tree))
        with_room_for_measures(room)
        return cls(room, read_reference_tree(room, name=name, pictures=pictures))

    def taught(self, training: Training, *, rows: int, kappa: float | None) -> Reference:
        """Return the reference that a training makes of these points."""
        tree = copy.deepcopy(dict(self.tree))
        apply(tree, training, rows=rows, kappa=kappa)
        pictures = self.reference.pictures
        return read_reference_tree(tree, name=self.reference.id, pictures=pictures)


def learn(
    points: Points, examples: Sequence[Example], *, tell: Tell = silent
) -> tuple[Learned, Training]:
    """Return what was learned, and the training that a reference is made from.

    ``tell`` hears how much is done, from 0 to 1.
    """
    reference = points.reference
    parts = leaving_out.parts_of(len(examples))
    bins = bins_of(examples, reference.covers[0], parts=parts)
    seen = sightings_of(reference, examples)
    whole, *without = learn_points(reference, bins, seen, tell=within(tell, 0, _HALF))
    if not without:
        tell(1.0)
        return Learned(whole.points, whole.sets, len(examples), None, None), whole
    rows = len(examples)

    def model(part: int) -> Model:
        return compile_model(points.taught(without[part], rows=rows, kappa=None))

    found = leaving_out.left_out(model, bins, examples, tell=within(tell, _HALF, 1))
    enough = rows >= LEARNING.fewest_for_kappa and found
    kappa = leaving_out.best_kappa(found) if enough else None
    check = leaving_out.check_of
    checked = partial(check, parts=parts, alone=parts == rows)
    made = checked(found, kappa or reference.kappa) if found else None
    return Learned(whole.points, whole.sets, rows, kappa, made), whole
