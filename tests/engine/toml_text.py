"""A tiny TOML writer for the references that the strategies make: no more of TOML than they use."""

import json
from collections.abc import Iterator
from typing import Any


def toml_text(reference: dict[str, Any]) -> str:
    """Return the text of one reference; parsing it again gives back the same dict."""
    return "\n".join(_table((), reference)) + "\n"


def _value(value: object) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    # JSON's true, false, numbers and ASCII strings are TOML's as well
    return json.dumps(value, allow_nan=False)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(i, dict) for i in value)


def _table(path: tuple[str, ...], table: dict[str, Any]) -> Iterator[str]:
    for key, value in table.items():
        if not isinstance(value, dict) and not _is_tables(value):
            yield f"{json.dumps(key)} = {_value(value)}"
    for key, value in table.items():
        inner = (*path, key)
        name = ".".join(json.dumps(part) for part in inner)
        if isinstance(value, dict):
            yield f"[{name}]"
            yield from _table(inner, value)
        elif _is_tables(value):
            for item in value:
                yield f"[[{name}]]"
                yield from _table(inner, item)
