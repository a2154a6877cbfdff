r"""Recalls: cards that their issuer withdrew or corrected, and the signed list of them.

The list is text, so that a browser can keep and check it: the signature is over
``"qr-recall-v1\0"`` and the UTF-8 of the inner text, and is verified before that text is parsed.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Final

from quickcheck.card.keys import KeyRing, Signer
from quickcheck.errors import CardError, shown

_DOMAIN: Final = b"qr-recall-v1\0"
_FORMAT: Final = 1
_CARD: Final = re.compile(r"[a-z2-7]{16}", re.ASCII)
_MOMENT: Final = "%Y-%m-%dT%H:%M:%SZ"
LARGEST_LIST: Final = 4_000_000
"""Characters of a list that is read: about 40 000 recalls."""


class RecallKind(StrEnum):
    """What the issuer did to a card."""

    WITHDRAWN = "withdrawn"
    CORRECTED = "corrected"  # another card takes its place


@dataclass(frozen=True, slots=True)
class Recall:
    """One card's recall: what, when (in whole seconds, UTC), and the card in its place."""

    card: str  # its id
    kind: RecallKind
    at: datetime
    by: str | None = None  # the id of the card that corrects it

    def __post_init__(self) -> None:
        ids = [self.card] if self.by is None else [self.card, self.by]
        told = all(_CARD.fullmatch(one) for one in ids) and self.by != self.card
        if not told or (self.by is not None) != (self.kind is RecallKind.CORRECTED):
            raise _no_list(f"{self.kind} {self.card} {self.by}")
        if self.at != whole_second(self.at):
            raise _no_list(f"{self.at}")

    def as_json(self) -> dict[str, str]:
        """Return it as plain data."""
        told = {"card": self.card, "what": str(self.kind), "at": _text_of(self.at)}
        return told | ({"by": self.by} if self.by else {})


@dataclass(frozen=True, slots=True)
class RecallList:
    """All recalls and revoked keys as of a moment; in order of card and of key."""

    made: datetime
    recalls: tuple[Recall, ...]
    revoked: Mapping[bytes, datetime]  # key id → when

    def __post_init__(self) -> None:
        recalls = {one.card: one for one in sorted(self.recalls, key=lambda one: one.card)}
        if len(recalls) < len(self.recalls):
            raise _no_list("one card twice")
        revoked = {id_: whole_second(self.revoked[id_]) for id_ in sorted(self.revoked)}
        object.__setattr__(self, "made", whole_second(self.made))
        object.__setattr__(self, "recalls", tuple(recalls.values()))
        object.__setattr__(self, "revoked", MappingProxyType(revoked))

    def text(self) -> str:
        """Return the one text that is signed."""
        told = {
            "format": _FORMAT,
            "made": _text_of(self.made),
            "cards": [one.as_json() for one in self.recalls],
            "keys": [
                {"key": id_.hex(), "revoked": _text_of(at)} for id_, at in self.revoked.items()
            ],
        }
        return _written(told)


def whole_second(time: datetime) -> datetime:
    """Return a moment in UTC, cut to the second."""
    if time.tzinfo is None:
        raise _no_list(f"{time}")
    return time.astimezone(UTC).replace(microsecond=0)


def sign_recalls(recalls: RecallList, signer: Signer) -> str:
    """Return the list with its signature, as it is published."""
    text = recalls.text()
    return _published(text, signer.id, signer.sign(_DOMAIN + text.encode()))


def read_recalls(published: str, ring: KeyRing) -> RecallList:
    """Return a published list; CardError unless a key that is known and not revoked signed it."""
    text, id_, signature = _opened(published)
    key = ring.find(id_)
    signed = key is not None and key.verifies(_DOMAIN + text.encode(), signature)
    if key is None or key.revoked or not signed:
        raise _no_list("a list by nobody known, by a revoked key, or altered")
    recalls = _parsed(text)
    if not key.stood_at(recalls.made) or recalls.text() != text:
        raise _no_list("a list that no issuer's program writes")
    return recalls


def _opened(published: str) -> tuple[str, bytes, bytes]:
    """Return the inner text, the key id and the signature of a list in its one spelling."""
    if len(published) > LARGEST_LIST:
        raise _no_list(published)
    try:
        told = json.loads(published)
        text = told["list"]
        id_, signature = bytes.fromhex(told["key"]), bytes.fromhex(told["signature"])
        again = _published(text, id_, signature)
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise _no_list(str(error)) from error
    if again != published or not (isinstance(text, str) and text.isascii()):
        raise _no_list(published)
    return text, id_, signature


def _published(text: str, id_: bytes, signature: bytes) -> str:
    return _written({"list": text, "key": id_.hex(), "signature": signature.hex()})


def _parsed(text: str) -> RecallList:
    try:
        told = json.loads(text)
        recalls = tuple(_recall(one) for one in told["cards"])
        revoked = {bytes.fromhex(one["key"]): _moment(one["revoked"]) for one in told["keys"]}
        return RecallList(_moment(told["made"]), recalls, revoked)
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise _no_list(str(error)) from error


def _recall(told: Mapping[str, Any]) -> Recall:
    return Recall(told["card"], RecallKind(told["what"]), _moment(told["at"]), told.get("by"))


def _written(told: Mapping[str, Any]) -> str:
    return json.dumps(told, sort_keys=True, separators=(",", ":"))


def _text_of(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime(_MOMENT)


def _moment(text: str) -> datetime:
    return datetime.strptime(text, _MOMENT).replace(tzinfo=UTC)


def _no_list(came: str) -> CardError:
    return CardError.of(
        "recall list",
        expected="a signed recall list of this issuer, as its program writes it",
        came=shown(came),
        remedy="Fetch it again from the issuer's own page.",
    )
