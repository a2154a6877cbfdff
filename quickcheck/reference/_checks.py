"""What each entry must keep to beyond its own keys: rules between keys and between entries.

Every rule is a small generator of findings, listed in a table by the kind of point it is for. A
rule looks only at values that could be read: what could not be is reported already.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from quickcheck.errors import shown
from quickcheck.readings import month_text
from quickcheck.reference import _fields as fields
from quickcheck.reference._build import assembly_of
from quickcheck.reference._faults import Entry, Faults
from quickcheck.reference._walk import Walked
from quickcheck.reference.records import Kind
from quickcheck.reference.selection import select

CODES: Final = "codes"
"""The set that all date codes are in, declared or not."""

_Finding = tuple[str, str, str, str]  # key, what was expected, what came, what to do
_VariantRule = Callable[[Entry, Entry], Iterator[_Finding]]
_PointRule = Callable[[Entry, tuple[Entry, ...]], Iterator[_Finding]]


def check(walked: Walked, faults: Faults) -> None:
    """Note everything in which the entries contradict themselves or each other."""
    _note(walked.top, _of_top(walked), faults=faults)
    for point, seen in walked.points:
        for rule in _POINT_RULES.get(point["kind"], ()):
            _note(point, rule(point, seen), faults=faults)
        for variant in seen:
            for each in _VARIANT_RULES[Kind(point["kind"])]:
                _note(variant, each(point, variant), faults=faults)
        _note(point, _undeclared_set(point, walked.sets), faults=faults)
        for entry in (point, *seen):
            _note(entry, _undeclared_sources(entry, walked.sources), faults=faults)
        _twice(seen, faults=faults)
    _twice([point for point, _ in walked.points], faults=faults)
    _bearings(walked, faults=faults)


def _note(entry: Entry, findings: Iterable[_Finding], *, faults: Faults) -> None:
    for key, *say in findings:
        expected, came, remedy = say
        faults.add(entry, key, say=(expected, came, remedy))


def _of_top(walked: Walked) -> Iterator[_Finding]:
    first, last = walked.top["covers"] or (0, 0)
    came = f"{month_text(first)} to {month_text(last)}"
    if last < first:
        yield "covers", "the earlier month first", came, "Turn them round."
    elif last - first >= fields.LONGEST_COVER:
        yield "covers", "at most 100 years", came, "Split it into two references."
    if walked.top["source"] == {}:
        yield "source", "at least one source", "none", "Write [source.ledger] with title and kind."
    points = walked.top["point"]
    if points is not None and not 0 < len(points) <= fields.MOST_POINTS:
        yield (
            "point",
            f"1 to {fields.MOST_POINTS} points",
            f"{len(points)}",
            "Write [[point]] entries, or split the reference.",
        )


def _undeclared_set(point: Entry, sets: Mapping[str, Entry]) -> Iterator[_Finding]:
    name = point["changed_with"]
    if name == CODES:
        yield (
            "changed_with",
            "a set other than the one of all date codes",
            shown(name),
            "Date codes are in it by themselves; give the set another name.",
        )
    elif name is not None and name not in sets:
        yield (
            "changed_with",
            f"a declared set ({', '.join(sets) or 'none is'})",
            shown(name),
            f"Write [set.{name}] with its changed rate, or mend the name.",
        )


def _undeclared_sources(entry: Entry, sources: Mapping[str, Entry]) -> Iterator[_Finding]:
    for name in entry["source"] or ():
        if name not in sources:
            yield (
                "source",
                f"declared sources ({', '.join(sources) or 'none is'})",
                shown(name),
                f"Write [source.{name}] with title and kind, or mend the name.",
            )


def _twice(entries: Iterable[Entry], *, faults: Faults) -> None:
    known: set[str] = set()
    for entry in entries:
        name = entry["id"]
        if name in known:
            say = ("an id used once", f"{shown(name)} again", "Rename one of the two.")
            faults.add(entry, "id", say=say)
        elif name is not None:
            known.add(name)


def _variants_counted(point: Entry, _: tuple[Entry, ...]) -> Iterator[_Finding]:
    count = 1 if point["seen"] is None else len(point["seen"])
    if not 0 < count <= fields.MOST_VARIANTS:
        yield (
            "seen",
            f"1 to {fields.MOST_VARIANTS} variants",
            f"{count}",
            "Write [[point.seen]] entries; put variants together that nobody can tell apart.",
        )


def _weights(point: Entry, seen: tuple[Entry, ...]) -> Iterator[_Finding]:
    given = [variant["if_changed"] for variant in seen if variant["if_changed"] is not None]
    other = point["other_if_changed"]
    if other is not None and not given:
        yield (
            "other_if_changed",
            "if_changed on the variants as well",
            "it alone",
            "Give the variants their weights, or remove it.",
        )
    elif given and not sum(given) + (other or 0):
        yield (
            "seen",
            "if_changed weights that do not add up to 0",
            f"{len(given)} of 0",
            "Give the likely replacements a weight above 0.",
        )


def _span_rises(point: Entry, _: tuple[Entry, ...]) -> Iterator[_Finding]:
    low, high = point["span"] or (0, 1)
    if not low < high:
        yield "span", "the lower number first", f"[{low:g}, {high:g}]", "Turn them round."


def _fitted(_: Entry, variant: Entry) -> Iterator[_Finding]:
    first, last = variant["from"], variant["to"]
    if first is not None and last is not None and last < first:
        came = f"{month_text(first)} to {month_text(last)}"
        yield "to", "a last month not before the first", came, "Turn them round."


def _knots(_: Entry, variant: Entry) -> Iterator[_Finding]:
    knots = variant["shares"] or ()
    edges = [key for key in ("from", "to", "give", "share") if key in variant.raw]
    if knots and edges:
        remedy = "Keep either shares, or from, to, give and share."
        yield "shares", "shares without edges", f"{', '.join(edges)} as well", remedy
    months = [month for month, _ in knots]
    if months != sorted(set(months)):
        came = ", ".join(map(month_text, months))
        yield "shares", "months that rise", shown(came), "Put the pairs in order, no month twice."
    if knots and not any(share for _, share in knots):
        yield "shares", "a share above 0 in some month", "0 throughout", "Remove the variant."


def _measured(point: Entry, variant: Entry) -> Iterator[_Finding]:
    mean = variant["mean"]
    low, high = point["span"] or (-float("inf"), float("inf"))
    if mean is not None and low < high and not low <= mean <= high:
        expected = f"a mean inside the span, {low:g} to {high:g}"
        yield "mean", expected, f"{mean:g}", "Mend the mean, its unit, or the span."
    if variant["spread"] == 0 and point["tolerance"] == 0:
        yield (
            "spread",
            "a spread above 0 where the point has no tolerance",
            "0",
            "Give the point the tolerance of its gauge, as used at a show.",
        )


def _block(point: Entry, variant: Entry) -> Iterator[_Finding]:
    first, last = variant["first"], variant["last"]
    if first is None or last is None:
        return
    if last < first:
        yield "last", f"a last number from {first} up", f"{last}", "Turn them round."
    elif point["pattern"] and not point["pattern"].can_hold(first, last):
        yield (
            "first",
            f"numbers that fit the pattern {shown(point['pattern'].text)}",
            f"{first} to {last}, of which none does",
            f"Mend the block or the pattern (which takes {shown(point['pattern'].example)}).",
        )


def _sign(_: Entry, variant: Entry) -> Iterator[_Finding]:
    silent, odds = variant["silent"], "odds" in variant.raw
    if silent is not None and bool(silent) == odds:
        came = "both" if odds else "neither"
        remedy = "Write odds (times likelier changed), or silent = true."
        yield "odds", "either odds or silent = true", came, remedy
    elif variant["border"] and variant["odds"] != 1:
        came = "silent = true" if silent else f"odds = {variant['odds']:g}"
        remedy = "A material that somebody declares is no sign of change: write odds = 1."
        yield "border", "border = true beside odds = 1", came, remedy


_SEEN_RULES: Final[tuple[_PointRule, ...]] = (_variants_counted,)
_POINT_RULES: Final[Mapping[str | None, tuple[_PointRule, ...]]] = {
    Kind.PICK: (*_SEEN_RULES, _weights),
    Kind.MEASURE: (*_SEEN_RULES, _span_rises),
    Kind.SERIAL: (*_SEEN_RULES, _weights),
    Kind.SIGN: _SEEN_RULES,
}
_VARIANT_RULES: Final[Mapping[Kind, tuple[_VariantRule, ...]]] = {
    Kind.PICK: (_fitted, _knots),
    Kind.MEASURE: (_fitted, _knots, _measured),
    Kind.SERIAL: (_fitted, _knots, _block),
    Kind.SIGN: (_sign,),
}


@dataclass(frozen=True, slots=True)
class _Named:
    """As much of a point as a selector asks for."""

    id: str
    area: str
    assembly: str
    kind: Kind


def _bearings(walked: Walked, *, faults: Faults) -> None:
    """Note selectors of sign points that select nothing, unless a point can't be judged."""
    entries = [point for point, _ in walked.points]
    if not all(entry["id"] and entry["area"] and entry["kind"] for entry in entries):
        return
    named = [_Named(e["id"], e["area"], assembly_of(e), Kind(e["kind"])) for e in entries]
    for entry in entries:
        for selector in entry["bears_on"] or ():
            if "*" in selector or not select(named, [selector]):
                say = (
                    'ids of points, "area:…" or "assembly:…"',
                    f"{shown(selector)}, which selects no point",
                    "Mend the name, or remove it.",
                )
                faults.add(entry, "bears_on", say=say)
