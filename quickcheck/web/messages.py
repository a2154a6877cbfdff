"""What a device sends, read strictly: nothing is guessed, and the hash must be that of the text."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from quickcheck.errors import Fault, SendingError, shown
from quickcheck.store import is_hash, write

_MOST_SENT: Final = 1000
_BIGGEST: Final = 2**31 - 2
_HASH_WORDS: Final = "a SHA-256 as 64 small hex digits"


@dataclass(frozen=True, slots=True)
class Message:
    """One document on its way in; see the section "Sync" of the map."""

    base: int
    sent: frozenset[str]
    edition_hash: str
    document: Mapping[str, Any]


def read_message(content: bytes) -> Message:
    """Return what was sent. SendingError with all its faults; AnswerError if it is no plain JSON."""
    body = _read(content)
    faults = [
        Fault(name, expected, shown(body.get(name)), "Nothing was kept; the device has it still.")
        for name, expected, fits in _FIELDS
        if not fits(body)
    ]
    if faults:
        raise SendingError(*faults)
    document: Mapping[str, Any] = body["document"]
    ours = write(document).sha256
    if ours != body["sha256"]:
        raise SendingError.of(
            "sha256",
            expected=f"{ours}, which is that of the document's canonical text",
            came=shown(body["sha256"]),
            remedy="It was changed on the way, or written otherwise. Nothing was kept; send again.",
        )
    return Message(body["base"], frozenset(body.get("sent", ())), body["reference"], document)


def _read(content: bytes) -> Mapping[str, Any]:
    try:
        body = json.loads(content.decode(), object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise _no_json(shown(str(error))) from None
    if not isinstance(body, dict):
        raise _no_json(type(body).__name__)
    return body


def _no_json(came: str) -> SendingError:
    return SendingError.of(
        "body",
        expected="a JSON object in UTF-8",
        came=came,
        remedy="It was cut or changed on the way. Nothing was kept; send it again.",
    )


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    named = dict(pairs)
    if len(named) < len(pairs):
        message = "a key that comes twice"
        raise ValueError(message)
    return named


def _no_number(text: str) -> None:
    message = f"{text} is no number"
    raise ValueError(message)


def _is_whole(value: object, *, low: int) -> bool:
    return type(value) is int and low <= value <= _BIGGEST


def _are_hashes(value: object) -> bool:
    return isinstance(value, list) and len(value) <= _MOST_SENT and all(map(is_hash, value))


_FIELDS: Final = (
    (
        "base",
        "the last revision with a receipt, 0 if none",
        lambda b: _is_whole(b.get("base"), low=0),
    ),
    (
        "revision",
        "the number after base",
        lambda b: _is_whole(b.get("revision"), low=1) and b["revision"] - 1 == b.get("base"),
    ),
    ("sent", f"a list, each {_HASH_WORDS}", lambda b: _are_hashes(b.get("sent", []))),
    ("sha256", _HASH_WORDS, lambda b: is_hash(b.get("sha256"))),
    ("reference", f"the edition's hash, {_HASH_WORDS}", lambda b: is_hash(b.get("reference"))),
    ("document", "an object", lambda b: isinstance(b.get("document"), dict)),
)


@dataclass(frozen=True, slots=True)
class SealMessage:
    """An unsealed card that a device made, by its digits; the owner's leave came with it."""

    card: str


def read_seal_message(content: bytes) -> SealMessage:
    """Return what a device wants sealed; SendingError where that is not in the form agreed on."""
    body = _read(content)
    checks = (
        ("card", "the digits of a card", isinstance(body.get("card"), str)),
        ("leave", "true, as the owner agreed to a public page", body.get("leave") is True),
    )
    faults = [
        Fault(name, expected, shown(body.get(name)), "Nothing was sealed.")
        for name, expected, fits in checks
        if not fits
    ]
    if faults:
        raise SendingError(*faults)
    return SealMessage(body["card"])
