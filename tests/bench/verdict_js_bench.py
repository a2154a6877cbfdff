"""How long a verdict takes in JavaScript: ``python -m tests.bench.verdict_js_bench`` (needs Node).

Thirty answers on 240 months: picks, measures, a serial, date codes, two sets, a sign. Told apart are
the first verdict on an instrument (all answers new) and the next ones (one answer changed, as with
each tap). A phone six times slower has 4 ms for the verdict by itself, so 0.6 ms are allowed here.
"""

import json
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from quickcheck.engine import compile_model, judge_document
from quickcheck.engine.export import model_json
from quickcheck.readings import month_text, parse_month
from quickcheck.reference import Kind, Point, Reference
from tests.engine.small import point, reference, sets, variant

FIRST = parse_month("1950-01")
COVERS = (FIRST, FIRST + 239)
WINDOW = ("1957-03", "1957-08")
BUILT = parse_month(WINDOW[0])
SCRIPT = Path(__file__).resolve().parent / "verdict_js_bench.mjs"
SETS = {**dict.fromkeys(range(5), "hardware"), **dict.fromkeys(range(5, 8), "rewire")}


def made() -> tuple[Reference, dict[str, Any]]:
    """Return a reference of thirty witnesses, and answers of early 1957."""
    points, answers = [], {}
    for i in range(30):
        each, answer = _one(i)
        points.append(each)
        answers[each.id] = answer
    points.append(point("signs", variant("holes", odds=4.0), kind=Kind.SIGN, bears_on=("p0",)))
    answers["signs"] = {"seen": "holes"}
    output = {str(year): 100.0 + year % 7 for year in range(1950, 1970)}
    rates = sets(hardware=0.05, rewire=0.06)
    return reference(*points, covers=COVERS, sets=rates, output=output), answers


def _one(i: int) -> tuple[Point, dict[str, Any]]:
    name = f"p{i}"
    if i >= 27:
        return point(name, kind=Kind.DATECODE, scheme="year-week"), {"read": f"56-{i}"}
    cuts = [FIRST + 5 + 3 * i + 45 * j for j in range(3)]
    firsts = [None, *(month_text(cut) for cut in cuts)]
    lasts = [*(month_text(cut - 1) for cut in cuts), None]
    edges = list(zip(firsts, lasts, strict=True))
    at = sum(cut <= BUILT for cut in cuts)
    more: dict[str, Any] = {"changed": 0.05 + 0.01 * (i % 8), "changed_with": SETS.get(i)}
    if i == 26:
        seen = [variant(f"v{j}", *e, block=(100 * j, 100 * j + 99)) for j, e in enumerate(edges)]
        more |= {"kind": Kind.SERIAL, "pattern": "[0-9]+"}
        return point(name, *seen, **more), {"read": str(100 * at + 7)}
    if i >= 20:
        seen = [variant(f"v{j}", *e, mean=1 + 0.1 * j, spread=0.03) for j, e in enumerate(edges)]
        more |= {"kind": Kind.MEASURE, "unit": "in", "span": (0.8, 1.5), "tolerance": 0.01}
        return point(name, *seen, **more), {"value": 1.01 + 0.1 * at}
    seen = [variant(f"v{j}", *e) for j, e in enumerate(edges)]
    return point(name, *seen, **more), {"seen": f"v{at}", "sure": i % 5 > 0}


def main() -> None:
    """Hand the case to Node, which judges, compares with Python's posterior, and prints times."""
    node = shutil.which("node")
    if node is None:
        raise SystemExit("This needs Node 20 or newer.")
    made_reference, answers = made()
    document = {"reference": "small", "window": list(WINDOW), "answers": answers, "access": "open"}
    case = {
        "model": model_json(compile_model(made_reference)),
        "document": document,
        "result": judge_document(made_reference, document),
    }
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.json"
        path.write_text(json.dumps(case), encoding="utf-8")
        subprocess.run([node, SCRIPT, path], check=True)


if __name__ == "__main__":
    main()
