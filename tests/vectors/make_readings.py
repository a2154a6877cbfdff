"""What both engines must read alike, made up by chance: ``python -m tests.vectors.make_readings``.

Quantities, conversions, date codes, serial patterns, misspelt words and roundings, from a seed.
Kept in `readings.json.gz` as Python reads them; `test_readings.py` and Node give them back.
"""

import calendar
import difflib
import gzip
import json
import random
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from quickcheck.errors import QuickcheckError
from quickcheck.readings import UNITS, SerialPattern, convert, parse_quantity, read_code, read_text
from tests.vectors.markings import marking

FILE = Path(__file__).resolve().parent / "readings.json.gz"
ROUNDS = 600
SPELT = [word for unit in UNITS.values() for word in unit.spellings]
ENDS = [*SPELT, "", "stone", " ", "½", "¾ in", "\u00a0mm", "ＭＭ", "⅐", "′′"]
FIELDS = ["seen", "value", "unit", "read", "sure", "state", "not_seen", "note", "where", "photos"]
PIECES = ["[0-9]", "[A-C]", "[ab1-3-]", "[\\]x]", "[a\\-z]", "\\.", "\\(", "\\\\", *"abAB019-# "]
REPEATS = ["", "", "", "", "?", "*", "+", "{2}", "{1,3}", "{0,2}", "{2,}", "{1}", "{0,}"]

Row = list[Any]


def _quantity(choose: random.Random) -> Row:
    number = choose.choice(
        [
            f"{choose.uniform(0, 20):.{choose.randint(0, 6)}f}",
            f"{choose.randint(0, 9)},{choose.randint(0, 9999)}",
            f"{choose.randint(0, 9)} {choose.randint(0, 20)}/{choose.choice([2, 8, 16, 64, 3, 0])}",
            f"{choose.randint(0, 70)}/{choose.choice([2, 4, 8, 64, 10])}",
            f"{choose.randint(0, 9)}½",
            f".{choose.randint(0, 99)}",
            choose.choice(["", "x", "⅞", "1-1/2", "2²"]),
        ]
    )
    text = number + choose.choice(["", " "]) + choose.choice(ENDS)
    if choose.random() < 0.2:
        ounces = choose.choice(["4", "4½", "4 1/2", "16", "0.5"])
        pounds, after = choose.choice([" lb ", "lbs", "lb, "]), choose.choice([" oz", "oz"])
        text = f"{number}{pounds}{ounces}{after}"
    unit = choose.choice(list(UNITS))
    return [text, unit]


def _conversion(choose: random.Random) -> Row:
    value = choose.choice(
        [choose.uniform(-5, 20000), choose.randint(-3, 99), 10 ** choose.uniform(-20, 20)]
    )
    unit, to = choose.choice(list(UNITS)), choose.choice(list(UNITS))
    return [value, unit, to]


def _code(choose: random.Random) -> Row:
    if choose.random() < 0.4:
        return ["date-stamp", _stamp(choose)]
    signs = "0123456789" * choose.choice([1, 4, 20]) + "-- ./xX?"
    text = "".join(choose.choice(signs) for _ in range(choose.randint(4, 8)))
    text += choose.choice(["", "", "", " A", "-2", "Q", " 12"])
    return [choose.choice(["year-week", "source-week"]), text]


def _stamp(choose: random.Random) -> str:
    """Return what may be a date: its signs in any order, some of them wrong."""
    year = choose.randint(1900, 2045)
    years = [f"{year}", f"{year % 100:02d}", f"'{year % 100:02d}"]
    month = choose.randint(1, 12 + choose.randint(0, 1))
    name = choose.choice([*calendar.month_name[1:], *calendar.month_abbr[1:], "Sept", "Ma"])
    day = choose.randint(1, 31)
    pieces = [
        choose.choice(years),
        choose.choice([f"{month}", f"{month:02d}", name, name.upper()]),
        choose.choice([f"{day}", f"{day:02d}", f"{day}th", ""]),
    ]
    choose.shuffle(pieces)
    return choose.choice(["", " ", "-", "/", ". ", ", "]).join(
        filter(None, pieces[: choose.choice([1, 3, 3, 3])])
    )


def _pattern_text(choose: random.Random, depth: int = 0) -> str:
    def one() -> str:
        if depth < 4 and choose.random() < 0.3:
            return f"({_pattern_text(choose, depth + 1)})"
        return str(choose.choice(PIECES))

    rows = choose.choice([1, 1, 1, 2, 3])
    least = 0 if depth else 1
    return "|".join(
        "".join(one() + choose.choice(REPEATS) for _ in range(choose.randint(least, 3)))
        for _ in range(rows)
    )


def _serial(choose: random.Random) -> Row:
    while True:
        try:
            pattern = SerialPattern.compile(_pattern_text(choose))
        except QuickcheckError:
            continue  # too long, once its repeats are written out
        break
    tried = ["".join(choose.choices("abAB0123-# .(\\]x", k=choose.randint(0, 7))) for _ in range(5)]
    tried += [pattern.example, pattern.example + "1", pattern.example[:-1]]
    return [pattern.text, tried]


def _near(choose: random.Random) -> Row:
    signs = list(choose.choice(FIELDS))
    for _ in range(choose.randint(0, 4)):
        signs.insert(choose.randint(0, len(signs)), choose.choice("senotvaluprdi_"))
        if choose.random() < 0.7:
            signs.pop(choose.randrange(len(signs)))
    word = "".join(signs)
    return [word, FIELDS]


def _rounding(choose: random.Random) -> Row:
    value = choose.choice(
        [
            choose.uniform(0, 5000),
            choose.randint(0, 10**9) / 1e9 + 5e-10,
            (choose.randint(0, 10**10) * 2 + 1) / 2e10,
            choose.randint(0, 2**20) / 2 ** choose.randint(1, 40),
        ]
    )
    decimals = choose.choice([0, 2, 6, 9, 12])
    return [value, decimals]


# How the inputs are read


def _read_code(scheme: str, text: str) -> dict[str, Any]:
    reading = read_code(scheme, text)
    return {"months": list(reading.months), "says": reading.says}


def _matched(text: str, tried: list[str]) -> dict[str, Any]:
    pattern = SerialPattern.compile(text)
    return {"example": pattern.example, "fits": [pattern.matches(serial) for serial in tried]}


def _nearest(word: str, known: list[str]) -> str | None:
    return next(iter(difflib.get_close_matches(word, known, n=1)), None)


KINDS: dict[str, tuple[Callable[[random.Random], Row], Callable[..., Any]]] = {
    "quantity": (_quantity, lambda text, unit: asdict(parse_quantity(text, unit))),
    "conversion": (_conversion, convert),
    "code": (_code, _read_code),
    "serial": (_serial, _matched),
    "near": (_near, _nearest),
    "rounding": (_rounding, round),
    "marking": (lambda choose: [*marking(choose)], lambda *asked: read_text(*asked).as_json()),
}
"""Kind → how its inputs are made up, and how they are read."""


def read(kind: str, row: Row) -> Row:
    """Return the inputs of a row, and what is read in them now."""
    *inputs, _ = row
    try:
        return [*inputs, {"read": KINDS[kind][1](*inputs)}]
    except QuickcheckError as error:
        return [*inputs, {"faults": [asdict(fault) for fault in error.faults]}]


def rows() -> Iterator[tuple[str, list[Row]]]:
    """Yield the rows of each kind."""
    for kind, (make, _) in KINDS.items():
        choose = random.Random(kind)
        yield kind, [read(kind, [*make(choose), None]) for _ in range(ROUNDS)]


def main() -> None:
    """Write the file."""
    text = json.dumps(dict(rows()), ensure_ascii=False, separators=(",", ":"))
    FILE.write_bytes(gzip.compress(text.encode(), 9, mtime=0))
    print(f"{len(KINDS)} kinds of {ROUNDS} rows, {FILE.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
