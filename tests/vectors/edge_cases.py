"""Documents at the edges, each reviewed for what it leans on: windows, states, signs, writing."""

from collections.abc import Iterator
from typing import Any

from quickcheck.reference import DISCLOSURES

Doc = dict[str, Any]
Window = tuple[int, int]
Case = tuple[str, Doc, Window | None]

STATES = ("changed", "signs", "no-sign", "undisturbed")
REASONS = ("not-allowed", "not-visible", "no-tool", "no-time")

OLD: Doc = {
    "head-shape": {"seen": "old"},
    "nut": {"seen": "old"},
    "marker": {"seen": "old"},
    "board": {"seen": "old"},
    "knobs": {"seen": "old"},
    "plate": {"seen": "old"},
    "tuners": {"seen": "old"},
    "top": {"seen": "plain"},
    "wash": {"seen": "thin"},
    "neck-depth": {"value": 0.94},
    "weight": {"value": 8.9},
    "pickup-dcr": {"value": 5630},
    "serial": {"read": "420"},
    "volume-pot": {"read": "51-40"},
    "tone-pot": {"read": "137-144"},
    "capacitor": {"read": "5145"},
}
"""What an instrument of 1952 shows."""

LATE: Doc = {
    **{name: {"seen": "new"} for name in ("head-shape", "nut", "marker", "board", "knobs")},
    **{name: {"seen": "new"} for name in ("plate", "tuners")},
    "top": {"seen": "late"},
    "wash": {"seen": "thick"},
    "neck-depth": {"value": 0.81},
    "serial": {"read": "A7001"},
    "volume-pot": {"read": "60.12"},
}
"""What an instrument of 1960 shows."""


def document(window: tuple[str, str], answers: Doc, reference: str = "edges", **more: Any) -> Doc:
    return {"reference": reference, "window": list(window), "answers": answers, **more}


YEAR = ("1952-01", "1952-12")


def every_kind(reference: str) -> Iterator[Case]:
    """Yield cases on a reference with every kind of point."""
    for cases in (_windows, _states, _signs, _notes, _units, _serials, _codes, _reach):
        for name, answers, window in cases():
            yield name, answers | {"reference": reference}, window


def _windows() -> Iterator[Case]:
    windows = {
        "first month": ("1950-01", "1950-01"),
        "last month": ("1961-12", "1961-12"),
        "first year, over the edge": ("1948-05", "1950-12"),
        "last year, over the edge": ("1961-06", "1970-01"),
        "one month over the edge": ("1949-12", "1950-01"),
        "all that is covered": ("1950-01", "1961-12"),
        "more than is covered": ("1940-01", "1980-12"),
        "all but the first month": ("1950-02", "1961-12"),
        "all but the last month": ("1950-01", "1961-11"),
        "sixty months from the start": ("1955-01", "1955-06"),
        "one year": YEAR,
        "a year later": ("1953-06", "1954-05"),
    }
    for name, window in windows.items():
        yield f"window, {name}", document(window, OLD), None
        yield f"window, {name}, late instrument", document(window, LATE), None
    yield "window from outside", document(YEAR, OLD), (12 * 1953, 12 * 1953 + 2)
    yield "window from outside, over the edge", document(YEAR, LATE), (12 * 1945, 12 * 1951)


def _states() -> Iterator[Case]:
    yield "no answers", document(YEAR, {}), None
    for state in STATES:
        given = {name: answer | {"state": state} for name, answer in OLD.items()}
        yield f"all {state}", document(YEAR, given), None
        for name in ("head-shape", "tuners", "neck-depth", "serial", "volume-pot"):
            mixed = OLD | {name: LATE[name] | {"state": state}}
            yield f"{name} late, {state}", document(YEAR, mixed), None
    changed = {name: {"state": "changed"} for name in OLD}
    yield "nothing but changes", document(YEAR, changed), None
    yield "one change alone", document(YEAR, OLD | {"nut": {"state": "changed"}}), None
    code = {"volume-pot": {"state": "changed"}}
    yield "a code's part changed, not read", document(YEAR, OLD | code), None
    yield "only the set", document(YEAR, {k: OLD[k] for k in ("knobs", "plate", "tuners")}), None
    yield "only codes", document(YEAR, {k: OLD[k] for k in ("volume-pot", "tone-pot")}), None
    for count in range(1, 7):
        some = dict(list(LATE.items())[:count])
        yield f"{count} against the claim", document(YEAR, some), None
        early = dict(list(OLD.items())[:count])
        yield f"{count} for the claim", document(YEAR, early), None
    unsure = {name: answer | {"sure": False} for name, answer in OLD.items()}
    yield "nothing sure", document(YEAR, unsure), None
    other = {name: {"seen": "other"} for name, answer in OLD.items() if "seen" in answer}
    yield "none of those listed", document(YEAR, other), None
    married = OLD | {k: LATE[k] for k in ("head-shape", "nut", "marker", "board", "neck-depth")}
    yield "another neck", document(YEAR, married), None


def _signs() -> Iterator[Case]:
    for ticked in (
        ["holes"],
        ["holes", "shadow"],
        ["none"],
        ["other"],
        "shadow",
        ["other", "none"],
    ):
        given = OLD | {"hardware-signs": {"seen": ticked, "where": ["back", "under the plate"]}}
        yield f"signs: {ticked}", document(YEAR, given), None
    for ticked in ("planed", "even", "other"):
        yield f"neck: {ticked}", document(YEAR, OLD | {"neck-signs": {"seen": ticked}}), None
    for ticked in (["glue"], ["torn"], ["glue", "torn"]):
        yield f"case: {ticked}", document(YEAR, OLD | {"lining-signs": {"seen": ticked}}), None
    both = {"hardware-signs": {"seen": ["holes"]}, "neck-signs": {"seen": "planed"}}
    yield "signs and nothing else", document(YEAR, both), None
    yield "signs against late parts", document(YEAR, LATE | both), None


def _notes() -> Iterator[Case]:
    claim = {"words": "all as it left the shop", "nothing_changed": True}
    yield "nothing changed claimed", document(YEAR, OLD, claim=claim), None
    yield (
        "nothing changed claimed, late",
        document(YEAR, OLD | {"tuners": LATE["tuners"]}, claim=claim),
        None,
    )
    signs = {"hardware-signs": {"seen": ["holes"]}, "knobs": OLD["knobs"] | {"state": "signs"}}
    yield "nothing changed claimed, signs", document(YEAR, OLD | signs, claim=claim), None
    declared = {"tuners": {"seen": "new", "state": "changed", "note": "since 1971"}}
    yield "nothing changed claimed, declared", document(YEAR, OLD | declared, claim=claim), None
    for reason in REASONS:
        left = OLD | {"board": {"not_seen": reason}, "serial": {"not_seen": reason}}
        yield f"two {reason}", document(YEAR, left), None
    yield "only a note", document(YEAR, OLD | {"nut": {"note": "bone?"}}), None
    marks = [{"place": "board", "kind": "burn", "mm": 6}, {}, {"mm": 0}]
    more: Doc = {
        "serial_text": "420",
        "marks": marks,
        "name": "Ignored",
        "photos": [1, {"a": None}],
    }
    yield "marks and unknown keys", document(YEAR, OLD, **more), None
    empty: Doc = {"claim": None, "access": None, "tools": None, "disclosures": None, "marks": None}
    yield "null is left out", document(YEAR, OLD, **empty), None


def _units() -> Iterator[Case]:
    depths: tuple[Doc, ...] = (
        {"value": 0.7},
        {"value": 1.1},
        {"value": 27.94, "unit": "mm"},
        {"value": 23.749, "unit": "mm"},
        {"value": "15/16"},
        {"value": "0,94"},
        {"value": " 23,8 MM "},
        {"value": "1 1/16 in"},
        {"value": "⅞″"},
        {"value": "59/64 inches"},
        {"value": "23.876", "unit": "mm"},
        {"value": ".935"},
    )
    weights: tuple[Doc, ...] = (
        {"value": "8 lb 4 oz"},
        {"value": "8lbs, 4½ oz"},
        {"value": 132, "unit": "oz"},
        {"value": 3.742, "unit": "kg"},
        {"value": "3,7 kilo"},
        {"value": 3900.5, "unit": "g"},
        {"value": "8 1/4"},
    )
    coils: tuple[Doc, ...] = (
        {"value": "5.6k"},
        {"value": "5.6 kΩ"},
        {"value": "5600 Ω"},
        {"value": 5.63, "unit": "kohm"},
        {"value": 7401.0976, "unit": "ohm"},
    )
    for name, answers in (("neck-depth", depths), ("weight", weights), ("pickup-dcr", coils)):
        for answer in answers:
            yield f"{name}: {answer}", document(YEAR, OLD | {name: answer}), None


def _serials() -> Iterator[Case]:
    for read in ("100", "B0620", "640", "641", " 1490 ", "1495", "C9999", "0099"):
        yield f"serial {read}", document(YEAR, OLD | {"serial": {"read": read}}), None


def _codes() -> Iterator[Case]:
    plain = ("5201", "52 53", "49/52", "00-01", "99.53", "45-10", "61-52", "46-01")
    for read in plain:
        yield f"code {read}", document(YEAR, OLD | {"volume-pot": {"read": read}}), None
    registered = ("137201", "137-5253", "1375 2-10", "x37-151", "137 1 53", "1376122", "??? 901")
    for read in registered:
        yield f"symbol {read}", document(YEAR, OLD | {"tone-pot": {"read": read}}), None
    three = {name: {"read": "52-10"} for name in ("volume-pot", "capacitor")}
    yield "codes of the claim", document(YEAR, OLD | three), None
    yield "codes too late", document(("1950-06", "1951-05"), OLD | three), None


def _reach() -> Iterator[Case]:
    few = {k: OLD[k] for k in ("head-shape", "knobs", "top", "wash")}
    for access in ("look", "handle", "open"):
        for tools in (None, [], ["gauge", "lamp"], ["screwdriver", "scale", "meter", "lamp"]):
            given = document(YEAR, few, access=access, tools=tools)
            yield f"next with {access}, {tools}", given, None
    yield "next, nothing seen", document(YEAR, {}, access="open"), None
    waits = few | {"nut": {"not_seen": "no-time"}, "board": {"not_seen": "no-tool"}}
    yield "next, some left", document(YEAR, waits), None
    whole = document(("1950-01", "1961-12"), few)
    yield "next, all that is covered", whole, None
    yield "next, refret", document(YEAR, few, disclosures=["neck-reshaped", "replaced-nut"]), None


def disclosed(reference: str, answers: Doc, window: tuple[str, str]) -> Iterator[Case]:
    """Yield the same instrument with each term disclosed, and with two of them."""
    for term in DISCLOSURES:
        given = document(window, answers, reference, disclosures=[term])
        yield f"disclosed: {term}", given, None
    both = ["refinish", "planed-board", "refinish"]
    yield "disclosed: several", document(window, answers, reference, disclosures=both), None


def few_months(reference: str, first: str, last: str) -> Iterator[Case]:
    """Yield cases on a reference of one or two months."""
    known = {k: v for k, v in OLD.items() if k not in ("top", "weight", "pickup-dcr", "wash")}
    late = {k: v for k, v in LATE.items() if k in known}
    for name, answers in (("empty", {}), ("old", known), ("late", late)):
        yield f"{name}, all", document((first, last), answers, reference), None
        yield f"{name}, last", document((last, last), answers, reference), None
        yield f"{name}, more", document(("1950-01", "1960-01"), answers, reference), None


def ties() -> Iterator[Case]:
    """Yield cases in which whole stretches of months are exactly alike."""
    windows = (("1953-01", "1953-06"), ("1950-01", "1951-12"), ("1955-01", "1957-06"))
    for count in (0, 2, 4, 6):
        answers = {f"step-{i}": {"seen": "new" if i < count else "old"} for i in range(6)}
        for window in windows:
            yield f"{count} new in {window[0]}", document(window, answers, "ties"), None
    split = {f"step-{i}": {"seen": "new" if i % 2 else "old"} for i in range(6)}
    yield "half and half", document(windows[0], split, "ties"), None
