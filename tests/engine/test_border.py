"""Materials declared or suspected: told as that, on the phone in the same words, and as no sign."""

import json
import random
import subprocess
from collections.abc import Iterator, Mapping
from typing import Any

from quickcheck import desk, paths
from quickcheck.engine import compile_model
from quickcheck.engine.export import model_json
from quickcheck.reference import Kind
from tests.by_markings import DECLARED, OF_1962, document, read

EXPLAINED = """
import { readFileSync } from 'node:fs';
const scripts = process.argv[1];
const { resultOf } = await import(`${scripts}/resultview.js`);
const { compileModel } = await import(`${scripts}/engine/model.js`);
const { model, documents } = JSON.parse(readFileSync(0, 'utf8'));
const compiled = compileModel(model);
process.stdout.write(JSON.stringify(documents.map((each) => {
  const { verdict, sentences } = resultOf(compiled, each);
  return { verdict: verdict.verdict, ratio: verdict.ratio_to_best, sentences };
})));
"""


def told(answers: Mapping[str, Any], about: str) -> list[str]:
    """Return what is said of a matter."""
    return [each.text for each in desk.judge_sheet(read(), document(answers)).said(about)]


def test_what_was_declared() -> None:
    """Each point with what was ticked and where, under words that establish nothing."""
    assert told(DECLARED, "border") == [
        (
            "Declared or suspected, not established: fingerboard, as declared (Declared: a rosewood), "
            "inlay, as declared (Declared: shell or pearl; Suspected, not known; front)."
        )
    ]


def test_a_suspicion_is_enough() -> None:
    """Whoever only suspects something is shown the caution as well."""
    assert told({"declared-nut": {"seen": "suspected"}}, "border") == [
        "Declared or suspected, not established: nut, as declared (Suspected, not known)."
    ]


def test_an_answer_that_is_not_listed() -> None:
    """Something that nobody listed may be anything: it counts as suspected."""
    assert told({"declared-nut": {"seen": "other"}}, "border") == [
        "Declared or suspected, not established: nut, as declared."
    ]


def test_nothing_declared() -> None:
    """Where nothing of these is declared, or nobody was asked, there is nothing to tell."""
    assert told({"declared-nut": {"seen": "none"}}, "border") == []
    assert told({"declared-inlay": {"seen": ["not-asked"]}}, "border") == []
    assert told({"declared-board": {"not_seen": "no-time"}}, "border") == []
    assert told({}, "border") == []


def test_never_called_a_sign_of_change() -> None:
    """A declared material is no change seen, and one not asked about no sign not looked for."""
    assert not [text for text in told(DECLARED, "found") if "Change seen" in text]
    unseen = told({"declared-board": {"seen": "none"}}, "unseen")
    assert "Materials not asked about: inlay, as declared, nut, as declared." in unseen
    (signs,) = [text for text in unseen if text.startswith("Signs of change")]
    assert "as declared" not in signs


def random_answers(chance: random.Random) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield answers to some points of the reference."""
    for point in read().points:
        if chance.random() < 0.4:
            continue
        ids = [variant.id for variant in point.seen]
        if point.kind is Kind.DATECODE:
            week, year = chance.randrange(1, 53), chance.randrange(40, 80)
            yield point.id, {"read": f"137-{year}{week:02}"}
        elif point.many:
            yield point.id, {"seen": chance.sample(ids, 2), "where": ["back"]}
        else:
            yield point.id, {"seen": chance.choice(ids), "sure": chance.random() < 0.8}


def test_the_phone_says_the_same() -> None:
    """Forty inspections by the general reference: every sentence of the phone is the server's."""
    chance = random.Random(11)
    documents = [document({**OF_1962, **DECLARED}), document({"declared-nut": {"seen": "other"}})]
    documents += [
        document(dict(random_answers(chance)), (f"{year}-03", f"{year + 1}-02"), access="open")
        for year in range(1922, 1960)
    ]
    given = {"model": model_json(compile_model(read())), "documents": documents}
    run = subprocess.run(
        ["node", "--input-type=module", "-e", EXPLAINED, str(paths.STATIC / "js")],
        input=json.dumps(given),
        capture_output=True,
        check=True,
        text=True,
    )
    named = 0
    for each, phone in zip(documents, json.loads(run.stdout), strict=True):
        judged = desk.judge_sheet(read(), each)
        assert phone["verdict"] == judged.verdict.verdict
        assert abs(phone["ratio"] - judged.verdict.ratio_to_best) < 1e-9
        ours = [(s.about, s.text, list(s.points)) for s in judged.sentences]
        assert [(s["about"], s["text"], s["points"]) for s in phone["sentences"]] == ours
        named += bool(judged.said("border"))
    assert named > 10
