"""Make the golden vectors of the verdict anew: ``python -m tests.vectors.make``.

To be done only when the arithmetic or the words are meant to change; what changed is printed, and
belongs into the review. Python makes them, as it is the engine that counts; it must give them back
(`test_vectors.py`), and the engine in JavaScript must give the same, in Node and in a browser.
"""

import json
import tomllib
from collections.abc import Iterable, Iterator
from typing import Any

from quickcheck import paths
from quickcheck.engine import judge_document
from quickcheck.readings import parse_month
from quickcheck.reference import DISCLOSURES, Reference, read_reference_text
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text
from tests.vectors import edge_cases, edge_references
from tests.vectors.edge_cases import Case
from tests.vectors.fault_cases import faults
from tests.vectors.kept import (
    FILE,
    Doc,
    differences,
    outcome,
    read,
    reference_line,
    shortened,
    write,
)

SEEDS = 180


def _parsed(document: Doc) -> Reference:
    return read_reference_text(toml_text(document))


def _judged(name: str, reference: Reference, cases: Iterable[Case]) -> Iterator[Doc]:
    """Yield the lines of one reference."""
    yield reference_line(name, reference)
    for case, document, window in cases:
        given = {"name": f"{name}: {case}", "document": document, "window": window}
        yield given | shortened(outcome(reference, document, window))


def _book() -> Iterator[tuple[str, Doc]]:
    for path in sorted((paths.DEMO / "book").glob("*.json")):
        if path.name != "expected.json":
            yield path.stem, json.loads(path.read_text(encoding="utf-8"))


def without_pictures(document: Doc) -> Doc:
    """Return a reference that stands in one text."""
    for point in document["point"]:
        for variant in point.get("seen", []):
            variant.pop("picture", None)
    document.pop("outline", None)
    return document


def _demo() -> Iterator[Doc]:
    """Yield the demo's book: each inspection as it is, and in the window that fits it best."""
    for folder in sorted((paths.DEMO / "references").iterdir()):
        text = (folder / f"{folder.name}.toml").read_text(encoding="utf-8")
        reference = _parsed(without_pictures(tomllib.loads(text)))
        book = [(name, doc) for name, doc in _book() if doc["reference"] == reference.id]
        yield from _judged(folder.name, reference, _inspections(reference, book))


def _inspections(reference: Reference, book: list[tuple[str, Doc]]) -> Iterator[Case]:
    for name, document in book:
        yield name, document, None
        best: Any = judge_document(reference, document)["best_window"]
        first, last = (parse_month(month) for month in best["window"])
        yield f"{name}, best window", document, (first, last)
        if name.startswith("2-"):
            window = (document["window"][0], document["window"][1])
            yield from edge_cases.disclosed(reference.id, document["answers"], window)


def _edges() -> Iterator[Doc]:
    plain = _parsed(edge_references.all_kinds("edges", hardware=0.05))
    yield from _judged("edges", plain, edge_cases.every_kind("edges"))
    yield from _judged("faults", plain, faults())
    codes = _parsed(edge_references.all_kinds("edges-codes", hardware=0.3, codes=0.1))
    yield from _judged("edges-codes", codes, edge_cases.every_kind("edges-codes"))
    for name, first, last in (
        ("one-month", "1953-03", "1953-03"),
        ("two-months", "1953-06", "1953-07"),
    ):
        short = _parsed(edge_references.short(name, first, last))
        yield from _judged(name, short, edge_cases.few_months(name, first, last))
    yield from _judged("ties", _parsed(edge_references.ties()), edge_cases.ties())


def _seeds() -> Iterator[Doc]:
    for seed, (document, answers) in enumerate(seeded(SEEDS, tuple(DISCLOSURES))):
        cases: list[Case] = [("made up", answers, None)]
        yield from _judged(f"seed {seed}", _parsed(document), cases)


def lines() -> Iterator[Doc]:
    """Yield all lines."""
    yield from _edges()
    yield from _demo()
    yield from _seeds()


def main() -> None:
    """Write the file and tell what is in it, and what changed."""
    before = {line["name"]: line for line in read() if "name" in line} if FILE.exists() else {}
    made = list(lines())
    size = write(made)
    vectors = [line for line in read() if "name" in line]
    changed = [v["name"] for v in vectors if v["name"] in before and before[v["name"]] != v]
    print(f"{len(vectors)} vectors on {len(made) - len(vectors)} references, {size:,} bytes")
    for name in changed[:20]:
        after = next(v for v in vectors if v["name"] == name)
        print(f"changed: {name}", *differences(before[name], after)[:3], sep="\n    ")
    print(f"{len(changed)} changed, {sum(v['name'] not in before for v in vectors)} new")


if __name__ == "__main__":
    main()
