"""Issuer keys: who signs, and whose signatures are known. Ed25519, RFC 8032.

A key's id is the first 4 bytes of the SHA-256 of its public half. Anybody can make another key with
the same 4 bytes, so an id only finds a key among those that are known already and proves nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from types import MappingProxyType
from typing import Final, Self

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from quickcheck.errors import CardError, Fault, shown

PUBLIC_BYTES: Final = 32
SEED_BYTES: Final = 32
SIGNATURE_BYTES: Final = 64
KEY_ID_BYTES: Final = 4
LONGEST_ISSUER: Final = 60
"""Characters: what a card's page and a credit card can show on one line or two."""


def key_id(public: bytes) -> bytes:
    """Return the 4 bytes by which a card names its key."""
    return sha256(public).digest()[:KEY_ID_BYTES]


def fingerprint(public: bytes) -> str:
    """Return the whole SHA-256 of a public key in groups of 4 hex digits, to compare by eye."""
    whole = sha256(public).hexdigest()
    return " ".join(whole[start : start + 4] for start in range(0, len(whole), 4))


class Signer:
    """The secret half of a key. It never shows itself: not in ``repr``, not in an error."""

    __slots__ = ("_key", "id", "public")

    def __init__(self, seed: bytes) -> None:
        """Take the 32 random bytes that RFC 8032 (5.1.5) calls the private key."""
        self._key = Ed25519PrivateKey.from_private_bytes(seed)
        self.public = self._key.public_key().public_bytes_raw()
        self.id = key_id(self.public)

    def __repr__(self) -> str:
        return f"Signer({self.id.hex()})"

    def sign(self, message: bytes) -> bytes:
        """Return the signature, 64 bytes, the same each time."""
        return self._key.sign(message)


@dataclass(frozen=True, slots=True)
class IssuerKey:
    """A key that is known here, and whose it is.

    Retired: signs no more, and what it sealed until then stands. Revoked: somebody else may have
    its secret half, so only cards that stand in the issue log are believed.
    """

    public: bytes
    issuer: str
    made: datetime
    retired: datetime | None = None
    revoked: datetime | None = None
    id: bytes = field(init=False)

    def __post_init__(self) -> None:
        times = [time for time in (self.made, self.retired, self.revoked) if time]
        checks = (
            ("public", _is_point(self.public), "an Ed25519 public key of 32 bytes"),
            ("issuer", is_issuer(self.issuer), f"a name of 1 to {LONGEST_ISSUER} characters"),
            ("made", all(time.tzinfo for time in times), "times with their zone"),
        )
        faults = [
            Fault(f"key.{where}", expected, shown(getattr(self, where)), "Correct it.")
            for where, holds, expected in checks
            if not holds
        ]
        if faults:
            raise CardError(*faults)
        object.__setattr__(self, "id", key_id(self.public))

    @property
    def in_use(self) -> bool:
        """Whether new cards may be sealed with it."""
        return self.retired is None and self.revoked is None

    def verifies(self, message: bytes, signature: bytes) -> bool:
        """Whether this key signed exactly these bytes."""
        try:
            Ed25519PublicKey.from_public_bytes(self.public).verify(signature, message)
        except InvalidSignature:
            return False
        return True

    def stood_at(self, time: datetime) -> bool:
        """Whether it was made and not yet retired; times on cards are whole minutes, cut."""
        begins = self.made - timedelta(seconds=self.made.second, microseconds=self.made.microsecond)
        return begins <= time and (self.retired is None or time <= self.retired)


def _is_point(public: bytes) -> bool:
    """Whether these bytes have the form of a public key (a key of another length raises)."""
    try:
        Ed25519PublicKey.from_public_bytes(public)
    except ValueError:
        return False
    return True


def is_issuer(text: str) -> bool:
    """Whether a card can show this as the name of an issuer."""
    return 0 < len(text) <= LONGEST_ISSUER and text.isprintable() and text == " ".join(text.split())


@dataclass(frozen=True, slots=True)
class KeyRing:
    """The keys that are known here, each under its own id; nothing else is ever believed."""

    keys: Mapping[bytes, IssuerKey]

    @classmethod
    def of(cls, keys: Iterable[IssuerKey]) -> Self:
        """Return the ring of these keys; CardError where two share an id."""
        by_id: dict[bytes, IssuerKey] = {}
        for key in keys:
            if by_id.setdefault(key.id, key) != key:
                raise CardError.of(
                    "keys",
                    expected="keys with different ids",
                    came=f"two with {key.id.hex()}",
                    remedy="Take out the one that does not belong there.",
                )
        return cls(MappingProxyType(by_id))

    def find(self, id_: bytes) -> IssuerKey | None:
        """Return the key that is known under an id."""
        return self.keys.get(id_)

    def revoked(self) -> dict[bytes, datetime]:
        """Return when each revoked key was."""
        return {id_: key.revoked for id_, key in self.keys.items() if key.revoked}
