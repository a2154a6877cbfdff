"""What differs between two editions of a reference, entry by entry."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final

from quickcheck.readings import month_text
from quickcheck.reference.records import Point, Reference

_APART: Final = frozenset({"seen", "points", "sources", "sets", "output", "pictures"})
"""Fields that hold entries of their own, compared one by one."""
_MADE: Final = frozenset({"hash", "canonical", "warnings"})
_MONTHS: Final = frozenset({"first", "last", "covers"})


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: which entry, which of its fields, and both values in words.

    ``before`` is "" for what is new, ``after`` for what is gone.
    """

    where: str
    what: str
    before: str
    after: str


def compare(old: Reference, new: Reference) -> tuple[Change, ...]:
    """Return what differs, in the order of the newer edition, what is gone last."""
    return tuple(_changes(old, new))


def _changes(old: Reference, new: Reference) -> Iterator[Change]:
    yield from _fields("", old, new)
    yield from _entries("source", old.sources, new.sources)
    yield from _entries("set", old.sets, new.sets)
    yield from _output(old.output, new.output)
    yield from _entries("point", old.by_id, new.by_id)
    yield from _pictures(old.pictures, new.pictures)


def _fields(where: str, old: Any, new: Any) -> Iterator[Change]:
    for name in (each.name for each in fields(new)):
        before, after = getattr(old, name), getattr(new, name)
        if name not in _APART | _MADE and before != after:
            yield Change(where, name, _words(name, before), _words(name, after))


def _entries(kind: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Change]:
    for name, entry in new.items():
        where = f"{kind} {name}"
        if name not in old:
            yield Change(where, "", "", _title(entry))
            continue
        yield from _fields(where, old[name], entry)
        if isinstance(entry, Point):
            before = {variant.id: variant for variant in old[name].seen}
            after = {variant.id: variant for variant in entry.seen}
            yield from _entries(f"{where}, variant", before, after)
    for name in old:
        if name not in new:
            yield Change(f"{kind} {name}", "", _title(old[name]), "")


def _title(entry: Any) -> str:
    return str(getattr(entry, "label", "") or getattr(entry, "title", "") or entry.name)


def _output(old: Mapping[str, float], new: Mapping[str, float]) -> Iterator[Change]:
    for period in sorted({*old, *new}):
        before, after = old.get(period), new.get(period)
        if before != after:
            yield Change("output", period, _words("", before), _words("", after))


def _pictures(old: Mapping[str, bytes], new: Mapping[str, bytes]) -> Iterator[Change]:
    for name in sorted({*old, *new}):
        if old.get(name) != new.get(name):
            before, after = (
                f"{len(held[name])} bytes" if name in held else "" for held in (old, new)
            )
            yield Change(f"picture {name}", "", before, after)


def _words(name: str, value: Any) -> str:
    if value is None:
        return "none"
    if name in _MONTHS and isinstance(value, int):
        return month_text(value)
    if isinstance(value, tuple):
        return ", ".join(_words(name, each) for each in value) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value)
