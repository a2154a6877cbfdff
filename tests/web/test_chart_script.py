"""The phone draws the lifelines from the numbers that the server draws them from."""

import dataclasses
import json
import subprocess
from collections.abc import Iterator
from typing import Any

from quickcheck import desk, paths
from quickcheck.engine import Verdict
from quickcheck.engine.export import model_json
from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import DISCLOSURES, read_reference_text
from quickcheck.web.lifelines import Band, Row, lifelines
from quickcheck.web.words import LEANING_WORDS
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]

SEEDS = 80
CHARTS = """
import { readFileSync } from 'node:fs';
const scripts = process.argv[1];
const { chartOf } = await import(`${scripts}/chart.js`);
const { compileModel } = await import(`${scripts}/engine/model.js`);
const { readSheet } = await import(`${scripts}/engine/sheet.js`);
const named = (table) => new Map(Object.entries(table));
const charts = JSON.parse(readFileSync(0, 'utf8')).map(({ model, document, verdict }) => {
  const compiled = compileModel(model);
  const { assemblies, points, posterior } = verdict;
  const found = { ...verdict, assemblies: named(assemblies), points: named(points), posterior: Float64Array.from(posterior) };
  return chartOf(compiled, readSheet(compiled, document), found);
});
process.stdout.write(JSON.stringify(charts));
"""


def cases() -> Iterator[tuple[desk.Judged, Doc]]:
    """Yield references and answers made up at random, judged."""
    for made, document in seeded(SEEDS, tuple(DISCLOSURES)):
        try:
            reference = read_reference_text(toml_text(made))
        except ReferenceFaultsError:
            continue
        yield desk.judge_sheet(reference, document), document


def told(verdict: Verdict) -> Doc:
    """Return a verdict in numbers, as the scripts have it."""
    plain = {name: getattr(verdict, name) for name in Verdict.__dataclass_fields__}
    for name in ("assemblies", "points"):
        plain[name] = {key: dataclasses.asdict(each) for key, each in plain[name].items()}
    return plain | {
        "best_window": dataclasses.asdict(verdict.best_window),
        "changed_count": dataclasses.asdict(verdict.changed_count),
    }


def band(each: Band) -> Doc:
    return dataclasses.asdict(each)


def row(each: Row) -> Doc:
    return {
        "name": each.name,
        "bands": [band(one) for one in each.bands],
        "seen": each.seen,
        "finding": each.finding,
        "leaning": LEANING_WORDS.get(each.leaning, ""),
        "marks": each.marks,
    }


def expected(judged: desk.Judged) -> Doc:
    """Return the server's chart as plain data."""
    chart = lifelines(judged)
    same = ("months", "ticks", "window", "claimed", "strip", "reads_as")
    groups = [
        {"name": group.name, "apart": group.apart, "rows": [row(each) for each in group.rows]}
        for group in chart.groups
    ]
    whole: Doc = json.loads(
        json.dumps({name: getattr(chart, name) for name in same} | {"groups": groups})
    )
    return whole


def test_charts_are_the_same() -> None:
    """Ticks, window, strip, brackets, every band and word are equal on references at random."""
    found = list(cases())
    asked = [
        {"model": model_json(judged.model), "document": document, "verdict": told(judged.verdict)}
        for judged, document in found
    ]
    words = ("node", "--input-type=module", "-e", CHARTS, str(paths.STATIC / "js"))
    done = subprocess.run(
        words, input=json.dumps(asked), capture_output=True, text=True, check=True
    )
    charts = json.loads(done.stdout)
    assert len(charts) == len(found) > SEEDS / 2
    for chart, (judged, _) in zip(charts, found, strict=True):
        assert chart == expected(judged)
    rows = [row for chart in charts for group in chart["groups"] for row in group["rows"]]
    bands = [band for row in rows for band in row["bands"]]
    assert {row["finding"] for row in rows} > {"", "declared as changed"}
    assert any(row["marks"] for row in rows)
    assert any(0.1 < band["seen"] < 0.9 for band in bands)
    assert any(band["path"].count("M") > 1 for band in bands)
    assert any(group["apart"] for chart in charts for group in chart["groups"])
