"""A small reference with every kind of point, and cards of it."""

import dataclasses
import functools
from datetime import UTC, datetime
from typing import Any

from quickcheck.card import Card, card_of
from quickcheck.engine import Sheet, compile_model, judge, read_sheet
from quickcheck.reference import Reference, read_reference_text

Doc = dict[str, Any]

ISSUED = datetime(2026, 4, 11, 10, 3, tzinfo=UTC)

TOML = """
format = 1
id = "loom-one"
title = "Loom One (invented)"
covers = ["1950-01", "1959-12"]
edition = "2026-04"
author = "A test"
licence = "CC0-1.0"
about = "Every kind of point once."

[source.ledger]
title = "Wage ledger"
kind = "document"
where = "p. 1"

[[point]]
id = "knobs"
area = "hardware"
kind = "pick"
ask = "Which knobs?"
source = ["ledger"]
[[point.seen]]
id = "wood"
label = "Wood"
to = "1953-06"
[[point.seen]]
id = "black"
label = "Black"
from = "1953-07"
to = "1956-12"
[[point.seen]]
id = "cream"
label = "Cream"
from = "1957-01"

[[point]]
id = "nut"
area = "hardware"
kind = "pick"
ask = "Which nut?"
source = ["ledger"]
[[point.seen]]
id = "brass"
label = "Brass"

[[point]]
id = "depth"
area = "neck"
kind = "measure"
ask = "Depth?"
unit = "mm"
span = [10.0, 30.0]
tolerance = 0.2
source = ["ledger"]
[[point.seen]]
id = "deep"
label = "Deep"
mean = 24.0
spread = 0.5
to = "1954-12"
[[point.seen]]
id = "slim"
label = "Slim"
mean = 20.0
spread = 0.5
from = "1955-01"

[[point]]
id = "serial"
area = "serial"
kind = "serial"
ask = "Serial?"
pattern = "([A-Za-z] ?)?[0-9]{3,4}"
source = ["ledger"]
[[point.seen]]
id = "low"
label = "Low"
first = 101
last = 999
to = "1954-12"
[[point.seen]]
id = "high"
label = "High"
first = 1000
last = 9999
from = "1955-01"

[[point]]
id = "pot"
area = "electrics"
kind = "datecode"
scheme = "source-week"
ask = "Stamp?"
source = ["ledger"]

[[point]]
id = "signs"
area = "finish"
kind = "sign"
bears_on = ["knobs"]
ask = "Signs?"
many = true
source = ["ledger"]
[[point.seen]]
id = "overspray"
label = "Overspray"
odds = 20.0
[[point.seen]]
id = "fresh-holes"
label = "Fresh holes"
odds = 7.0
[[point.seen]]
id = "none"
label = "None seen"
odds = 0.5

[[point]]
id = "glow"
area = "finish"
kind = "sign"
bears_on = ["depth"]
ask = "Glow?"
source = ["ledger"]
[[point.seen]]
id = "even"
label = "Even"
odds = 0.5
[[point.seen]]
id = "patchy"
label = "Patchy"
odds = 4.0
"""

FULL: Doc = {
    "reference": "loom-one",
    "window": ["1953-03", "1953-05"],
    "claim": {"words": "spring '53", "nothing_changed": True},
    "access": "open",
    "tools": ["lamp"],
    "serial_text": "A 641",
    "marks": [{"place": "board-9", "kind": "burn", "mm": 6}, {"place": "tag", "kind": "holes"}],
    "disclosures": ["player-wear", "refinish"],
    "answers": {
        "knobs": {"seen": "wood", "state": "no-sign", "note": "bright"},
        "nut": {"state": "changed"},
        "depth": {"value": 0.95, "unit": "in"},
        "serial": {"read": "A 641"},
        "pot": {"read": "137-6634", "sure": False},
        "signs": {"seen": ["none", "overspray"], "where": ["back", "front"]},
        "glow": {"not_seen": "no-tool"},
    },
}

PLAIN: Doc = {"reference": "loom-one", "window": ["1951-01", "1952-12"], "answers": {}}


@functools.cache
def loom() -> Reference:
    return read_reference_text(TOML)


def with_answers(**answers: Doc) -> Doc:
    return PLAIN | {"answers": answers}


def sheet_of(document: Doc, reference: Reference | None = None) -> Sheet:
    return read_sheet(reference or loom(), document)


def card_for(document: Doc, reference: Reference | None = None, **extra: Any) -> Card:
    sheet = sheet_of(document, reference)
    verdict = judge(compile_model(sheet.reference), sheet)
    return card_of(sheet, verdict, **({"issued": ISSUED, "interest": "selling"} | extra))


@functools.cache
def full() -> Card:
    return card_for(FULL, number=3)


def changed(**fields: Any) -> Card:
    return dataclasses.replace(full(), head=dataclasses.replace(full().head, **fields))
