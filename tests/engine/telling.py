"""What is told of a small case, by what it is about; words that must never fall are looked for."""

import re
from collections.abc import Mapping

from quickcheck.engine import Sentence, explain, next_looks
from quickcheck.reference import Reference
from tests.engine.small import answers_of, judged, ladder

Told = dict[str, list[str]]
NEVER = re.compile(
    r"authentic|original|fake|genuine\b(?! instrument)|likelihood|posterior|prior|mint|correct|100 %",
    re.IGNORECASE,
)


def sentences(
    made: Reference, window: tuple[str, str], answers: Mapping[str, object], **more: object
) -> tuple[Sentence, ...]:
    model, sheet, verdict = judged(made, window, answers, **more)
    told = explain(model, sheet, verdict, next_looks(model, sheet, verdict))
    assert not [s.text for s in told if NEVER.search(s.text)]
    return told


def tell(
    made: Reference, window: tuple[str, str], answers: Mapping[str, object], **more: object
) -> Told:
    """Return what is told, by what it is about."""
    told: Told = {}
    for sentence in sentences(made, window, answers, **more):
        told.setdefault(sentence.about, []).append(sentence.text)
    return told


HOLDS = (ladder(12), ("1955-01", "1955-06"), answers_of(12, built="1955-03"))
NOTHING_CHANGED = {"claim": {"nothing_changed": True}}
