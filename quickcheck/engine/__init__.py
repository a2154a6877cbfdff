"""The verdict, in arithmetic: reference and answers in, verdict out; no clock, files or network.

The README of this room has every formula with its source.
"""

from collections.abc import Mapping

from quickcheck.engine.answers import Answer, check_answer, measure_step, measure_value
from quickcheck.engine.constants import RULES_REVISION
from quickcheck.engine.explain import VERDICT_WORDS, explain
from quickcheck.engine.model import Model, compile_model
from quickcheck.engine.next_look import NextLook, next_looks
from quickcheck.engine.result import Verdict
from quickcheck.engine.sentences import Sentence
from quickcheck.engine.sheet import Mark, Sheet, read_sheet
from quickcheck.engine.verdict import judge
from quickcheck.reference import Reference

__all__ = [
    "RULES_REVISION",
    "VERDICT_WORDS",
    "Answer",
    "Mark",
    "Model",
    "NextLook",
    "Sentence",
    "Sheet",
    "Verdict",
    "check_answer",
    "compile_model",
    "explain",
    "judge",
    "judge_document",
    "measure_step",
    "measure_value",
    "next_looks",
    "read_sheet",
]


def judge_document(
    reference: Reference,
    document: Mapping[str, object],
    *,
    window: tuple[int, int] | None = None,
) -> dict[str, object]:
    """Return the whole result on a document of answers, as plain data.

    Raises AnswerError with every fault of the document.
    """
    sheet = read_sheet(reference, document, window=window)
    model = compile_model(reference)
    verdict = judge(model, sheet)
    looks = next_looks(model, sheet, verdict)
    return verdict.as_json() | {"next": [look.as_json() for look in looks]}
