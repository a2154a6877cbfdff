"""Write the tables that the scripts share with the package: ``python -m tests.vectors.make_tables``.

What a card can say and the words that screens show are kept once, in Python; these scripts
are copies made by machine, and a test compares them with their source.
"""

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from quickcheck import paths
from quickcheck.card import bits, code, front, payload, slots, vocabulary
from quickcheck.engine import VERDICT_WORDS
from quickcheck.readings import SCHEMES, coils, frets, patents, scales, stamps
from quickcheck.readings.datecodes import WEEK_CODES, met_on
from quickcheck.readings.parts_table import usual_parts
from quickcheck.readings.tables import rows
from quickcheck.readings.wording import STATUS_WORDS
from quickcheck.reference import DISCLOSURES
from quickcheck.web import words

HEADER = """\
// @ts-check
// Made by `python -m tests.vectors.make_tables`; change the Python it comes from, not this.
"""

CARD: Mapping[str, tuple[str, Any]] = {
    "FORMAT": ("Form of the bytes.", front.FORMAT),
    "WIDTHS": ("Bits of the fields of fixed width, in order.", front.WIDTHS),
    "EPOCH": ("Minute 0, in milliseconds.", round(front.EPOCH.timestamp() * 1000)),
    "FIRST_MONTH": ("Month 0 on a card.", front.FIRST),
    "LAST_MONTH": ("The last month that a claim may name.", front.LAST),
    "VERDICTS": ("", vocabulary.VERDICTS),
    "ACCESS": ("", vocabulary.ACCESS),
    "STATES": ("", vocabulary.STATES),
    "REASONS": ("A point without an answer: why.", slots.REASONS),
    "SIGN_PLACES": ("", vocabulary.SIGN_PLACES),
    "INTERESTS": ("", tuple(vocabulary.INTERESTS)),
    "MARK_PLACES": ("Where a mark is, in words.", vocabulary.MARK_PLACES),
    "MARK_KINDS": ("What a mark is, in words.", vocabulary.MARK_KINDS),
    "MOST_MARKS": ("", vocabulary.MOST_MARKS),
    "DISCLOSURES": ("", tuple(DISCLOSURES)),
    "BITS": (
        "Bits of what is not in `WIDTHS`.",
        {
            "mark count": front._MARK_COUNT_BITS,
            "place": front._PLACE_BITS,
            "kind": front._KIND_BITS,
            "mm": front._MM_BITS,
            "block count": front._BLOCK_COUNT_BITS,
            "block": front._BLOCK,
            "opening": slots.OPENING_BITS,
            "unsure": slots.UNSURE_BITS,
            "state": slots.STATE_BITS,
            "reason": slots.REASON_BITS,
            "measure": slots.MEASURE_BITS,
            "length": bits._LENGTH_BITS,
        },
    ),
    "OPENINGS": (
        "The first bits of a slot.",
        {opening.name.lower().replace("_", " "): int(opening) for opening in slots.Opening},
    ),
    "NIBBLES": ("4 bits each.", bits.NIBBLES),
    "NIBBLES_END": ("", bits._END),
    "LETTERS": ("6 bits each.", bits.LETTERS),
    "SMALL": ("Before a letter: a small one.", bits._SMALL),
    "LONGEST_TEXT": ("", bits.LONGEST_TEXT),
    "LARGEST": ("Bytes of a card, its seal included.", code.LARGEST),
    "SEAL_BYTES": ("", payload.SEAL_BYTES),
    "PREFIX": ("Bytes of the reference's hash.", payload._PREFIX),
    "QUIET": ("Modules of white around a symbol.", code.QUIET),
    "MODULE_MM": ("A module in print, in millimetres.", code.MODULE_MM),
    "HIGHEST_VERSION": ("Of a symbol that a phone can show.", code._HIGHEST_VERSION),
}
"""Of a card: its tables and its widths, each with what it is where its name does not say so."""

WORDS: Mapping[str, tuple[str, Any]] = {
    "VERDICT_WORDS": ("", VERDICT_WORDS),
    **{
        name: ("", getattr(words, name))
        for name in (
            "STATE_WORDS",
            "NOT_SEEN_WORDS",
            "ACCESS_WORDS",
            "PLACE_WORDS",
            "ASSEMBLY_WORDS",
            "LEANING_WORDS",
            "UNIT_WORDS",
            "INTEREST_WORDS",
        )
    },
}
"""The words that screens show."""

PARTS: Mapping[str, tuple[str, Any]] = {
    "USUAL": (
        "Registered symbol: what it is met on, and how well that is known.",
        {symbol: met_on(part.usual, part.status) for symbol, part in usual_parts().items()},
    ),
}
"""Of the readings that a phone makes."""

_OWN_SOURCES: Mapping[str, tuple[str, ...]] = {
    **{name: code.sources for name, code in WEEK_CODES.items()},
    "date-stamp": stamps.SOURCES,
    "patent-us": patents.SOURCES,
    "scale-length": frets.SOURCES,
    "resistance": coils.SOURCES,
    "weight": scales.SOURCES,
}
_SOURCES = tuple(
    dict.fromkeys(
        row["source"] for name in ("bounds", "parts", "patents", "states") for row in rows(name)
    )
)
_RANK = {status: rank for rank, status in enumerate(STATUS_WORDS)}


def _known(row: Mapping[str, str]) -> tuple[int, int]:
    """Return the numbers of a row's source and status."""
    return _SOURCES.index(row["source"]), _RANK[row["status"]]


FACTS: Mapping[str, tuple[str, Any]] = {
    "SCHEMES": (
        "",
        {
            name: {
                "about": scheme.about,
                "example": scheme.example,
                "longest": scheme.longest,
                "sources": _OWN_SOURCES.get(name, ()),
            }
            for name, scheme in SCHEMES.items()
        },
    ),
    "STATUSES": ("Name and words, best first.", tuple(STATUS_WORDS.items())),
    "SOURCES": ("What the tables below name by number.", _SOURCES),
    "MARKS": (
        "Name, scheme, words, pattern, check.",
        [
            [row[key] for key in ("id", "scheme", "mark", "pattern", "check")]
            for row in rows("marks")
        ],
    ),
    "BOUNDS": (
        "Mark, bound, day, what it is, source, status.",
        [
            [row["mark"], row["bound"], row["date"], row["says"], *_known(row)]
            for row in rows("bounds")
        ],
    ),
    "PARTS": (
        "Symbol, what it is usually met on, status, source.",
        [[row["symbol"], row["usual"], *_known(row)[::-1]] for row in rows("parts")],
    ),
    "PATENTS": (
        "Series, year, its first number, the same in a table that differs, status, source.",
        [
            [
                row["series"],
                int(row["year"]),
                int(row["first"]),
                int(row["other"] or 0),
                *_known(row)[::-1],
            ]
            for row in rows("patents")
        ],
    ),
    "US_STATES": (
        "Code, name, older forms, source, status.",
        [[row["code"], row["name"], row["older"], *_known(row)] for row in rows("states")],
    ),
}
"""Of the readings that a phone takes along when the rest is there."""

_ROWS: Mapping[str, str] = {
    "SCHEMES": "Record<string, { about: string, example: string, longest: number, sources: string[] }>",
    "STATUSES": "[string, string][]",
    "MARKS": "[string, string, string, string, string][]",
    "BOUNDS": "[string, string, string, string, number, number][]",
    "PARTS": "[string, string, number, number][]",
    "PATENTS": "[string, number, number, number, number, number][]",
    "US_STATES": "[string, string, string, number, number][]",
}
"""The types of what TypeScript would guess too wide."""

FILES: Mapping[Path, tuple[str, Mapping[str, tuple[str, Any]]]] = {
    paths.STATIC / "js/card/tables.js": ("What a card can say, each word by its number.", CARD),
    paths.STATIC / "js/engine/parts_table.js": ("Symbols of whoever made a part.", PARTS),
    paths.STATIC / "js/readings/facts.js": ("What marks, patents and gauges are read by.", FACTS),
    paths.STATIC / "js/words.js": ("The words that screens show for the codes of records.", WORDS),
}


def script(about: str, tables: Mapping[str, tuple[str, Any]]) -> str:
    """Return a module that holds these tables."""
    return "\n".join([f"{HEADER}/** {about} */", *_lines(tables), ""])


def _lines(tables: Mapping[str, tuple[str, Any]]) -> Iterable[str]:
    for name, (about, value) in tables.items():
        kept = dict(value) if isinstance(value, Mapping) else value
        if name in _ROWS:
            kind = f"/** {about + ' ' if about else ''}@type {{{_ROWS[name]}}} */"
            body = json.dumps(kept, ensure_ascii=False, separators=(",", ":"))
        elif isinstance(kept, dict):
            kind = f"/** {about + ' ' if about else ''}@type {{Readonly<Record<string, {_type(kept)}>>}} */"
            body = json.dumps(kept, ensure_ascii=False, indent=2)
        else:
            kind = f"/** {about} */" if about else ""
            body = json.dumps(kept, ensure_ascii=False)
        yield from filter(None, ("", kind) if kind else ("",))
        yield f"export const {name} = {body};"


def _type(table: Mapping[str, Any]) -> str:
    return "number" if all(isinstance(value, int) for value in table.values()) else "string"


def main() -> None:
    """Write all."""
    for path, (about, tables) in FILES.items():
        path.write_text(script(about, tables), encoding="utf-8")


if __name__ == "__main__":
    main()
