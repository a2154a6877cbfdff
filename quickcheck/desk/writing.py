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
from zipfile import ZipFile

import tomlkit

from quickcheck.desk.judging import judge_saved, judge_sheet
from quickcheck.desk.pictures import write_whole
from quickcheck.desk.shelf import Shelf
from quickcheck.errors import (
    AnswerError,
    NotFoundError,
    ReferenceFaultsError,
    StoreError,
    shown,
)
from quickcheck.reference import Reference, delimiter, read_reference_text, reference_parts
from quickcheck.reference.pictures import MOST_BYTES, PICTURE_NAME
from quickcheck.store import Saved, Store

_ZIP: Final = b"PK\x03\x04"  # what a workbook begins with
_MOST_UNPACKED: Final = 50_000_000
_MOST_ROWS: Final = 6000
"""Rows of a table: as many as a reference can have variants."""

Row = dict[str, str]
_NONE: Final[Mapping[str, bytes]] = {}


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
        _check_size(content, name)
        book = load_workbook(BytesIO(content), read_only=True, data_only=True)
        for row in book.worksheets[0].iter_rows(values_only=True):
            yield [_cell(value) for value in row]
    except ReferenceFaultsError:
        raise
    except Exception as error:  # noqa: BLE001  # whatever is raised by what came, it is no workbook
        wants = "Save it once more from the spreadsheet, or as CSV."
        raise _no_table(name, "a workbook (XLSX)", shown(str(error)), remedy=wants) from None


def _check_size(content: bytes, name: str) -> None:
    """Refuse a workbook that would fill the memory; no member gives more than is said of it here."""
    with ZipFile(BytesIO(content)) as archive:
        size = sum(member.file_size for member in archive.infolist())
    if size > _MOST_UNPACKED:
        wants = "Save the sheet with the table alone, or as CSV."
        raise _no_table(name, "a workbook of at most 50 MB unpacked", f"{size} bytes", remedy=wants)


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


def read_text(shelf: Shelf, text: str, pictures: Mapping[str, bytes] = _NONE) -> Reference:
    """Return the reference in a text, with pictures that came and those of its edition here."""
    return read_reference_text(text, pictures={**pictures_for(shelf, text), **pictures})


def pictures_for(shelf: Shelf, text: str) -> Mapping[str, bytes]:
    """Return the pictures that the edition on the shelf has of the reference in a text."""
    here = shelf.current.get(_id_in(text))
    return here.pictures if here else {}


def pictures_beside(shelf: Shelf, text: str) -> Mapping[str, bytes]:
    """Return what lies, by its name, where the pictures of this text would be put, and of its edition."""
    found = dict(pictures_for(shelf, text))
    try:
        folder = _place(shelf, _id_in(text), pictures=True).parent
        files = [each for each in folder.iterdir() if PICTURE_NAME.fullmatch(each.name)]
    except OSError:
        return found
    return {each.name: _content(each) for each in files} | found


def keep_text(
    shelf: Shelf, text: str, *, store: Store, pictures: Mapping[str, bytes] = _NONE
) -> Reference:
    """Put an edition into the folder of references and into the book's library.

    ReferenceFaultsError where it has faults, or the label of another edition that is here.
    """
    made = read_text(shelf, text, pictures)
    here = shelf.current.get(made.id)
    if here and here.hash != made.hash and here.edition == made.edition:
        raise ReferenceFaultsError.of(
            'reference.toml, key "edition"',
            expected="a label that no other edition has",
            came=shown(made.edition),
            remedy="Raise it: what was judged by the edition of that label must stay clear.",
        )
    try:
        file = _place(shelf, made.id, pictures=bool(made.pictures))
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


def _place(shelf: Shelf, reference_id: str, *, pictures: bool) -> Path:
    """Return the file that an edition is written to: the one it has, or a new one."""
    own = shelf.folders.own
    if own is None:
        raise OSError("this server has no folder for them")
    for path in shelf.folders.own_paths:
        if _text_if(path, reference_id):
            return next(path.glob("*.toml")) if path.is_dir() else path
    return own / (f"{reference_id}/{reference_id}.toml" if pictures else f"{reference_id}.toml")


def _content(file: Path) -> bytes:
    """Return what is in a file, as far as a picture can be that long; b"" where it can't be read."""
    try:
        with file.open("rb") as opened:
            return opened.read(MOST_BYTES + 1)
    except OSError:
        return b""


def write_reference(file: Path, text: str, made: Reference) -> None:
    """Write the pictures that are not beside it and then the text, whole or not at all.

    The text is what makes the edition, and it comes last; a picture of another content is never
    replaced, so that until then the edition before is untouched. ReferenceFaultsError for such a one.
    """
    missing = {n: c for n, c in made.pictures.items() if not (file.parent / n).exists()}
    for name in made.pictures.keys() - missing.keys():
        if _content(file.parent / name) != made.pictures[name]:
            raise ReferenceFaultsError.of(
                f"picture {name}",
                expected="a name that no other picture beside the file has",
                came="one of another content",
                remedy="Give the new one another name, in the text too.",
            )
    for name, content in missing.items():
        write_whole(file.parent / name, content)
    write_whole(file, text.encode())
