"""Records as JSON and back, by the names and types of their fields.

Moments are ISO 8601 in UTC, bytes are hex digits. Reading is strict: every field, no other, each of
its type; so what is read and written again is the same text.
"""

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from functools import cache
from types import NoneType, UnionType
from typing import Any, Final, TypeVar, get_args, get_origin, get_type_hints
from uuid import UUID

from quickcheck.errors import ExportError, shown

Record = TypeVar("Record")
_BIGGEST: Final = 2**31 - 1  # what a database integer holds


def json_of(data: object) -> bytes:
    """Return plain data as the text of a file."""
    return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()


def data_of(content: bytes, where: str) -> Any:
    """Return the data in a file; ExportError if it is no JSON."""
    try:
        return json.loads(content)
    except (ValueError, RecursionError) as error:
        raise unfit(where, "JSON", str(error)) from None


def plain(value: Any) -> Any:
    """Return a record, or what stands in its fields, as plain data."""
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    match value:
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        case UUID() | date():
            return str(value)
        case bytes():
            return value.hex()
        case tuple() | list():
            return [plain(each) for each in value]
        case _:
            return value


def record(kind: type[Record], data: object, where: str) -> Record:
    """Return the record in plain data; ExportError tells the field that is not as it should be."""
    hints = _hints_of(kind)
    if not isinstance(data, dict) or data.keys() != hints.keys():
        names = ", ".join(map(str, data)) if isinstance(data, dict) else data
        raise unfit(where, f"the fields {', '.join(hints)}", names)
    return kind(**{name: _read(hints[name], data[name], f"{where}: {name}") for name in hints})


def records(kind: type[Record], data: object, where: str) -> tuple[Record, ...]:
    """Return the records in a list of plain data."""
    if not isinstance(data, list):
        raise unfit(where, "a list", data)
    return tuple(record(kind, each, f"{where}[{n}]") for n, each in enumerate(data))


_hints_of: Final[Callable[[Any], dict[str, Any]]] = cache(get_type_hints)


def _read(hint: Any, data: Any, where: str) -> Any:
    if isinstance(hint, UnionType):
        (hint,) = (one for one in get_args(hint) if one is not NoneType)
        return None if data is None else _read(hint, data, where)
    if get_origin(hint) is tuple:
        return records(get_args(hint)[0], data, where)
    if get_origin(hint) is not None:
        return _names(data, where)
    try:
        return _READERS[hint](data)
    except (TypeError, ValueError):
        raise unfit(where, _WORDS[hint], data) from None


def _names(data: Any, where: str) -> Mapping[str, str]:
    """Return a table of texts."""
    if not isinstance(data, dict) or list(data) != sorted(data):
        raise unfit(where, "a table, in order", data)
    return {_read(str, key, where): _read(str, data[key], where) for key in data}


def _text(data: Any) -> str:
    if not isinstance(data, str) or "\0" in data:
        raise TypeError
    data.encode()  # half a surrogate pair is no text
    return data


def _number(data: Any) -> int:
    if type(data) is not int or abs(data) > _BIGGEST:
        raise TypeError
    return data


def _real(data: Any) -> float:
    if type(data) is not float or not math.isfinite(data):
        raise TypeError
    return data


def _one_spelling(make: Any) -> Any:
    def read(data: Any) -> Any:
        value = make(_text(data))
        if plain(value) != data:
            raise ValueError(data)
        return value

    return read


_READERS: Final[Mapping[Any, Any]] = {
    str: _text,
    int: _number,
    float: _real,
    UUID: _one_spelling(UUID),
    datetime: _one_spelling(datetime.fromisoformat),
    date: _one_spelling(date.fromisoformat),
    bytes: _one_spelling(bytes.fromhex),
}
_WORDS: Final[Mapping[Any, str]] = {
    str: "text",
    int: "a whole number",
    float: "a number with a point",
    UUID: "a UUID",
    datetime: "a moment in UTC, as in 2026-04-11T09:00:00.000001+00:00",
    date: "a day, as in 2026-04-11",
    bytes: "hex digits",
}


def unfit(where: str, expected: str, came: object) -> ExportError:
    """Return the error for a file that this program did not write."""
    return ExportError.of(
        where,
        expected=expected,
        came=shown(came),
        remedy="Nothing was taken in. Take another copy, or export that book again.",
    )
