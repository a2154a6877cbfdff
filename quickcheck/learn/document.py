"""What was learned, put into the tree of a points file: the tree of a reference.

The trees are those of a TOML reader: plain ones, or such as keep remarks and blanks.
"""

from collections.abc import Iterable, Mapping, MutableMapping
from typing import Any, Final

from quickcheck.learn.points import Training
from quickcheck.learn.records import LearnedPoint, Method, Rate

_SOURCE: Final = "examples"
_DATES: Final = ("from", "to", "give", "share", "shares")
_METHODS: Final[Mapping[Method, str]] = {
    Method.SUCCESSION: "one variant after the other",
    Method.OVERLAP: "variants side by side",
    Method.LINE: "along a line",
    Method.SMOOTHED: "smoothed",
}


def with_room_for_measures(tree: Mapping[str, Any]) -> None:
    """Put a variant into every measure of a points tree that has none, so that it can be read.

    A reference needs one; a points file has none where all of them are to be learned.
    """
    points = tree.get("point")
    for point in points if isinstance(points, list) else []:
        if isinstance(point, dict) and point.get("kind") == "measure" and not point.get("seen"):
            point["seen"] = [_any(point.get("span"))]


def _any(span: object) -> dict[str, Any]:
    """Return a variant that any value is; of what is no pair of numbers, the reader will tell."""
    low, high = span if isinstance(span, list) and len(span) == 2 else (0.0, 1.0)
    numbers = isinstance(low, int | float) and isinstance(high, int | float) and low < high
    low, high = (low, high) if numbers else (0.0, 1.0)
    return {"id": "any", "label": "Any", "mean": (low + high) / 2, "spread": (high - low) / 4}


def apply(
    tree: MutableMapping[str, Any], training: Training, *, rows: int, kappa: float | None
) -> None:
    """Put what was learned into a tree that is a points file's."""
    if kappa is not None:
        tree["kappa"] = kappa
    for name, rate in training.sets.items():
        tree["set"][name]["changed"] = _inside(rate)
    learned = {point.id: point for point in training.points}
    own = _SOURCE not in tree["source"]
    if own and any(point.method is not Method.KEPT for point in training.points):
        words = f"{rows} documented instruments, learned by quickcheck"
        tree["source"][_SOURCE] = {"title": words, "kind": "census"}
    for point in tree["point"]:
        if point["id"] in learned:
            _point(point, learned[point["id"]])


def _inside(rate: Rate) -> float:
    """Return a rate as a file takes it, above 0 and below 1."""
    return min(0.999, max(0.0005, rate.rate))


def _point(point: MutableMapping[str, Any], learned: LearnedPoint) -> None:
    for key, rate in (("changed", learned.changed), ("other", learned.other)):
        if rate is not None:
            point[key] = _inside(rate)
    if learned.method is Method.KEPT:
        return
    named = list(point.get("source", ()))
    point["source"] = named if _SOURCE in named else [*named, _SOURCE]
    if learned.replaces:
        how = f"Learned from {learned.rows} examples, {_METHODS[learned.method]}."
        point["seen"] = [{"id": name, **keys, "note": how} for name, keys in learned.seen.items()]
        return
    for variant in point["seen"]:
        _variant(variant, learned)


def _variant(variant: MutableMapping[str, Any], learned: LearnedPoint) -> None:
    for key in _DATES:
        variant.pop(key, None)
    variant.update(learned.seen[variant["id"]])
    count = learned.counts.get(variant["id"], 0)
    words = f"Learned: {count} of {learned.rows} examples, {_METHODS[learned.method]}."
    variant["note"] = " ".join(_sentences(variant.get("note"), words))


def _sentences(before: object, words: str) -> Iterable[str]:
    """Return a note with what is learned in place of what an earlier learning said."""
    kept = str(before or "").split("Learned: ")[0].strip()
    return [kept, words] if kept else [words]
