"""Python reads the kept readings as it did when they were made."""

import gzip
import json
from typing import Any

import pytest

from tests.vectors.make_readings import FILE, KINDS, ROUNDS, read

KEPT: dict[str, Any] = json.loads(gzip.decompress(FILE.read_bytes()))


@pytest.mark.parametrize("kind", KINDS)
def test_readings_are_those_kept(kind: str) -> None:
    """Every quantity, code, serial, near word and rounding comes out as it is kept."""
    assert len(KEPT[kind]) == ROUNDS
    assert [read(kind, row) for row in KEPT[kind]] == KEPT[kind]


@pytest.mark.parametrize("kind", ["quantity", "conversion", "code", "marking"])
def test_readings_are_both_taken_and_refused(kind: str) -> None:
    """Neither side of a reading goes untried."""
    taken = sum("read" in row[-1] for row in KEPT[kind])
    assert ROUNDS / 10 < taken < ROUNDS * 9 / 10
