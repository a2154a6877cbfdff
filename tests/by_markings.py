"""The general reference, and what was seen on an instrument of 1962 that nobody made."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final

from quickcheck import paths
from quickcheck.reference import Reference, read_reference

ID: Final = "us-electric-by-markings"

OF_1962: Final[Mapping[str, Any]] = {
    "plate-screws": {"seen": "cross"},
    "plating": {"seen": "chromium"},
    "tuner-screws": {"seen": "slot"},
    "knob-plastic": {"seen": "moulded"},
    "registered-mark": {"seen": "circle"},
    "label-postal": {"seen": "zone"},
    "label-telephone": {"seen": "exchange"},
    "label-brightener": {"seen": "glow"},
    "patent-number": {"seen": "p-1935"},
    "late-mark": {"seen": "none"},
    "finish": {"seen": "lacquer"},
    "finish-signs": {"seen": ["none"]},
    "frets": {"seen": "crown", "state": "no-sign"},
    "pot-code-1": {"read": "137-6148"},
    "pot-code-2": {"read": "137-6206"},
    "wire": {"seen": "cloth"},
    "solder-signs": {"seen": ["none"]},
}
"""Markings that agree with each other."""

DECLARED: Final[Mapping[str, Any]] = {
    "declared-board": {"seen": "rosewood"},
    "declared-inlay": {"seen": ["shell", "suspected"], "where": ["front"]},
    "declared-nut": {"seen": "none"},
}
"""What an owner may say of materials."""


@lru_cache
def read() -> Reference:
    """Return the reference that every book has."""
    return read_reference(paths.GENERAL / ID)


def document(
    answers: Mapping[str, Any], window: tuple[str, str] = ("1962-01", "1962-12"), **more: Any
) -> dict[str, Any]:
    """Return an answers document."""
    return {"reference": ID, "window": list(window), "answers": dict(answers), **more}
