"""The bytes of a reference: the file, the pictures beside it, text into a tree of plain values."""

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from quickcheck.errors import ReferenceFaultsError, shown
from quickcheck.reference.pictures import MOST_BYTES

MOST_FILE_BYTES: Final = 1_000_000
DEEPEST: Final = 32
_PART: Final = r"""(?:(?<![\w-])[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DEEP_KEY: Final = re.compile(rf"(?:{_PART}[ \t]*+\.[ \t]*+){{{DEEPEST}}}")
_TOML_PLACE: Final = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


class FileFaultError(Exception):
    """The file as a whole can't be taken: where in it, what was expected, what came, what to do."""

    def __init__(self, where: str, *, expected: str, came: str, remedy: str) -> None:
        super().__init__(where)
        self.where = where
        self.words = (expected, came, remedy)

    def of(self, name: str) -> ReferenceFaultsError:
        """Return it as the one fault of the file of that name."""
        expected, came, remedy = self.words
        where = f"{name}, {self.where}" if self.where else name
        return ReferenceFaultsError.of(where, expected=expected, came=came, remedy=remedy)


def find_file(path: Path) -> Path:
    """Return the .toml file that a path means: itself, or the one in the folder."""
    if not path.is_dir():
        return path
    found = sorted(path.glob("*.toml"))
    if len(found) != 1:
        names = ", ".join(each.name for each in found) or "none"
        raise FileFaultError(
            "", expected="one .toml file in the folder", came=names, remedy="Name the file itself."
        )
    return found[0]


def file_bytes(path: Path) -> bytes:
    """Return the content of the file, one byte more than allowed at most."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_FILE_BYTES + 1)
    except (OSError, ValueError) as error:
        raise FileFaultError(
            "",
            expected="a reference file or a folder with one",
            came=getattr(error, "strerror", None) or str(error),
            remedy="Look at the path.",
        ) from None


def picture_beside(path: Path, name: str) -> bytes | None:
    """Return a picture that lies in the same folder; None where it does not, links included."""
    picture = path.parent / name
    try:
        if picture.resolve().parent != path.parent.resolve():
            return None
        with picture.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, RuntimeError):  # the second: links that lead round in a circle
        return None


def decoded(content: bytes) -> str:
    """Return the text of a file."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileFaultError(
            f"line {content.count(10, 0, error.start) + 1}",
            expected="text in UTF-8",
            came=f"the byte {content[error.start]:#04x}",
            remedy="Save it as UTF-8 in the editor.",
        ) from None


def parsed(text: str) -> Mapping[str, Any]:
    """Return the tree of a TOML text."""
    _check_size(text)
    deep = _DEEP_KEY.search(text)
    if deep:
        raise _too_deep(f"line {text.count(chr(10), 0, deep.start()) + 1}")
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise _too_deep("") from None
    except ValueError as error:
        raise _not_toml(str(error), text) from None
    check_depth(document)
    return document


def check_depth(document: Mapping[str, Any]) -> None:
    """Refuse a tree that is deeper than anything the format needs."""
    if _is_deep(document):
        raise _too_deep("")


def _check_size(text: str) -> None:
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise FileFaultError(
            "", expected="text in UTF-8", came="half a sign", remedy="Save it as UTF-8."
        ) from None
    if size > MOST_FILE_BYTES:
        raise FileFaultError(
            "",
            expected="a file of at most 1 MB",
            came="a larger one",
            remedy="Put pictures beside the file and split what is two references.",
        )


def _too_deep(where: str) -> FileFaultError:
    return FileFaultError(
        where,
        expected=f"at most {DEEPEST} tables or lists in one another",
        came="more",
        remedy="Write it flatter: the format needs four.",
    )


def _not_toml(message: str, text: str) -> FileFaultError:
    place = _TOML_PLACE.search(message)
    last = text.count("\n") + 1
    where = f"line {place[1] or last}, column {place[2] or 'last'}" if place else ""
    return FileFaultError(
        where,
        expected="TOML (toml.io)",
        came=shown(_TOML_PLACE.sub("", message)),
        remedy="Mend that line, or the one before it.",
    )


def _is_deep(document: Mapping[str, Any]) -> bool:
    level: list[Any] = [document]
    for _ in range(DEEPEST):
        level = [inner for outer in level for inner in _inside(outer)]
        if not level:
            return False
    return True


def _inside(outer: Any) -> list[Any]:
    values = outer.values() if isinstance(outer, dict) else outer
    return [value for value in values if isinstance(value, dict | list)]
