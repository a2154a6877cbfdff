"""References made for the edges: every kind of point, sets, a rate for codes, one month, ties."""

from typing import Any

Doc = dict[str, Any]


def head(name: str, first: str, last: str, **more: Any) -> Doc:
    return {
        "format": 1,
        "id": name,
        "title": f"Edges: {name} (invented)",
        "covers": [first, last],
        "edition": "1",
        "author": "nobody",
        "licence": "CC0-1.0",
        "about": "Made for tests.",
        **more,
        "source": {"made": {"title": "Made up", "kind": "memory", "where": "here"}},
    }


def point(name: str, area: str, *seen: Doc, kind: str = "pick", **more: Any) -> Doc:
    head: Doc = {"id": name, "area": area, "kind": kind, "ask": f"{name}?", "source": ["made"]}
    return head | more | ({"seen": list(seen)} if seen else {})


def variant(name: str, **more: Any) -> Doc:
    return {"id": name, "label": name.capitalize(), **more}


def two(name: str, area: str, last: str, first: str, **more: Any) -> Doc:
    """Return a point with an old and a new variant."""
    return point(name, area, variant("old", to=last), variant("new", **{"from": first}), **more)


def picks() -> list[Doc]:
    """Return points of which three stay with the neck, three are a set, one is hardly changed."""
    return [
        two("head-shape", "neck", "1953-06", "1953-07", changed=0.01),
        two("nut", "neck", "1954-11", "1954-12", changed=0.1),
        two("marker", "neck", "1956-02", "1956-03", access="handle", tools=["lamp"]),
        two("board", "neck", "1957-05", "1957-06", changed=0.03, other=0.1),
        two("knobs", "hardware", "1952-12", "1953-01", changed_with="hardware", minutes=0.2),
        two("plate", "hardware", "1955-03", "1955-04", changed_with="hardware"),
        two("tuners", "tuners", "1958-01", "1958-02", changed_with="hardware", changed=0.18),
        point(
            "top",
            "body",
            variant("plain", to="1953-12", give=0),
            variant("carved", **{"from": "1955-01"}, to="1957-12", give=0, share=0.5, if_changed=3),
            variant("late", **{"from": "1957-06"}, give=12, if_changed=1),
        ),
        point(
            "wash",
            "body",
            variant("thin", shares=[["1951-01", 0.9], ["1954-01", 0.4], ["1958-01", 0.05]]),
            variant("thick", shares=[["1951-01", 0.1], ["1954-01", 0.6], ["1958-01", 0.95]]),
            other=0.020317130001,
        ),
        two("case-lining", "case", "1955-12", "1956-01"),
    ]


def measures() -> list[Doc]:
    """Return a measure in inches, one in pounds, one in ohms and one of a single spread."""
    return [
        point(
            "neck-depth",
            "neck",
            variant("club", mean=0.94, spread=0.02, to="1953-09", give=4),
            variant("round", mean=0.88, spread=0.015, to="1956-12", **{"from": "1953-10"}),
            variant("slim", mean=0.81, spread=0.02, **{"from": "1957-01"}),
            kind="measure",
            unit="in",
            span=[0.7, 1.1],
            tolerance=0.006,
            access="handle",
            tools=["gauge"],
            minutes=0.5,
        ),
        point(
            "weight",
            "weight",
            variant("heavy", mean=8.75, spread=0.4, to="1955-06"),
            variant("light", mean=7.1, spread=0.3, **{"from": "1955-07"}),
            kind="measure",
            unit="lb",
            span=[5, 12],
            tolerance=0.05,
            tools=["scale"],
            minutes=2,
        ),
        point(
            "pickup-dcr",
            "electrics",
            variant("low", mean=5600, spread=200, to="1954-12"),
            variant("high", mean=7400, spread=0, **{"from": "1955-01"}),
            kind="measure",
            unit="ohm",
            span=[3000, 12000],
            tolerance=60,
            access="handle",
            tools=["meter"],
        ),
    ]


def markings() -> list[Doc]:
    """Return a serial with blocks that overlap and leave numbers out, and three date codes."""
    opened: Doc = {"kind": "datecode", "access": "open", "tools": ["screwdriver"]}
    return [
        point(
            "serial",
            "serial",
            {"id": "b1", "first": 100, "last": 640, "to": "1952-06", "give": 2},
            {"id": "b2", "first": 600, "last": 1490, "from": "1952-07", "to": "1955-03"},
            {"id": "b3", "first": 1500, "last": 9999, "from": "1955-04", "give": 6},
            kind="serial",
            pattern="[A-C]?[0-9]{3,4}",
        ),
        point("volume-pot", "electrics", scheme="year-week", **opened),
        point("tone-pot", "electrics", scheme="source-week", **opened, changed=0.12),
        point("capacitor", "electrics", scheme="year-week", **opened, changed=0.2),
    ]


def signs() -> list[Doc]:
    """Return signs: with odds, silent, and one on the case, which bears on nothing."""
    return [
        point(
            "hardware-signs",
            "hardware",
            variant("holes", odds=20),
            variant("shadow", odds=2.5),
            variant("none", odds=0.5),
            kind="sign",
            many=True,
            bears_on=["area:hardware", "tuners"],
        ),
        point(
            "neck-signs",
            "neck",
            variant("planed", silent=True),
            variant("even", odds=1),
            kind="sign",
            bears_on=["neck-depth", "marker"],
        ),
        point(
            "lining-signs",
            "case",
            variant("glue", odds=20),
            variant("torn", silent=True),
            kind="sign",
            many=True,
            bears_on=["assembly:body"],
        ),
    ]


def all_kinds(name: str = "edges", **rates: float) -> Doc:
    """Return twelve years with every kind of point; ``rates`` are of sets."""
    figures = {"1950": 40, "1951": 200, "1953": 380, "1954-07": 75.5, "1958": 310, "1961": 12}
    made = head(name, "1950-01", "1961-12", output=figures)
    made["set"] = {key: {"label": key, "changed": rate} for key, rate in rates.items()}
    made["point"] = picks() + measures() + markings() + signs()
    return made


def short(name: str, first: str, last: str) -> Doc:
    """Return a reference of hardly any months."""
    made = head(name, first, last)
    made["set"] = {"hardware": {"label": "hardware", "changed": 0.05}}
    made["point"] = picks()[:7] + measures()[:1] + markings() + signs()[:1]
    made["point"] = [each for each in made["point"] if each["id"] != "top"]
    return made


def ties() -> Doc:
    """Return change-overs without doubt and flat output: whole stretches are exactly alike."""
    made = head("ties", "1950-01", "1959-12", kappa=1.7)
    steps = ("1952-01", "1952-01", "1955-01", "1955-01", "1957-07", "1957-07")
    made["point"] = [
        point(
            f"step-{i}",
            "neck" if i % 2 else "body",
            variant("old", to=_before(at), give=0),
            variant("new", **{"from": at}, give=0),
        )
        for i, at in enumerate(steps)
    ]
    return made


def _before(month: str) -> str:
    year, number = (int(part) for part in month.split("-"))
    return f"{year - 1:04d}-12" if number == 1 else f"{year:04d}-{number - 1:02d}"
