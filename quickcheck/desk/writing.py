"""Writing references: tables as rows, texts onto the shelf, what a new edition does to the book."""

import csv
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from io import BytesIO, StringIO
from pathlib import Path
from typing import Final
from uuid import UUID
from zipfile import BadZipFile

import tomlkit

from quickcheck.desk.judging import judge_saved, judge_sheet
from quickcheck.desk.shelf import Shelf
from quickcheck.errors import (
    AnswerError,
    NotFoundError,
    ReferenceFaultsError,
    StoreError,
    shown,
)
from quickcheck.reference import Reference, delimiter, read_reference_text, reference_parts
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
    try:
        yield from csv.reader(StringIO(text, newline=""), delimiter=delimiter(text), strict=True)
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


def text_of(shelf: Shelf, reference_id: str) -> str:
    """Return the text of a reference as its author wrote it, remarks and all."""
    shelf.get(reference_id)
    for path in shelf.folders.paths:
        found = _text_if(path, reference_id)
        if found:
            return found
    raise NotFoundError.of(
        f"reference {reference_id}",
        expected="its file",
        came="none in the folders of this server",
        remedy="Open the file in an editor where it is.",
    )


def read_text(shelf: Shelf, text: str) -> Reference:
    """Return the reference in a text, with the pictures that its edition on the shelf has."""
    return read_reference_text(text, pictures=pictures_for(shelf, text))


def pictures_for(shelf: Shelf, text: str) -> Mapping[str, bytes]:
    """Return the pictures that the edition on the shelf has of the reference in a text."""
    here = shelf.current.get(_id_in(text))
    return here.pictures if here else {}


def keep_text(shelf: Shelf, text: str, *, store: Store) -> Reference:
    """Put an edition into the folder of references and into the book's library.

    ReferenceFaultsError where it has faults, or the label of another edition that is here.
    """
    made = read_text(shelf, text)
    here = shelf.current.get(made.id)
    if here and here.hash != made.hash and here.edition == made.edition:
        raise ReferenceFaultsError.of(
            'reference.toml, key "edition"',
            expected="a label that no other edition has",
            came=shown(made.edition),
            remedy="Raise it: what was judged by the edition of that label must stay clear.",
        )
    try:
        file = _place(shelf, made)
        file.parent.mkdir(parents=True, exist_ok=True)
        write_reference(file, text, made)
    except OSError as error:
        raise StoreError.of(
            "references",
            expected="a folder that can be written",
            came=shown(str(error)),
            remedy="Save it as a file instead, and put it there by hand.",
        ) from None
    store.library.keep(made)
    return made


def with_edition(text: str, edition: str) -> str:
    """Return a text under another label of its edition; all else stays as it was written."""
    document = tomlkit.parse(text)
    document["edition"] = edition
    return tomlkit.dumps(document)


def _id_in(text: str) -> str:
    try:
        return str(tomllib.loads(text).get("id"))
    except (ValueError, RecursionError):
        return ""


def _text_if(path: Path, reference_id: str) -> str:
    """Return the text of a file or folder if it is of that reference, else ""."""
    try:
        _, text, _ = reference_parts(path)
    except ReferenceFaultsError:
        return ""
    return text if _id_in(text) == reference_id else ""


def _place(shelf: Shelf, made: Reference) -> Path:
    """Return the file that an edition is written to: the one it has, or a new one."""
    own = shelf.folders.own
    if own is None:
        raise OSError("this server has no folder for them")
    for path in shelf.folders.own_paths:
        if _text_if(path, made.id):
            return next(path.glob("*.toml")) if path.is_dir() else path
    return (own / made.id / made.id if made.pictures else own / made.id).with_suffix(".toml")


def write_reference(file: Path, text: str, made: Reference) -> None:
    """Write the pictures that are not beside it and then the text, whole or not at all."""
    for name, content in made.pictures.items():
        if not (file.parent / name).exists():
            (file.parent / name).write_bytes(content)
    draft = file.with_name(f".{file.name}.new")
    draft.write_text(text, encoding="utf-8")
    draft.replace(file)
