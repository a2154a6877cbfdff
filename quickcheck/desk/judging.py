"""One inspection with its verdict."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from quickcheck.engine import (
    Model,
    NextLook,
    Sentence,
    Sheet,
    Verdict,
    compile_model,
    explain,
    judge,
    next_looks,
    read_sheet,
)
from quickcheck.reference import Reference
from quickcheck.store import Saved, Store

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Judged:
    """One inspection with its verdict; what to look at next and the sentences come on demand."""

    reference: Reference
    model: Model
    sheet: Sheet
    verdict: Verdict

    @cached_property
    def looks(self) -> tuple[NextLook, ...]:
        """What would tell most next, best first."""
        return next_looks(self.model, self.sheet, self.verdict)

    @cached_property
    def sentences(self) -> tuple[Sentence, ...]:
        """The verdict in plain sentences."""
        return explain(self.model, self.sheet, self.verdict, self.looks)

    def as_json(self) -> dict[str, object]:
        """Return the whole result as plain data, numbers unrounded."""
        return self.verdict.as_json() | {"next": [look.as_json() for look in self.looks]}

    def said(self, about: str) -> tuple[Sentence, ...]:
        """Return the sentences about one matter."""
        return tuple(sentence for sentence in self.sentences if sentence.about == about)


def judge_sheet(
    reference: Reference, document: Document, *, window: tuple[int, int] | None = None
) -> Judged:
    """Judge an answers document against a reference; ``window`` stands in place of its claim."""
    sheet = read_sheet(reference, document, window=window)
    model = compile_model(reference)
    return Judged(reference, model, sheet, judge(model, sheet))


def judge_saved(store: Store, saved: Saved) -> Judged:
    """Judge an inspection against the edition it began with."""
    return judge_sheet(store.library.get(saved.reference_hash), saved.document)
