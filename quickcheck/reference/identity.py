"""Who a reference is: the digest of what its file says, whatever its spelling, order or blanks.

Canonical form: JSON in UTF-8; text in Unicode's composed form (NFC); keys sorted; arrays in their
order; every number a float; no spaces; the pictures as a table of name → SHA-256 of the content.
"""

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from typing import Any, Final

PICTURES: Final = "pictures"
"""Key under which the digests stand; no key of a file can be called so."""


def composed(value: Any) -> Any:
    """Return the tree with all text, keys included, in Unicode's composed form."""
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, list):
        return [composed(each) for each in value]
    if isinstance(value, dict):
        return {unicodedata.normalize("NFC", key): composed(each) for key, each in value.items()}
    return value


def canonical_json(document: Mapping[str, Any], pictures: Mapping[str, bytes]) -> bytes:
    """Return the canonical form of a file without faults and of the pictures it names."""
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in pictures.items()}
    tree = _floats({**composed(dict(document)), PICTURES: digests})
    text = json.dumps(
        tree, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False
    )
    return text.encode()


def digest(canonical: bytes) -> str:
    """Return the 64 hex digits that are the identity."""
    return hashlib.sha256(canonical).hexdigest()


def _floats(value: Any) -> Any:
    if isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if isinstance(value, float):
        return value + 0.0  # no negative nought
    if isinstance(value, list):
        return [_floats(each) for each in value]
    if isinstance(value, dict):
        return {key: _floats(each) for key, each in value.items()}
    return value
