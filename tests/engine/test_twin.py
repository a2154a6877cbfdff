"""The engine against the plain second implementation, on cases made up at random.

Numbers agree to 1e-9 relative, words and lists are the same. Bits are differences of entropies, so
they may also be 1e-12 apart. QUICKCHECK_FULL=1 tries 2,000 cases instead of 150.
"""

import math
import os
from typing import Any

import pytest
from hypothesis import HealthCheck, given, note, settings

from quickcheck.engine import judge_document
from quickcheck.errors import QuickcheckError
from quickcheck.reference import DISCLOSURES, read_reference_text
from tests.engine.plain import plain_verdict
from tests.engine.strategies import cases, seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]

EXAMPLES = 2000 if os.environ.get("QUICKCHECK_FULL") else 150
# which points a disclosure declares or silences is a table of facts; what follows from it is not
TERMS = {name: (list(d.own), list(d.others)) for name, d in DISCLOSURES.items()}


def differences(mine: object, theirs: object, at: str = "") -> list[str]:
    """List every place where two results differ, with both values."""
    if isinstance(mine, dict) and isinstance(theirs, dict):
        keys = sorted(mine.keys() | theirs.keys())
        missing = object()
        return [
            line
            for key in keys
            for line in differences(mine.get(key, missing), theirs.get(key, missing), f"{at}.{key}")
        ]
    if isinstance(mine, list) and isinstance(theirs, list) and len(mine) == len(theirs):
        pairs = enumerate(zip(mine, theirs, strict=True))
        return [line for i, (a, b) in pairs for line in differences(a, b, f"{at}[{i}]")]
    if _is_number(mine) and _is_number(theirs):
        slack = 1e-12 if at.endswith("_bits") else 0.0
        if math.isclose(mine, theirs, rel_tol=1e-9, abs_tol=slack):  # type: ignore[arg-type]
            return []
    elif mine == theirs and type(mine) is type(theirs):
        return []
    return [f"{at}: plain {mine!r}, engine {theirs!r}"]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def compared(reference: Doc, answers: Doc) -> list[str]:
    theirs = judge_document(read_reference_text(toml_text(reference)), answers)
    return differences(plain_verdict(reference, answers, terms=TERMS), theirs)


@given(cases(tuple(TERMS)))
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
def test_the_two_agree(case: tuple[Doc, Doc]) -> None:
    """Every number, word and list of the result is the same in both implementations."""
    note(toml_text(case[0]))
    assert compared(*case) == []


def test_the_two_agree_on_seeded_cases() -> None:
    """The first seeded cases, which reach nearly every verdict, agree as well."""
    found = [compared(*case) for case in seeded(EXAMPLES // 2, tuple(TERMS))]
    assert [lines for lines in found if lines] == []


REFUSED: list[tuple[str, Doc]] = [
    ("window", {"window": ["1952-01", "1951-01"]}),
    ("window", {"window": ["1946-01", "1947-01"]}),
    ("nobody", {"answers": {"nobody": {"seen": "v0"}}}),
    ("cover", {"answers": {"cover": {"seen": "v9"}}}),
    ("cover", {"answers": {"cover": {"seen": "v0", "state": "worn"}}}),
    ("cover", {"answers": {"cover": {"state": "signs"}}}),
    ("depth", {"answers": {"depth": {"value": 1.2, "unit": "in"}}}),
    ("depth", {"answers": {"depth": {"value": math.nan, "unit": "in"}}}),
    ("depth", {"answers": {"depth": {"value": 0.9, "unit": "lb"}}}),
    ("number", {"answers": {"number": {"read": "12"}}}),
    ("pot", {"answers": {"pot": {"read": "59-54"}}}),
]


@pytest.mark.parametrize(("field", "change"), REFUSED)
def test_both_refuse(field: str, change: Doc) -> None:
    """What one refuses the other refuses too, and the engine names the field."""
    answers = {"window": ["1951-01", "1951-06"], "answers": {}} | change
    with pytest.raises(ValueError, match=r"."):
        plain_verdict(KINDS, answers)
    with pytest.raises(QuickcheckError, match=field):
        judge_document(read_reference_text(toml_text(KINDS)), answers)


def _point(name: str, kind: str, **more: Any) -> Doc:
    return {"id": name, "area": "neck", "kind": kind, "ask": "?", "source": ["made"], **more}


KINDS: Doc = {
    "format": 1,
    "id": "made-up",
    "title": "Made up for a test",
    "covers": ["1950-01", "1953-12"],
    "edition": "1",
    "author": "nobody",
    "licence": "CC0-1.0",
    "about": "One point of four kinds.",
    "source": {"made": {"title": "Made up", "kind": "memory", "where": "here"}},
    "point": [
        _point("cover", "pick", seen=[{"id": "v0", "label": "any"}]),
        _point(
            "depth",
            "measure",
            unit="in",
            span=[0.7, 1.1],
            tolerance=0.006,
            seen=[{"id": "v0", "label": "any", "mean": 0.9, "spread": 0.02}],
        ),
        _point(
            "number",
            "serial",
            pattern="[0-9]{3}",
            seen=[{"id": "v0", "label": "any", "first": 100, "last": 200}],
        ),
        _point("pot", "datecode", scheme="year-week"),
    ],
}
