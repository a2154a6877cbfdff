"""From entries without faults to the frozen records."""

from collections.abc import Mapping

from quickcheck.reference._faults import Entry
from quickcheck.reference._walk import Walked
from quickcheck.reference.identity import digest
from quickcheck.reference.records import (
    AREAS,
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


def build(
    walked: Walked, *, pictures: Mapping[str, bytes], canonical: bytes, warnings: tuple[str, ...]
) -> Reference:
    """Return the reference."""
    top = walked.top
    return Reference(
        id=top["id"],
        title=top["title"],
        covers=top["covers"],
        edition=top["edition"],
        author=top["author"],
        licence=top["licence"],
        about=top["about"],
        sources={name: _source(name, entry) for name, entry in walked.sources.items()},
        sets={name: _set(name, entry) for name, entry in walked.sets.items()},
        output=dict(top["output"]),
        points=tuple(_point(entry, seen) for entry, seen in walked.points),
        hash=digest(canonical),
        kappa=top["kappa"],
        outline=top["outline"],
        pictures=pictures,
        canonical=canonical,
        warnings=warnings,
    )


def _in_words(name: str) -> str:
    return name.replace("-", " ").capitalize()


def _source(name: str, entry: Entry) -> Source:
    return Source(name, entry["title"], entry["kind"], entry["where"])


def _set(name: str, entry: Entry) -> PointSet:
    return PointSet(name, entry["label"] or _in_words(name), entry["changed"])


def assembly_of(entry: Entry) -> Assembly:
    """Return the assembly of a point, by default that of its area."""
    return Assembly(entry["assembly"] or AREAS[entry["area"]][0])


def _point(entry: Entry, seen: tuple[Entry, ...]) -> Point:
    kind = Kind(entry["kind"])
    plain = ("look", "caution", "tools", "minutes", "source", "changed_with", "other_if_changed")
    by_kind = ("changed", "other", "unit", "span", "tolerance", "scheme", "bears_on", "many")
    given = {key: entry[key] for key in (*plain, *by_kind) if key in entry.values}
    return Point(
        id=entry["id"],
        area=entry["area"],
        assembly=assembly_of(entry),
        kind=kind,
        place=Place(entry["place"] or AREAS[entry["area"]][1]),
        access=Access(entry["access"]),
        ask=entry["ask"] or f"{_in_words(entry['id'])}?",
        name=entry["name"] or _in_words(entry["id"]),
        seen=tuple(_variant(each) for each in seen),
        pattern=entry["pattern"].text if kind is Kind.SERIAL else None,
        **given,
    )


_SAME = ("give", "share", "if_changed", "mean", "spread", "odds", "silent", "border")
_RENAMED = {"first": "from", "last": "to", "knots": "shares"}
"""Field of the record → key of the file, where the two differ."""


def _variant(entry: Entry) -> Variant:
    block = (entry["first"], entry["last"]) if "first" in entry.values else None
    same = {key: entry[key] for key in _SAME if key in entry.values}
    renamed = {name: entry[key] for name, key in _RENAMED.items() if key in entry.values}
    return Variant(
        id=entry["id"],
        label=entry["label"] or block_words(block),
        block=block,
        picture=entry["picture"],
        note=entry["note"],
        source=entry["source"],
        **same,
        **renamed,
    )


def block_words(block: tuple[int, int] | None) -> str:
    """Return the numbers of a block in words: ``641–1490``."""
    return f"{block[0]}–{block[1]}" if block else ""
