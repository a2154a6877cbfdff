"""A small invented reference, and answers to it."""

from typing import Any

from quickcheck.reference import Reference, read_reference_text

TEXT = """
format = 1
id = "hobbinsley-poplin"
title = "Hobbinsley Poplin (invented)"
covers = ["1950-01", "1965-12"]
edition = "{edition}"
author = "Invented"
licence = "CC0-1.0"
about = "Invented, for tests."

[source.ledger]
title = "Wage ledger"
kind = "document"

[[point]]
id = "plate-screws"
area = "screws"
kind = "pick"
ask = "Drive of the control-plate screws?"
source = ["ledger"]
  [[point.seen]]
  id = "cross"
  label = "Cross recess"
  picture = "screw-cross.svg"
  to = "1956-09"
  [[point.seen]]
  id = "loom"
  label = "Two-pin loom screw"
  picture = "screw-loom.svg"
  from = "1956-10"
"""

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"><path d="M%d 4h4"/></svg>'


def reference(edition: str = "2026-11", *, stroke: int = 2) -> Reference:
    """Return an edition of the small reference; ``stroke`` changes one of its two pictures."""
    pictures = {"screw-cross.svg": SVG % stroke, "screw-loom.svg": SVG % 1}
    return read_reference_text(TEXT.replace("{edition}", edition), pictures=pictures)


def document(**more: Any) -> dict[str, Any]:
    """Return an answers document, with more top-level keys."""
    return {
        "reference": "hobbinsley-poplin",
        "window": ["1953-03", "1953-05"],
        "answers": {"plate-screws": {"seen": "cross"}},
        **more,
    }
