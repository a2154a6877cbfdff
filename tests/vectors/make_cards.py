"""Write the cards that the scripts must make too: ``python -m tests.vectors.make_cards``.

Cards of the demo book, of references and answers made up at random, and documents that no card can
carry. A model comes without its tables of months: no card holds a bit of them.
"""

import dataclasses
import gzip
import json
import random
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from quickcheck import paths
from quickcheck.card import (
    INTERESTS,
    MARK_KINDS,
    MARK_PLACES,
    card_of,
    card_url,
    digits,
    encode,
    symbol,
)
from quickcheck.engine import Verdict, compile_model, judge, read_sheet
from quickcheck.engine.export import model_json
from quickcheck.errors import CardError, ReferenceFaultsError
from quickcheck.reference import DISCLOSURES, Reference, read_reference, read_reference_text
from tests.card.kit import FULL, loom
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]

FILE: Final = Path(__file__).with_name("cards.json.gz")
SEEDS: Final = 240  # some are no valid references
BASE: Final = "https://cards.example"
_START: Final = datetime(2026, 4, 11, 10, 3, 59, 999000, tzinfo=UTC)
_SERIALS: Final = ("", "77", "1388", "A 641", "  a  1/20-b ", "12.5-3/4?", "Nr 1 g", "9" * 16)
_SIGN_PLACES: Final = ("case", "open", "edge", "back", "headstock", "front")


def dressed(reference: Reference, document: Doc, rng: random.Random) -> Doc:
    """Add what stands around the answers, in every form."""
    answers = {name: dict(answer) for name, answer in document["answers"].items()}
    for point in reference.points:
        answer = answers.get(point.id)
        if answer and point.kind == "sign" and "seen" in answer and rng.random() < 0.5:
            answer["where"] = rng.sample(_SIGN_PLACES, rng.randrange(1, 4))
    serial = rng.choice(_SERIALS)
    return document | {
        "answers": answers,
        "claim": {"words": "a story", "nothing_changed": rng.random() < 0.3},
        "serial_text": serial,
        "disclosures": rng.sample(sorted(DISCLOSURES), rng.choice([0, 0, 1, 3])),
        "marks": [
            {
                "place": rng.choice([*MARK_PLACES]),
                "kind": rng.choice([*MARK_KINDS]),
                "mm": rng.choice([0, 0.5, 1.5, 2.5, 5.4, 1023]),
            }
            for _ in range(rng.randrange(3))
        ],
    }


def issue(rng: random.Random) -> Doc:
    """Choose what the issuer says."""
    at = _START + timedelta(seconds=rng.randrange(10**9))
    interest = rng.choice([*INTERESTS])
    return {"issued": at, "interest": interest, "number": rng.choice([1, 2, 17, 4095])}


def demo_cases() -> Iterator[tuple[Reference, Doc, Doc]]:
    """Yield the demo book."""
    rng = random.Random(1)
    found = (read_reference(path) for path in sorted((paths.DEMO / "references").iterdir()))
    references = {reference.id: reference for reference in found}
    for path in sorted((paths.DEMO / "book").glob("*.json")):
        document = json.loads(path.read_text(encoding="utf-8"))
        if "answers" in document:
            yield references[document["reference"]], document, issue(rng)


def random_cases() -> Iterator[tuple[Reference, Doc, Doc]]:
    """Yield what was made up at random, as far as the reader takes the reference."""
    for seed, (made, document) in enumerate(seeded(SEEDS, tuple(DISCLOSURES))):
        rng = random.Random(seed)
        try:
            reference = read_reference_text(toml_text(made))
        except ReferenceFaultsError:
            continue
        yield reference, dressed(reference, document, rng), issue(rng)


def refused_cases() -> Iterator[tuple[Reference, Doc, Doc]]:
    """Yield what no card can carry, a field at a time."""
    issued = {"issued": _START, "interest": "none", "number": 1}
    mark = FULL["marks"][0]
    pot = FULL["answers"] | {"pot": {"read": "137-6634"}}
    documents: tuple[Doc, ...] = (
        {"serial_text": "12345678901234567"},
        {"serial_text": "№ 12"},
        {"marks": [mark, mark, mark]},
        {"marks": [mark | {"place": "moon"}]},
        {"marks": [mark | {"kind": "halo"}]},
        {"marks": [mark | {"mm": 1023.6}]},
    )
    for change in documents:
        yield loom(), FULL | {"answers": pot} | change, issued
    told: tuple[Doc, ...] = (
        {"interest": "love"},
        {"number": 4096},
        {"number": 0},
        {"issued": datetime(2019, 12, 31, tzinfo=UTC)},
        {"issued": datetime(2150, 1, 1, tzinfo=UTC)},
    )
    for change in told:
        yield loom(), FULL, issued | change


def verdict_for_card(verdict: Verdict) -> Doc:
    """Return what a card takes from a verdict."""
    taken = ("verdict", "rules", "reads_as", "flagged", "odd", "declared")
    return {name: getattr(verdict, name) for name in taken}


def _result(reference: Reference, document: Doc, told: Doc) -> tuple[Verdict, Doc]:
    sheet = read_sheet(reference, document)
    verdict = judge(compile_model(reference), sheet)
    try:
        data = encode(card_of(sheet, verdict, **told))
    except CardError as error:
        return verdict, {"faults": [dataclasses.asdict(fault) for fault in error.faults]}
    url = card_url(BASE, data)
    return verdict, {
        "bytes": data.hex(),
        "digits": digits(data),
        "version": symbol(url).version,
    }


def _bare_model(reference: Reference) -> Doc:
    whole = model_json(compile_model(reference)) | {"weights": []}
    points: Any = whole["points"]
    for point in points:
        point.pop("made", None)
    return whole


def vectors() -> Doc:
    """Return every case: models by hash, and what each document gives."""
    models: Doc = {}
    cases = []
    for reference, document, told in (*demo_cases(), *random_cases(), *refused_cases()):
        models.setdefault(reference.hash, _bare_model(reference))
        verdict, result = _result(reference, document, told)
        issued = {**told, "issued": told["issued"].isoformat(timespec="milliseconds")}
        case = {"model": reference.hash, "document": document, "told": issued}
        cases.append(case | {"verdict": verdict_for_card(verdict)} | result)
    return {"base": BASE, "models": models, "cases": cases}


def packed(made: Mapping[str, Any]) -> bytes:
    """Return the bytes of the file."""
    text = json.dumps(made, ensure_ascii=False, separators=(",", ":"))
    return gzip.compress(text.encode(), 9, mtime=0)


def main() -> None:
    """Write the file."""
    FILE.write_bytes(packed(vectors()))


if __name__ == "__main__":
    main()
