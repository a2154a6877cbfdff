"""Documented instruments of the demo's invented maker: drawn by its own reference, then learned.

The points file is the reference without a date in it; the table is what a dealer would write, with
months that are off by a few, and parts that are known to be changed marked so.
"""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import tomlkit

from quickcheck.readings import month_text
from quickcheck.reference import Kind, Reference, read_reference
from tests.engine.simulate import Drawer, Instrument, Maker

ROOT = Path(__file__).parents[2]
POPLIN = ROOT / "demo/references/hobbinsley-poplin"
_DATES = ("from", "to", "give", "share", "shares")


AGAIN = ("head-mark", "tuners", "plate-screws")
"""Points that stand twice where 25 are to be learned."""


def without_dates(path: Path, *, again: Sequence[str] = ()) -> str:
    """Return a reference's text without a date at any variant; measures lose their variants."""
    document = tomlkit.parse(next(path.glob("*.toml")).read_text(encoding="utf-8"))
    for point in document["point"]:
        if point["kind"] == "measure":
            del point["seen"]
        for variant in point.get("seen", ()):
            for key in _DATES:
                variant.pop(key, None)
    twice = [point.unwrap() for point in document["point"] if point["id"] in again]
    for point in twice:
        document["point"].append(tomlkit.item(point | {"id": f"{point['id']}-again"}))
    return tomlkit.dumps(document)


def drawn(reference: Reference, count: int, *, seed: int, answers: int = 14) -> list[Instrument]:
    """Return instruments drawn as the engine assumes."""
    rng = np.random.default_rng(seed)
    drawer = Drawer(reference, Maker("documented", answers=answers, married=None), rng)
    return [drawer.draw() for _ in range(count)]


def table_of(
    reference: Reference,
    instruments: Sequence[Instrument],
    *,
    doubt: float,
    seed: int = 1,
    again: Sequence[str] = (),
) -> str:
    """Return the table in which these stand, each documented month off by chance."""
    rng = np.random.default_rng(seed)
    points = [point.id for point in reference.points if point.kind is not Kind.SIGN]
    named = [*points, *(f"{point}-again" for point in again)]
    out = io.StringIO()
    head = [name for point in named for name in (point, f"{point}:state")]
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["instrument", "month", "doubt", *head])
    first, last = reference.covers
    for number, one in enumerate(instruments, 1):
        month = int(np.clip(round(one.month + rng.normal(0, doubt)), first, last))
        cells = [cell for point in (*points, *again) for cell in _cells(one, point)]
        writer.writerow([f"instrument {number}", month_text(month), f"{doubt:g}", *cells])
    return out.getvalue()


def _cells(one: Instrument, point: str) -> tuple[str, str]:
    answer = one.answers.get(point, {})
    value = answer.get("seen", answer.get("value", answer.get("read", "")))
    shown = f"{value:.4g}" if isinstance(value, float) else str(value)
    return shown, "changed" if answer and point in one.changed else ""


def poplin() -> Reference:
    """Return the reference that tells the truth about the invented maker's instruments."""
    return read_reference(POPLIN)
