"""The golden vectors as they are kept: lines of JSON, compressed; and what counts as the same.

A line with "model" begins a reference; the lines after it are inspections judged by it, each with a
document, sometimes a window in place of its claim, and what came out: result and sentences, or
faults. Numbers of results are kept to 13 digits, which is more than anybody compares.
"""

import gzip
import json
import math
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from quickcheck.engine import compile_model, explain, judge, next_looks, read_sheet
from quickcheck.engine.export import model_json
from quickcheck.errors import AnswerError
from quickcheck.reference import Reference

Doc = dict[str, Any]
Window = tuple[int, int]

FILE = Path(__file__).resolve().parent / "verdicts.jsonl.gz"
_DIGITS = 13
_RELATIVE = 1e-9
_NOTHING = 1e-300  # below this a double has fewer digits, down to none
_BITS = 1e-12  # bits are differences of entropies


def read() -> list[Doc]:
    """Return every line."""
    text = gzip.decompress(FILE.read_bytes()).decode()
    return [json.loads(line) for line in text.splitlines()]


def write(lines: Iterable[Doc]) -> int:
    """Keep the lines, the same bytes for the same lines; return how many bytes they take."""
    content = gzip.compress("".join(text(line) for line in lines).encode(), 9, mtime=0)
    FILE.write_bytes(content)
    return len(content)


def text(line: Doc) -> str:
    """Return one line as it is kept; keys in order, as lists of words are told in that order."""
    return json.dumps(line, separators=(",", ":"), ensure_ascii=False) + "\n"


def reference_line(name: str, reference: Reference) -> Doc:
    """Return the line that begins a reference: as the library keeps it, and as a phone gets it."""
    return {
        "reference": name,
        "canonical": reference.canonical.decode(),
        "model": model_json(compile_model(reference)),
    }


def outcome(reference: Reference, document: Doc, window: Window | None) -> Doc:
    """Return what comes out of a document: result and sentences, or faults."""
    try:
        sheet = read_sheet(reference, document, window=window)
    except AnswerError as error:
        return {"faults": in_order([asdict(fault) for fault in error.faults])}
    model = compile_model(reference)
    verdict = judge(model, sheet)
    looks = next_looks(model, sheet, verdict)
    result = verdict.as_json() | {"next": [look.as_json() for look in looks]}
    told = explain(model, sheet, verdict, looks)
    return {"result": result, "sentences": [[s.about, s.text, list(s.points)] for s in told]}


def in_order(faults: list[Doc]) -> list[Doc]:
    """Return faults by field: unknown points come in no order of their own."""
    return sorted(faults, key=lambda fault: (fault["where"], fault["expected"]))


def shortened(value: Any) -> Any:
    """Return a result with its numbers as they are kept."""
    if isinstance(value, dict):
        return {key: shortened(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [shortened(inner) for inner in value]
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value


def differences(kept: object, came: object, at: str = "") -> list[str]:
    """List every place where two results differ: numbers to nine digits, all else exactly."""
    if isinstance(kept, dict) and isinstance(came, dict):
        missing = object()
        return [
            line
            for key in sorted(kept.keys() | came.keys())
            for line in differences(kept.get(key, missing), came.get(key, missing), f"{at}.{key}")
        ]
    if isinstance(kept, list) and isinstance(came, list) and len(kept) == len(came):
        pairs = enumerate(zip(kept, came, strict=True))
        return [line for i, (a, b) in pairs for line in differences(a, b, f"{at}[{i}]")]
    same = _close(kept, came, at) if _is_number(kept) and _is_number(came) else kept == came
    return [] if same else [f"{at}: kept {kept!r}, came {came!r}"]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _close(kept: Any, came: Any, at: str) -> bool:
    slack = _BITS if at.endswith("_bits") else _NOTHING
    return math.isclose(kept, came, rel_tol=_RELATIVE, abs_tol=slack)
