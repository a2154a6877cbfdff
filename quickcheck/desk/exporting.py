"""A book taken along: exported, with a sheet for viewing, and proved; checked once more."""

from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Final

from quickcheck.desk.judging import judge_sheet
from quickcheck.engine import VERDICT_WORDS, Verdict
from quickcheck.errors import AnswerError, ReadingError
from quickcheck.readings import month_text
from quickcheck.store import CarriedInspection, Extent, Store, document_of, text_at
from quickcheck.transfer import (
    Manifest,
    Sheet,
    new_file,
    prove,
    settle,
    write_book,
)

COLUMNS: Final = (
    *("opened", "name", "reference", "edition", "claim", "serial"),
    *("verdict", "reads as", "changed parts", "cards"),
)
"""The head of the sheet for viewing. Nothing of an owner stands in it."""


@dataclass(frozen=True, slots=True)
class Exported:
    """A file that was taken into an empty book and found to be the same."""

    path: Path
    manifest: Manifest


def export_book(store: Store, target: Path, *, now: datetime) -> Exported:
    """Write the book into a new file, or into a new one of a folder, and prove it.

    The file has its name only once it was read back from the disk, taken into an empty book and
    compared. ExportError or StoreError leave none.
    """
    path = _free_name(target, now) if target.is_dir() else target
    with new_file(path) as (temporary, file):
        write_book(store, file, Sheet(COLUMNS, _Rows(store)), now=now)
        settle(file)
        manifest = prove(temporary)
    return Exported(path, manifest)


def check_export(path: Path) -> Exported:
    """Prove a copy as an export is proved when it is made."""
    return Exported(path, prove(path))


def _free_name(folder: Path, now: datetime) -> Path:
    """Return a name of the day that is free: nothing is written over an earlier export."""
    names = (f"quickcheck-book-{now:%Y-%m-%d}{f'-{n}' if n > 1 else ''}.zip" for n in count(1))
    return next(path for name in names if not (path := folder / name).exists())


@dataclass(frozen=True)
class _Rows:
    """Gives the row of each inspection as it stands, judged now against its own edition."""

    store: Store

    def __call__(self, extent: Extent, one: CarriedInspection) -> tuple[str, ...]:
        document = document_of(one.revisions[-1].document)
        reference = self.store.library.get(one.edition_hash or "")
        try:
            verdict = judge_sheet(reference, document).verdict
        except (AnswerError, ReadingError):
            judged = ("", "can't be judged", "", "")
        else:
            judged = _judged(verdict)
        claim, *told = judged
        cards = [card.id for card in extent.cards if card.inspection_id == one.id]
        return (
            one.opened.isoformat(timespec="seconds") if one.opened else "",
            text_at(document, "name"),
            reference.title,
            reference.edition,
            claim,
            text_at(document, "serial_text"),
            *told,
            " ".join(cards),
        )


def _judged(verdict: Verdict) -> tuple[str, str, str, str]:
    changed = [f"{part} (declared)" for part in verdict.declared] + list(verdict.found)
    return (
        _run(verdict.claimed),
        VERDICT_WORDS[verdict.verdict],
        "; ".join(map(_run, verdict.reads_as)),
        ", ".join(changed),
    )


def _run(months: tuple[int, int]) -> str:
    return f"{month_text(months[0])}..{month_text(months[1])}"
