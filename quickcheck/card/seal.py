r"""The seal: that a card's text is what its issuer let out, and nothing about the instrument.

A sealed card is the unsealed one with "sealed" told in its second field, then the key's id, then
the signature::

    body         the unsealed bytes, the low half of the first byte 1 instead of 0
    key id       4 bytes
    signature    64 bytes, Ed25519 over "qr-card-v1\0" ‖ body ‖ key id

So an unsealed card and its sealed twin differ in nothing that anybody answered, and there is one
way to write either. The signature is verified before anything but the first byte is read.
"""

from base64 import b32encode
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from typing import Final

from quickcheck.card.bits import unreadable
from quickcheck.card.code import LARGEST
from quickcheck.card.front import FORMAT
from quickcheck.card.keys import KEY_ID_BYTES, SIGNATURE_BYTES, IssuerKey, KeyRing, Signer
from quickcheck.card.payload import SEAL_BYTES, Card, decode, encode, head
from quickcheck.card.recall import Recall, RecallKind
from quickcheck.reference.records import Reference

DOMAIN: Final = b"qr-card-v1\0"
"""Stands before what is signed, so that no signature made for anything else can seal a card."""
_SEALED: Final = 1  # the value of the second field, the low half of the first byte
_CARD_ID_BYTES: Final = 10


@dataclass(frozen=True, slots=True)
class SealedBytes:
    """A sealed card in its two parts; nothing of it is read or believed yet."""

    body: bytes  # all but the signature
    signature: bytes

    @property
    def data(self) -> bytes:
        """The whole card."""
        return self.body + self.signature

    @property
    def key_id(self) -> bytes:
        """The key that it names."""
        return self.body[-KEY_ID_BYTES:]

    @property
    def message(self) -> bytes:
        """What is signed."""
        return DOMAIN + self.body

    @property
    def card_id(self) -> str:
        """Name the card: 16 characters, the first 10 bytes of its body's SHA-256 in base32.

        The signature is left out, so that nobody can give a recalled card another name.
        """
        return b32encode(sha256(self.body).digest()[:_CARD_ID_BYTES]).decode().lower()

    def unsealed(self) -> bytes:
        """Return the card's bytes as they were before the seal."""
        return bytes([self.body[0] & 0xF0]) + self.body[1:-KEY_ID_BYTES]


def seal(card: Card, signer: Signer) -> SealedBytes:
    """Return a card with its seal; CardError where it has no encoding."""
    plain = encode(card)
    body = bytes([plain[0] | _SEALED]) + plain[1:] + signer.id
    return SealedBytes(body, signer.sign(DOMAIN + body))


def split(data: bytes) -> SealedBytes | None:
    """Take a sealed card apart; None for an unsealed one, CardError for what is neither."""
    if not data or data[0] >> 4 != FORMAT or data[0] & 0xF > _SEALED:
        raise unreadable("format", expected=f"a card of format {FORMAT}", came=_start(data))
    if data[0] & 0xF != _SEALED:
        return None
    if not SEAL_BYTES < len(data) <= LARGEST:
        raise unreadable(
            "seal", expected=f"{SEAL_BYTES + 1} to {LARGEST} bytes", came=f"{len(data)}"
        )
    return SealedBytes(data[:-SIGNATURE_BYTES], data[-SIGNATURE_BYTES:])


class SealState(StrEnum):
    """All that can be said of a seal."""

    SEALED = "sealed"  # by a key in use
    RETIRED = "retired"  # by a key that signs no more, while it still did
    LOGGED = "logged"  # by a key that was revoked, but it stands in the issue log
    CORRECTED = "corrected"  # unchanged, but another card takes its place
    WITHDRAWN = "withdrawn"  # unchanged, but the issuer took it back
    OUT_OF_TIME = "out-of-time"  # by a known key, dated when that key did not sign
    REVOKED = "revoked"  # by a revoked key, and not in the issue log
    UNKNOWN_KEY = "unknown-key"  # by a key that nobody vouches for here
    ALTERED = "altered"  # not what its key signed
    UNSEALED = "unsealed"  # anybody may have written it


STANDING: Final = frozenset({SealState.SEALED, SealState.RETIRED, SealState.LOGGED})
"""The text is unchanged since it was issued, and the issuer stands by it."""
_PROVEN: Final = STANDING | {SealState.CORRECTED, SealState.WITHDRAWN}


_RECALLED: Final = {
    RecallKind.WITHDRAWN: SealState.WITHDRAWN,
    RecallKind.CORRECTED: SealState.CORRECTED,
}


@dataclass(frozen=True, slots=True)
class Known:
    """What is known where a card is looked at."""

    ring: KeyRing
    recalls: Mapping[str, Recall] = field(default_factory=dict)  # card id → recall
    logged: frozenset[bytes] = frozenset()  # cards of the issue log, byte for byte


@dataclass(frozen=True, slots=True)
class Seal:
    """What a seal says. All but the key's id is told only where the signature is that key's."""

    state: SealState
    key_id: bytes | None = None  # the key that a sealed card names
    key: IssuerKey | None = None
    card: str | None = None  # its id
    issued: datetime | None = None
    recall: Recall | None = None

    @property
    def stands(self) -> bool:
        """Whether the text is unchanged since it was issued and the issuer stands by it."""
        return self.state in STANDING

    @property
    def unchanged(self) -> bool:
        """Whether the text is what the issuer let out, recalled since or not."""
        return self.state in _PROVEN


def check_seal(data: bytes, known: Known) -> Seal:
    """Say what the seal of a card is worth; CardError only for bytes that are no card of ours."""
    sealed = split(data)
    if sealed is None:
        return Seal(SealState.UNSEALED)
    key = known.ring.find(sealed.key_id)
    if key is None:
        return Seal(SealState.UNKNOWN_KEY, sealed.key_id)
    if not key.verifies(sealed.message, sealed.signature):
        return Seal(SealState.ALTERED, sealed.key_id)
    card, issued = sealed.card_id, head(data).issued
    recall = known.recalls.get(card)
    state = _state(key, issued, recall=recall, logged=data in known.logged)
    return Seal(state, key.id, key, card, issued, recall)


def _start(data: bytes) -> str:
    return f"one that begins with {data[:1].hex()}" if data else "nothing"


def _state(key: IssuerKey, issued: datetime, *, recall: Recall | None, logged: bool) -> SealState:
    """Tell the state of a card that its key signed; what speaks against it comes first."""
    if key.revoked and not logged:
        return SealState.REVOKED
    if not key.stood_at(issued):
        return SealState.OUT_OF_TIME
    if recall:
        return _RECALLED[recall.kind]
    if key.revoked:
        return SealState.LOGGED
    return SealState.RETIRED if key.retired else SealState.SEALED


def unsealed(data: bytes) -> bytes:
    """Return a card's bytes without a seal, whatever that is worth."""
    sealed = split(data)
    return data if sealed is None else sealed.unsealed()


def decode_any(data: bytes, reference: Reference) -> Card:
    """Return the card in these bytes, sealed or not; ask `check_seal` first.

    CardError as with `decode`: its front tells of no seal, for that is not part of what it says.
    """
    return decode(unsealed(data), reference)
