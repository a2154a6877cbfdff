"""One text for one document, the same on a phone and here, so that both find the same hash.

It is the canonical JSON of RFC 8785 over text in NFC: keys in the order of their UTF-16 units, no
spaces, numbers as ECMAScript writes them (``7``, not ``7.0``; ``1e-7``, not ``1e-07``). So
``JSON.stringify`` on a copy with sorted keys and normalised text gives it in any browser. Whole
numbers keep all their digits, as they came; those beyond 2**53 are nothing a phone would send.
"""

from collections.abc import Mapping
from decimal import Decimal
from json.encoder import encode_basestring
from math import isfinite
from typing import Any
from unicodedata import normalize


def canonical(value: Any) -> str:
    """Return plain JSON data as its canonical text.

    Raises TypeError, ValueError or RecursionError for what JSON can't carry.
    """
    match value:
        case str():
            return _quoted(value)
        case bool() | None:
            return {True: "true", False: "false", None: "null"}[value]
        case int():
            return str(value)
        case float():
            return _number(value)
        case Mapping():
            return _object(value)
        case list() | tuple():
            return f"[{','.join(map(canonical, value))}]"
        case _:
            message = f"{type(value).__name__} is nothing that JSON knows"
            raise TypeError(message)


def _normal(text: str) -> str:
    return text if text.isascii() else normalize("NFC", text)


def _quoted(text: str) -> str:
    return encode_basestring(_normal(text))


def _object(value: Mapping[str, Any]) -> str:
    if not all(isinstance(key, str) for key in value):
        message = "a key that is no text"
        raise TypeError(message)
    named = {_normal(key): each for key, each in value.items()}
    if len(named) < len(value):
        message = "two keys that differ in nothing but their encoding"
        raise ValueError(message)
    pairs = (
        f"{encode_basestring(key)}:{canonical(named[key])}" for key in sorted(named, key=_units)
    )
    return "{" + ",".join(pairs) + "}"


def _units(key: str) -> bytes:
    """Return what keys are ordered by: their UTF-16 units, as ECMAScript compares text."""
    return key.encode("utf-16-be", "surrogatepass")


def _number(value: float) -> str:
    """Return a number as ECMAScript writes it (ECMA-262, Number::toString).

    Both languages take the fewest digits that give the number back; they differ in when the
    exponent is written out, and how.
    """
    if not isfinite(value):
        message = "a number that is not finite"
        raise ValueError(message)
    if value == 0:
        return "0"
    shortest = repr(float(value))
    if 1e-6 <= abs(value) < 1e21:
        if "e" in shortest or shortest.endswith(".0"):
            return format(Decimal(shortest).normalize(), "f")
        return shortest
    digits, _, exponent = shortest.partition("e")
    return f"{digits}e{int(exponent):+d}"
