"""Documents as they are kept: one canonical text, its hash, and the words to find it by."""

import json
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final

from quickcheck.errors import AnswerError, shown
from quickcheck.store.canonical import canonical

Document = Mapping[str, Any]
_HASH: Final = re.compile("[0-9a-f]{64}")
_PIECES: Final = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Written:
    """A document as text and the SHA-256 of that text's UTF-8, 64 hex digits."""

    text: str
    sha256: str


def write(document: Document) -> Written:
    """Return the canonical form; AnswerError if it is no plain JSON."""
    try:
        text = canonical(document)
        digest = sha256(text.encode()).hexdigest()
    except (TypeError, ValueError, RecursionError) as error:
        # ValueError includes NaN, a number too long, and half a surrogate pair.
        raise AnswerError.of(
            "document",
            expected="plain JSON: an object of text, finite numbers, lists and objects",
            came=shown(str(error)),
            remedy="Nothing was saved. Send what the answer file format describes.",
        ) from error
    return Written(text, digest)


def read(text: str) -> dict[str, Any]:
    """Return the document that a canonical text holds."""
    document: dict[str, Any] = json.loads(text)
    return document


def folded(text: str) -> str:
    """Return text with case and presentation forms evened out, for searching."""
    return unicodedata.normalize("NFKC", text).casefold()


def is_hash(value: object) -> bool:
    """Whether this is a SHA-256 as we write it: 64 small hex digits."""
    return isinstance(value, str) and _HASH.fullmatch(value) is not None


def text_at(document: Document, key: str) -> str:
    """Return a top-level text, or "" where there is none."""
    value = document.get(key)
    return storable(value).strip() if isinstance(value, str) else ""


def storable(text: str) -> str:
    """Return text that every database takes: no half characters, no NUL."""
    return text.encode(errors="replace").decode().replace("\0", "?")


def search_words(document: Document, title: str) -> str:
    """Return what an inspection is found by: name, serial, every code that was read, title."""
    found = [text_at(document, "name"), text_at(document, "serial_text"), *_read(document), title]
    return spaced(folded("\n".join(found)))


def spaced(text: str) -> str:
    """Return the words of a folded text, and the pieces of those with signs in between.

    Two blanks before each, so that three signs in a row tell how a word begins, even one of a
    single letter. The same text again comes out the same.
    """
    words = text.split()
    pieces = [piece for word in words for piece in _PIECES.findall(word) if piece != word]
    return "".join(f"  {word}" for word in dict.fromkeys([*words, *pieces]))


def _read(document: Document) -> Iterator[str]:
    answers = document.get("answers")
    for answer in answers.values() if isinstance(answers, Mapping) else ():
        if isinstance(answer, Mapping):
            yield text_at(answer, "read")
