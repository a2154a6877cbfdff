"""Valid references, made up choice by choice: short or long, with every kind of point and variant."""

from dataclasses import dataclass
from typing import Any

from tests.engine.choosing import Chooser, maybe
from tests.engine.plain_readings import month_number, month_text

Doc = dict[str, Any]

KINDS = ("pick", "pick", "pick", "pick", "measure", "measure", "serial", "datecode", "sign")
AREAS = ("neck", "tuners", "hardware", "finish", "electrics", "body", "screws", "decal", "weight")
SETS = ("hardware", "rewire", "neck")
TOOLS = ("lamp", "gauge", "scale", "meter", "screwdriver")
ODDS = (20, 0.5, 3.0, 0.05, 1)
# Between knots, chances can be fractions like 63/128. An odd twelfth decimal keeps them from ever
# being a tie in the ninth, which one rounding takes up and another down.
NO_TIES = 0.020317130001
# unit, span, tolerance: real orders of magnitude, so that densities are far above and below 1
GAUGES: tuple[tuple[str, list[float], float], ...] = (
    ("in", [0.7, 1.1], 0.006),
    ("mm", [38.0, 48.0], 0.1),
    ("lb", [5, 12], 0.05),
    ("kohm", [3.0, 12.0], 0.1),
    ("ohm", [3000, 12000], 60.0),
    ("g", [2000.0, 5500.0], 25),
    ("oz", [80, 190], 0.5),
    ("kg", [2.0, 5.5], 0.02),
)


@dataclass(frozen=True)
class Scope:
    """First month, number of months, and whether the points tell much about the date."""

    first: int
    months: int
    telling: bool


def make_reference(choose: Chooser) -> Doc:
    telling = choose.chance(50)
    months = choose.whole(61, 190) if telling or choose.chance(20) else choose.whole(1, 60)
    first = month_number("1950-01") + choose.whole(0, 200)
    scope = Scope(first, months, telling)
    reference: Doc = {
        "format": 1,
        "id": "made-up",
        "title": "Made up for a test",
        "covers": [month_text(first), month_text(first + months - 1)],
        "edition": "1",
        "author": "nobody",
        "licence": "CC0-1.0",
        "about": "Made up choice by choice.",
        **maybe(choose, "kappa", (None, None, 0.5, 1.1, 3, 1.7)),
        "source": {"made": {"title": "Made up", "kind": "memory", "where": "here"}},
    }
    if choose.chance(50):
        reference["output"] = _output(choose, first, months)
    reference["set"] = {
        name: {"label": name, "changed": choose.one_of((0.05, 0.02, 0.1, 0.3))}
        for name in (*SETS, *(("codes",) if choose.chance(40) else ()))
    }
    count = choose.whole(7, 13) if telling else choose.whole(1, 9)
    reference["point"] = [_point(choose, i, scope) for i in range(count)]
    witnesses = [point for point in reference["point"] if point["kind"] != "sign"]
    if not witnesses:
        witnesses = [_point(choose, count, scope, ("pick",))]
        reference["point"] += witnesses
    for point in reference["point"]:
        if point["kind"] == "sign":
            point["bears_on"] = _bears_on(choose, witnesses)
    return reference


def _output(choose: Chooser, first: int, months: int) -> dict[str, float]:
    """Years and months with a figure; some have none, some have both."""
    figures: dict[str, float] = {}
    for year in range(first // 12, (first + months - 1) // 12 + 1):
        if choose.chance(70):
            figures[f"{year:04d}"] = choose.whole(1, 90) * 10
    for _ in range(choose.whole(0, 3)):
        figures[month_text(first + choose.whole(0, months - 1))] = choose.whole(1, 200) / 2
    return figures or {month_text(first): 40}


def _point(choose: Chooser, number: int, scope: Scope, kinds: tuple[str, ...] = KINDS) -> Doc:
    kind = choose.one_of(kinds)
    area = "case" if choose.chance(5) else choose.one_of(AREAS)
    point: Doc = {"id": f"p{number}", "area": area, "kind": kind, "ask": "?", "source": ["made"]}
    if choose.chance(15):
        point["assembly"] = choose.one_of(("neck", "body", "electrics", "hardware"))
    point |= maybe(choose, "access", (None, None, "look", "handle", "open"))
    point |= maybe(choose, "minutes", (None, 0.2, 0.5, 2))
    if choose.chance(25):
        point["tools"] = [choose.one_of(TOOLS)]
    if kind == "sign":
        return point | {"bears_on": []} | _sign(choose)
    point |= maybe(choose, "changed", (None, 0.02, 0.01, 0.1, 0.18, 0.5))
    if kind == "datecode":
        return point | {"scheme": choose.one_of(("year-week", "source-week"))}
    if choose.chance(35):
        point["changed_with"] = choose.one_of(SETS)
    point |= maybe(choose, "other", (None, None, 0.02, 0.1, 0.005))
    point |= {"pick": _pick, "measure": _measure, "serial": _serial}[kind](choose, scope)
    if any("shares" in variant for variant in point["seen"]):
        point["other"] = NO_TIES
    return point


def _sign(choose: Chooser) -> Doc:
    seen: list[Doc] = []
    for i in range(choose.whole(1, 3)):
        says: Doc = {"silent": True} if choose.chance(25) else {"odds": choose.one_of(ODDS)}
        seen.append({"id": f"s{i}", "label": f"sign {i}", **says})
    return {"many": choose.chance(60), "seen": seen}


def _bears_on(choose: Chooser, points: list[Doc]) -> list[str]:
    """Ids, areas and assemblies that exist; the same point may be named twice."""
    selectors = []
    for _ in range(choose.whole(1, 2)):
        point = choose.one_of(points)
        area = f"area:{point['area']}"
        selectors.append(choose.one_of((point["id"], area, f"assembly:{_assembly_of(point)}")))
    return sorted(set(selectors))


def _assembly_of(point: Doc) -> str:
    names = {"neck": "neck", "decal": "neck", "electrics": "electrics", "case": "case"}
    names |= dict.fromkeys(("hardware", "screws", "tuners"), "hardware")
    return str(point.get("assembly", names.get(point["area"], "body")))


def _edges(choose: Chooser, scope: Scope) -> list[Doc]:
    """Return when each variant was fitted: in a row, with gaps and overlaps, some edges missing."""
    first, months = scope.first, scope.months
    at_least, beyond = (1, -2) if scope.telling else (0, 6)
    cuts = sorted(choose.whole(-beyond, months + beyond) for _ in range(choose.whole(at_least, 3)))
    fitted: list[Doc] = []
    for i in range(len(cuts) + 1):
        if choose.chance(8):
            fitted.append({"shares": _knots(choose, scope)})
            continue
        edges: Doc = {}
        if i > 0 and choose.chance(95):
            edges["from"] = cuts[i - 1] + choose.one_of((0, 0, 0, 3, -4))
        if i < len(cuts) and choose.chance(95):
            edges["to"] = max(cuts[i] - 1, edges.get("from", cuts[i] - 1))
        edges = {key: month_text(first + t) for key, t in edges.items()}
        edges |= maybe(choose, "give", (None, None, 0, 1, 2.5, 6, 30))
        fitted.append(edges | maybe(choose, "share", (None, None, 0.5, 0.2, 1, 3)))
    return fitted


def _knots(choose: Chooser, scope: Scope) -> list[list[Any]]:
    first, months = scope.first, scope.months
    at = sorted({choose.whole(-3, months + 3) for _ in range(choose.whole(1, 4))})
    shares = [choose.whole(0, 20) / 20 for _ in at]
    if not any(shares):
        shares[0] = 0.35
    return [[month_text(first + t), share] for t, share in zip(at, shares, strict=True)]


def _pick(choose: Chooser, scope: Scope) -> Doc:
    seen = [
        {"id": f"v{i}", "label": f"variant {i}", **e} for i, e in enumerate(_edges(choose, scope))
    ]
    return {"seen": seen} | _if_changed(choose, seen)


def _if_changed(choose: Chooser, seen: list[Doc]) -> Doc:
    """Give weights among replaced parts now and then, seldom to some variants only."""
    if not choose.chance(15):
        return {}
    for variant in seen[: choose.one_of((len(seen), len(seen), 1))]:
        variant["if_changed"] = choose.whole(1, 6) / 2
    return maybe(choose, "other_if_changed", (None, 0.5, 2))


def _measure(choose: Chooser, scope: Scope) -> Doc:
    unit, (lowest, highest), tolerance = choose.one_of(GAUGES)
    seen = []
    for i, edges in enumerate(_edges(choose, scope)):
        mean = round(lowest + (highest - lowest) * choose.whole(1, 19) / 20, 4)
        spread = round((highest - lowest) * choose.one_of((2, 5, 10, 0)) / 100, 4)
        seen.append(
            {"id": f"v{i}", "label": f"variant {i}", "mean": mean, "spread": spread, **edges}
        )
    return {"unit": unit, "span": [lowest, highest], "tolerance": tolerance, "seen": seen}


def _serial(choose: Chooser, scope: Scope) -> Doc:
    """Blocks one after another, some overlapping or leaving numbers between them."""
    number, seen = 100 + choose.whole(0, 50), []
    for i, edges in enumerate(_edges(choose, scope)):
        last = number + choose.whole(10, 400)
        block = {"id": f"b{i}", "label": f"block {i}", "first": number, "last": last}
        seen.append(block | edges)
        number = last + choose.one_of((1, 1, -8, 30))
    pattern = choose.one_of(("[0-9]{3,4}", "[A-C]?[0-9]{3,4}"))
    return {"pattern": pattern, "seen": seen} | _if_changed(choose, seen)
