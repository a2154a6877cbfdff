"""How large a card is: bytes, digits, symbol version and millimetres, unsealed and sealed.

Prints one line for each reference size and serial. Every point is looked at: one in eight unsure,
one in four with "no sign of change", three measures, two date codes, two identifying marks and
three disclosures. ``python -m tests.bench.card_bench``
"""

import random
from datetime import UTC, datetime
from typing import Any, Final

from quickcheck.card import (
    MODULE_MM,
    QUIET,
    Card,
    Signer,
    card_of,
    card_url,
    digits,
    encode,
    seal,
    symbol,
)
from quickcheck.engine import compile_model, judge, read_sheet
from quickcheck.reference import Reference, read_reference_text

BASE: Final = "https://cards.example.com"  # 25 characters; "/c/" makes it 28
SERIALS: Final = ("1388", "A12345678", "NW-1953/04-1388B")
_TOP: Final = """
format = 1
id = "sized"
title = "Sized"
covers = ["1950-01", "1965-12"]
edition = "1"
author = "A test"
licence = "CC0-1.0"
about = "For measuring."
[source.s]
title = "S"
kind = "memory"
"""
_POINT: Final = """
[[point]]
id = "{id}"
area = "{area}"
kind = "{kind}"
ask = "?"
source = ["s"]
"""
_VARIANTS: Final = """
[[point.seen]]
id = "a"
label = "A"
to = "1953-12"
{a}
[[point.seen]]
id = "b"
label = "B"
from = "1954-01"
to = "1959-12"
{b}
[[point.seen]]
id = "c"
label = "C"
from = "1960-01"
{c}
"""
_MEANS: Final = {v: f"mean = {m}\nspread = 1.0" for v, m in (("a", 20), ("b", 25), ("c", 30))}
_BLOCKS: Final = {
    v: f"first = {first}\nlast = {first + 999}" for v, first in (("a", 1), ("b", 1001), ("c", 2001))
}


def reference_of(points: int) -> Reference:
    """Return a reference with that many points: a serial, two codes, three measures, picks."""
    pot = 'scheme = "source-week"\n'
    depth = 'unit = "mm"\nspan = [10.0, 40.0]\ntolerance = 0.1\n'
    parts = [_POINT.format(id="serial", area="serial", kind="serial") + 'pattern = "[0-9A-Z/-]+"\n']
    parts[0] += _VARIANTS.format(**_BLOCKS)
    parts += [_POINT.format(id=f"pot-{n}", area="electrics", kind="datecode") + pot for n in (1, 2)]
    parts += [
        _POINT.format(id=f"depth-{n}", area="neck", kind="measure")
        + depth
        + _VARIANTS.format(**_MEANS)
        for n in (1, 2, 3)
    ]
    parts += [
        _POINT.format(id=f"pick-{n}", area="hardware", kind="pick")
        + _VARIANTS.format(a="", b="", c="")
        for n in range(points - len(parts))
    ]
    return read_reference_text(_TOP + "".join(parts))


def document_of(reference: Reference, serial: str) -> dict[str, Any]:
    """Return answers at every point."""
    rng = random.Random(len(reference.points))
    answers: dict[str, Any] = {}
    for point in reference.points:
        first = {
            "serial": {"read": serial},
            "datecode": {"read": "137-5304"},
            "measure": {"value": 20.0 + rng.random()},
            "pick": {"seen": rng.choice("aabc")},
        }[point.kind]
        doubt = {"sure": False} if rng.random() < 1 / 8 else {}
        state = {"state": "no-sign"} if rng.random() < 1 / 4 else {}
        answers[point.id] = first | doubt | state
    marks = [{"place": "board-9", "kind": "burn", "mm": 6}, {"place": "tag", "kind": "holes"}]
    return {
        "reference": reference.id,
        "window": ["1953-03", "1953-05"],
        "serial_text": serial,
        "marks": marks,
        "disclosures": ["refinish", "changed-tuners", "player-wear"],
        "answers": answers,
    }


def card_with(points: int, serial: str) -> Card:
    """Return a card of that size."""
    reference = reference_of(points)
    sheet = read_sheet(reference, document_of(reference, serial))
    verdict = judge(compile_model(reference), sheet)
    issued = datetime(2026, 4, 11, 10, 3, tzinfo=UTC)
    return card_of(sheet, verdict, issued=issued, interest="selling")


def sealed(points: int, serial: str) -> bytes:
    """Return such a card, sealed by a key that is the same in every run."""
    return seal(card_with(points, serial), Signer(bytes([1]) * 32)).data


def _columns(data: bytes) -> str:
    version = symbol(card_url(BASE, data)).version
    side = (17 + 4 * version) * MODULE_MM
    quiet = side + 2 * QUIET * MODULE_MM
    return f"{len(data):4d} {len(digits(data)):4d}  v{version:<2d} {side:5.1f} {quiet:5.1f}"


def main() -> None:
    """Print the table: bytes, digits, version, mm without and with the quiet zone."""
    print(f"address {BASE}/c/…, error correction M, module {MODULE_MM} mm")
    print("points serial | unsealed                   | sealed")
    for points in (15, 20, 25):
        for serial in SERIALS:
            plain, whole = encode(card_with(points, serial)), sealed(points, serial)
            print(f"{points:6d} {len(serial):6d} | {_columns(plain)} | {_columns(whole)}")


if __name__ == "__main__":
    main()
