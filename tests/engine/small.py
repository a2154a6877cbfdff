"""Small references, built straight from records, for tests of one thing at a time."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from quickcheck.engine import Model, Sheet, Verdict, compile_model, judge, read_sheet
from quickcheck.readings import month_text, parse_month
from quickcheck.reference import (
    Access,
    Assembly,
    Kind,
    Place,
    Point,
    PointSet,
    Reference,
    Source,
    Variant,
)

COVERS = (parse_month("1950-01"), parse_month("1959-12"))


def month(text: str) -> int:
    return parse_month(text)


def variant(name: str, first: str | None = None, last: str | None = None, **more: Any) -> Variant:
    """Return a variant fitted from one month to another."""
    return Variant(
        id=name,
        label=name.capitalize(),
        first=month(first) if first else None,
        last=month(last) if last else None,
        **more,
    )


def point(name: str, *seen: Variant, **more: Any) -> Point:
    """Return a pick of the hardware, unless told otherwise."""
    rest: dict[str, Any] = {
        "area": "hardware",
        "assembly": Assembly.HARDWARE,
        "kind": Kind.PICK,
        "place": Place.FRONT,
        "access": Access.LOOK,
        "ask": f"Which {name}?",
        "name": name.capitalize().replace("-", " "),  # as the reader makes it from the id
    }
    return Point(id=name, seen=seen, **(rest | more))


def change_over(name: str, at: str, **more: Any) -> Point:
    """Return a pick with an old and a new variant; ``at`` is the new one's first month."""
    last = month_text(month(at) - 1)
    return point(name, variant("old", None, last), variant("new", at, None), **more)


def reference(*points: Point, **more: Any) -> Reference:
    """Return a reference over the nineteen-fifties; its hash is that of its content."""
    rest: dict[str, Any] = {
        "id": "small",
        "title": "Small (invented)",
        "covers": COVERS,
        "edition": "1",
        "author": "",
        "licence": "CC0-1.0",
        "about": "",
        "sources": {"none": Source("none", "Invented", "memory")},
        "sets": {},
        "output": {},
    } | more
    made = Reference(points=points, hash="", **rest)
    return replace(made, hash=hashlib.sha256(repr(made).encode()).hexdigest())


def sets(**rates: float) -> dict[str, PointSet]:
    return {name: PointSet(name, name, rate) for name, rate in rates.items()}


def document(window: tuple[str, str], answers: Mapping[str, object], **more: Any) -> dict[str, Any]:
    return {"reference": "small", "window": list(window), "answers": dict(answers), **more}


def judged(
    made: Reference, window: tuple[str, str], answers: Mapping[str, object], **more: Any
) -> tuple[Model, Sheet, Verdict]:
    """Model, sheet and verdict in one go."""
    model = compile_model(made)
    sheet = read_sheet(made, document(window, answers, **more))
    return model, sheet, judge(model, sheet)


def ladder(count: int, **more: Any) -> Reference:
    """``count`` points that change one after the other, through the decade."""
    step = 108 // count
    return reference(
        *(
            change_over(f"part-{i}", month_text(COVERS[0] + 6 + step * i), changed=0.05)
            for i in range(count)
        ),
        **more,
    )


def answers_of(count: int, *, built: str) -> dict[str, dict[str, object]]:
    """Return what a ladder shows on an instrument built in a month, nothing changed."""
    step = 108 // count
    age = month(built) - COVERS[0]
    return {f"part-{i}": {"seen": "new" if age >= 6 + step * i else "old"} for i in range(count)}
