"""Writing references: tables of spreadsheets as rows, and what a new edition does to what is saved."""

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from io import BytesIO, StringIO
from typing import Final
from uuid import UUID
from zipfile import BadZipFile

from quickcheck.desk.judging import judge_saved, judge_sheet
from quickcheck.errors import AnswerError, ReferenceFaultsError, shown
from quickcheck.reference import Reference
from quickcheck.store import Saved, Store

_ZIP: Final = b"PK\x03\x04"  # what a workbook begins with
_MOST_ROWS: Final = 6000
"""Rows of a table: as many as a reference can have variants."""

Row = dict[str, str]


def rows_of_table(content: bytes, *, name: str) -> list[Row]:
    """Return the rows of a CSV text or of a workbook's first sheet, by the words of its head.

    ReferenceFaultsError where it is neither, or is too long to be one reference.
    """
    cells = _sheet(content, name) if content.startswith(_ZIP) else _text(content, name)
    head = [word.strip().lower() for word in next(cells, [])]
    rows: list[Row] = []
    for row in cells:
        if len(rows) == _MOST_ROWS:
            raise _no_table(name, f"at most {_MOST_ROWS} rows", "more", remedy="Split it.")
        if len(row) > len(head) and any(cell.strip() for cell in row[len(head) :]):
            came = f"{len(row)} cells under {len(head)} words"
            where = f"{name}, row {len(rows) + 2}"
            raise _no_table(
                where, "a word above every cell", came, remedy="Put quotes round commas."
            )
        rows.append(dict(zip(head, [*row, *[""] * len(head)], strict=False)))
    return rows


def _text(content: bytes, name: str) -> Iterator[list[str]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        wants = 'Save it from the spreadsheet as "CSV UTF-8", or as XLSX.'
        raise _no_table(
            name, "a table in UTF-8, or XLSX", shown(str(error)), remedy=wants
        ) from None
    head = text.partition("\n")[0]
    mark = max(",;\t", key=head.count)
    try:
        yield from csv.reader(StringIO(text, newline=""), delimiter=mark, strict=True)
    except csv.Error as error:
        wants = "Save it once more from the spreadsheet."
        raise _no_table(name, "a table as CSV", shown(str(error)), remedy=wants) from None


def _sheet(content: bytes, name: str) -> Iterator[list[str]]:
    try:
        from openpyxl import load_workbook  # noqa: PLC0415  # an extra: only workbooks need it
    except ImportError:
        wants = "Save it as CSV, or install the extra: pip install 'instrument-quickcheck[xlsx]'."
        raise _no_table(name, "a CSV", "an XLSX, which needs openpyxl", remedy=wants) from None
    try:
        book = load_workbook(BytesIO(content), read_only=True, data_only=True)
        for row in book.worksheets[0].iter_rows(values_only=True):
            yield [_cell(value) for value in row]
    except (KeyError, ValueError, OSError, IndexError, BadZipFile) as error:
        wants = "Save it once more from the spreadsheet, or as CSV."
        raise _no_table(name, "a workbook (XLSX)", shown(str(error)), remedy=wants) from None


def _cell(value: object) -> str:
    """Return a cell as it would be typed: a date is its month, 1954.0 is 1954."""
    if isinstance(value, date):
        return f"{value.year:04d}-{value.month:02d}"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "" if value is None else str(value)


def _no_table(where: str, expected: str, came: str, *, remedy: str) -> ReferenceFaultsError:
    return ReferenceFaultsError.of(where, expected=expected, came=came, remedy=remedy)


@dataclass(frozen=True, slots=True)
class Affected:
    """A saved inspection of an older edition that a new one would judge otherwise."""

    id: UUID
    name: str
    before: str  # the code of the verdict
    after: str  # likewise; "" where it can't be judged by the new edition
    why: str = ""  # why not


def affected(store: Store, new: Reference) -> tuple[Affected, ...]:
    """Return the saved inspections whose verdict would be another by a new edition.

    Each keeps the edition that it began with; nothing is changed here.
    """
    older = (
        saved
        for saved in _all(store)
        if saved.reference_id == new.id and saved.reference_hash != new.hash
    )
    return tuple(found for saved in older if (found := _judged_anew(store, saved, new)))


def _all(store: Store) -> Iterable[Saved]:
    before = None
    while page := store.book.list(100, before=before):
        yield from page
        before = page[-1].id


def _judged_anew(store: Store, saved: Saved, new: Reference) -> Affected | None:
    name = str(saved.document.get("name") or saved.document.get("serial_text") or saved.title)
    before = judge_saved(store, saved).verdict.verdict
    try:
        after = judge_sheet(new, saved.document).verdict.verdict
    except AnswerError as error:
        return Affected(saved.id, name, before, "", str(error))
    return Affected(saved.id, name, before, after) if after != before else None
