"""A compiled reference as plain data, for the engine that judges on the phone.

It starts from the numbers that this one starts from: U and w are whole billionths already, so they
travel as whole numbers, and the constants travel along. What a phone can make of these it makes
itself (Q, what a look would tell). Fields that hold nothing are left out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, fields
from typing import Final

import numpy as np

from quickcheck.engine.constants import (
    LAGS,
    NOT_SEEN,
    RULES,
    RULES_REVISION,
    STATES,
    STILL_OPEN,
)
from quickcheck.engine.model import Floats, Model
from quickcheck.reference import DISCLOSURES
from quickcheck.reference.records import Point, Reference, Variant

FORMAT: Final = 1
UNIT: Final = 1_000_000_000
"""U and w are counted in billionths."""

Runs = list[int | list[int]]
"""Whole numbers in a row; ``[n, k]`` stands for k times n."""

_PLAIN: Final = (
    "id",
    "name",
    "area",
    "assembly",
    "kind",
    "place",
    "access",
    "tools",
    "minutes",
    "changed",
    "changed_with",
    "other",
    "other_if_changed",
    "ask",
    "unit",
    "span",
    "tolerance",
    "pattern",
    "scheme",
    "many",
)
"""Fields of a point that travel as they stand."""

_UNTOLD: Final = ("give", "share", "note", "source")
"""Fields of a variant that a verdict does not need: U holds what follows from them."""


def model_json(model: Model) -> dict[str, object]:
    """Return everything that a verdict needs, as plain data that JSON can carry.

    Keys are in order: a refusal tells states and disclosures in that order.
    """
    reference = model.reference
    return {
        "format": FORMAT,
        "rules": RULES_REVISION,
        "id": reference.id,
        "title": reference.title,
        "hash": reference.hash,
        "edition": reference.edition,
        "covers": list(reference.covers),
        "kappa": reference.kappa,
        "weights": _runs(_billionths(model.weights)),
        "sets": {
            name: {"label": each.label, "changed": each.changed}
            for name, each in sorted(reference.sets.items())  # the same for the same hash
        },
        "disclosures": _disclosures(reference),
        "constants": _constants(),
        "points": [_point(model, point) for point in reference.points],
    }


def _constants() -> dict[str, object]:
    return {
        **asdict(RULES),
        "states": {state: list(factors) for state, factors in STATES.items()},
        "not_seen": list(NOT_SEEN),
        "still_open": STILL_OPEN,
        "lags": list(LAGS),
    }


def _disclosures(reference: Reference) -> dict[str, object]:
    """Return what each disclosure does to the points of this reference, in their order."""
    told: dict[str, object] = {}
    for name, disclosure in DISCLOSURES.items():
        own, others = disclosure.effects(reference)
        told[name] = _filled(
            {
                "own": [point.id for point in reference.points if point.id in own],
                "others": [point.id for point in reference.points if point.id in others],
            }
        )
    return told


def _filled(values: Mapping[str, object]) -> dict[str, object]:
    """Leave out what holds nothing; 0 does hold something."""
    return {key: value for key, value in values.items() if value not in (None, "", [], ())}


def _point(model: Model, point: Point) -> dict[str, object]:
    told = {key: getattr(point, key) for key in _PLAIN}
    bears_on = model.bears_on.get(point.id, frozenset())
    return _filled(
        told
        | {
            "many": point.many or None,
            "tolerance": point.tolerance if point.span else None,
            "bears_on": [each.id for each in model.reference.points if each.id in bears_on],
            "seen": [_variant(variant) for variant in point.seen],
            "made": _made(model, point),
        }
    )


def _variant(variant: Variant) -> dict[str, object]:
    names = [field.name for field in fields(Variant) if field.name not in _UNTOLD]
    told = {name: getattr(variant, name) for name in names}
    flags = {"silent": variant.silent or None, "border": variant.border or None}
    return _filled(told | flags)


def _made(model: Model, point: Point) -> list[Runs] | None:
    """Return the rows of U, "other" last; None for a point that is not read by variants.

    The last listed variant has nearly all that the other rows leave over, so what stands in its
    row is only what is missing in that: nought, or a billionth or two from rounding.
    """
    if point.id not in model.rows:
        return None
    rows = model.rows[point.id]
    made = [_billionths(row) for row in model.made[rows.start : rows.stop]]
    made[-2] = [sum(column) - UNIT for column in zip(*made, strict=True)]
    return [_runs(row) for row in made]


def _billionths(values: Floats) -> list[int]:
    whole: list[int] = np.rint(values * UNIT).astype(np.int64).tolist()
    return whole


def _runs(values: Sequence[int]) -> Runs:
    return [value if count == 1 else [value, count] for value, count in _counted(values)]


def _counted(values: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield each value with how often it stands there in a row."""
    start = 0
    for end in range(1, len(values) + 1):
        if end == len(values) or values[end] != values[start]:
            yield values[start], end - start
            start = end
