"""From a document of answers to a `Sheet`: every answer checked, in the reference's own terms.

Nothing downstream checks again. All faults of a document are told at once, each with the field,
what was expected, what came and what to do. Keys at the top that are not known are ignored: a
document also carries names, places and times, which are none of the arithmetic's business. Inside
an answer they are refused: "stat" for "state" would change the verdict.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, cast

from quickcheck.engine.answers import Answer, check_answer
from quickcheck.engine.fields import Gather, finite, mapping, one_of, texts, typed
from quickcheck.errors import AnswerError, Fault, shown
from quickcheck.readings import parse_month, run_words
from quickcheck.reference.disclosures import DISCLOSURES
from quickcheck.reference.records import Access, Reference

_DOCUMENT: Final = '{"reference": "…", "window": ["…", "…"], "answers": {}}'


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark that tells this instrument from its twins: place, kind, size."""

    place: str
    kind: str
    mm: float


@dataclass(frozen=True)
class Sheet:
    """One instrument's answers, checked against its reference."""

    reference: Reference
    claimed: tuple[int, int]
    window: tuple[int, int]  # the claim as far as the reference knows its months
    claim_words: str
    nothing_changed: bool
    access: Access
    tools: frozenset[str] | None  # None: nobody said, so nothing is ruled out
    serial_text: str
    marks: tuple[Mark, ...]
    disclosures: tuple[str, ...]
    answers: Mapping[str, Answer]  # in the reference's order


def read_sheet(
    reference: Reference,
    document: Mapping[str, object],
    *,
    window: tuple[int, int] | None = None,
) -> Sheet:
    """Return the checked answers of a document; ``window`` stands in place of its own claim.

    Raises AnswerError with every fault of the document.
    """
    document = mapping(document, "document", like=_DOCUMENT)
    gather = Gather()
    claimed = (reference.covers[0], reference.covers[1])
    with gather:
        _check_reference(reference, document)
    with gather:
        claimed = window or _window(document)
        _check_window(reference, claimed)
    rest: dict[str, object] = {}
    for name, read in _REST.items():
        with gather:
            rest[name] = read(document)
    answers = _answers(reference, document, gather)
    gather.check()
    first, last = reference.covers
    return Sheet(
        reference=reference,
        claimed=claimed,
        window=(max(first, claimed[0]), min(last, claimed[1])),
        answers=answers,
        **rest,  # type: ignore[arg-type]  # each reader of `_REST` returns its field's type
    )


# The claim and what stands around it


def _check_reference(reference: Reference, document: Mapping[str, object]) -> None:
    if document.get("reference") != reference.id:
        raise AnswerError.of(
            "reference",
            expected=f'"{reference.id}"',
            came=shown(document.get("reference")),
            remedy="Judge the answers with the reference they were given for.",
        )


def _window(document: Mapping[str, object]) -> tuple[int, int]:
    window = document.get("window")
    if not isinstance(window, list | tuple) or len(window) != 2:
        raise AnswerError.of(
            "window",
            expected='first and last month claimed, like ["1953-03", "1953-05"]',
            came=shown(window),
            remedy="Give both, the same month twice where one month is claimed.",
        )
    first, last = (parse_month(str(month), where="window") for month in window)
    return first, last


def _check_window(reference: Reference, claimed: tuple[int, int]) -> None:
    first, last = claimed
    if first > last:
        raise AnswerError.of(
            "window",
            expected="the first month before the last",
            came=shown(run_words(first, last)),
            remedy="Swap the two months.",
        )
    if last < reference.covers[0] or first > reference.covers[1]:
        raise AnswerError.of(
            "window",
            expected=f"months within {run_words(*reference.covers)}",
            came=shown(run_words(first, last)),
            remedy="Claim at least one month that the reference covers, or take another reference.",
        )


def _claim(document: Mapping[str, object]) -> Mapping[str, object]:
    return mapping(document.get("claim") or {}, "claim")


def _claim_words(document: Mapping[str, object]) -> str:
    return cast(str, typed(_claim(document), "words", "", where="claim.words"))


def _nothing_changed(document: Mapping[str, object]) -> bool:
    where = "claim.nothing_changed"
    return cast(bool, typed(_claim(document), "nothing_changed", False, where=where))


def _access(document: Mapping[str, object]) -> Access:
    """Return what the owner allows; where nobody said, nothing is ruled out, as with tools."""
    value = document.get("access")
    return Access(one_of(Access.OPEN if value is None else value, list(Access), where="access"))


def _tools(document: Mapping[str, object]) -> frozenset[str] | None:
    if document.get("tools") is None:
        return None
    return frozenset(texts(document, "tools", where="tools"))


def _serial_text(document: Mapping[str, object]) -> str:
    return cast(str, typed(document, "serial_text", "", where="serial_text"))


def _marks(document: Mapping[str, object]) -> tuple[Mark, ...]:
    marks = cast(list[object], typed(document, "marks", [], where="marks"))
    return tuple(_mark(mark, f"marks.{i}") for i, mark in enumerate(marks))


def _mark(value: object, where: str) -> Mark:
    mark = mapping(value, where)
    size = finite(mark.get("mm", 0), where=f"{where}.mm")
    if size < 0:
        raise AnswerError.of(
            f"{where}.mm", expected="0 or more", came=shown(size), remedy="Measure it again."
        )
    place, kind = (cast(str, typed(mark, k, "", where=f"{where}.{k}")) for k in ("place", "kind"))
    return Mark(place, kind, size)


def _disclosures(document: Mapping[str, object]) -> tuple[str, ...]:
    given = texts(document, "disclosures", where="disclosures")
    return tuple(one_of(one, list(DISCLOSURES), where="disclosures") for one in given)


_REST: Final[Mapping[str, Callable[[Mapping[str, object]], object]]] = {
    "claim_words": _claim_words,
    "nothing_changed": _nothing_changed,
    "access": _access,
    "tools": _tools,
    "serial_text": _serial_text,
    "marks": _marks,
    "disclosures": _disclosures,
}


def _answers(
    reference: Reference, document: Mapping[str, object], gather: Gather
) -> dict[str, Answer]:
    given: Mapping[str, object] = {}
    with gather:
        given = mapping(document.get("answers"), "answers")
    for unknown in given.keys() - reference.by_id.keys():
        gather.faults.append(
            Fault(
                f"answers.{unknown}",
                f"a point of {reference.id}",
                shown(unknown),
                "Check the spelling, or take the edition that has this point.",
            )
        )
    answers = {}
    for point in reference.points:
        if point.id in given:
            with gather:
                answers[point.id] = check_answer(point, given[point.id])
    return answers
