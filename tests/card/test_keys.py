"""Ed25519 as RFC 8032 has it, and what is known of a key."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

import pytest

from quickcheck.card import IssuerKey, KeyRing, Signer, fingerprint, key_id
from quickcheck.errors import CardError
from tests.card.rfc8032 import ORDER, VECTORS, Vector
from tests.card.sealing import ISSUER, LATER, MADE, key, signer


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_vectors_of_rfc_8032(vector: Vector) -> None:
    """Public key and signature are those of RFC 8032 7.1, and the signature is verified."""
    secret, public, message, signature = map(bytes.fromhex, vector[1:])
    made = Signer(secret)
    assert made.public == public
    assert made.sign(message) == signature
    assert IssuerKey(public, ISSUER, MADE).verifies(message, signature)


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_a_signature_has_one_spelling(vector: Vector) -> None:
    """S plus the order of the group is refused, as RFC 8032 5.1.7 asks: no second signature."""
    _, public, message, signature = map(bytes.fromhex, vector[1:])
    other = int.from_bytes(signature[32:], "little") + ORDER
    again = signature[:32] + other.to_bytes(32, "little")
    assert not IssuerKey(public, ISSUER, MADE).verifies(message, again)


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_another_message_is_not_signed(vector: Vector) -> None:
    """A byte more, or another key's signature, is refused."""
    _, public, message, signature = map(bytes.fromhex, vector[1:])
    made = IssuerKey(public, ISSUER, MADE)
    assert not made.verifies(message + b"\0", signature)
    assert not made.verifies(message, signer().sign(message))
    assert not made.verifies(message, signature[:-1])


def test_the_id_is_the_beginning_of_the_fingerprint() -> None:
    """Both are the SHA-256 of the public key; the fingerprint is all of it, for the eye."""
    whole = sha256(signer().public).hexdigest()
    assert signer().id == key().id == key_id(signer().public) == bytes.fromhex(whole[:8])
    shown = fingerprint(signer().public)
    assert shown.replace(" ", "") == whole
    assert [len(group) for group in shown.split(" ")] == [4] * 16


def test_a_signer_keeps_its_secret() -> None:
    """Nothing that prints a signer prints its secret half."""
    assert repr(signer()) == f"Signer({signer().id.hex()})"
    assert not hasattr(signer(), "__dict__")


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"public": b"\1" * 31}, r"^key\.public: expected an Ed25519 public key of 32 bytes"),
        ({"public": b""}, r"^key\.public: "),
        ({"issuer": ""}, r"^key\.issuer: expected a name of 1 to 60 characters; got \"\""),
        ({"issuer": "x" * 61}, r"^key\.issuer: "),
        ({"issuer": " Fettle"}, r"^key\.issuer: "),
        ({"issuer": "Fettle\nDaughter"}, r"^key\.issuer: "),
        ({"issuer": "Fettle\u202eDaughter"}, r"^key\.issuer: "),
        ({"made": datetime(2026, 1, 1)}, r"^key\.made: expected times with their zone"),  # noqa: DTZ001
        ({"retired": datetime(2026, 1, 1)}, r"^key\.made: expected times with their"),  # noqa: DTZ001
    ],
)
def test_a_key_that_cannot_be_is_refused(fields: dict[str, Any], message: str) -> None:
    """A key of another length, a name that no card can show, or a time without a zone."""
    whole = {"public": signer().public, "issuer": ISSUER, "made": MADE} | fields
    with pytest.raises(CardError, match=message):
        IssuerKey(**whole)


def test_which_keys_may_seal() -> None:
    """Neither a retired key nor a revoked one is in use."""
    uses = [key(), key(retired=LATER), key(revoked=LATER), key(retired=LATER, revoked=LATER)]
    assert [one.in_use for one in uses] == [True, False, False, False]


def test_when_a_key_stood() -> None:
    """From the minute in which it was made to the moment of its retirement."""
    minute = datetime(2026, 1, 1, 8, 30, tzinfo=UTC)
    retired = key(retired=LATER)
    assert key().stood_at(minute)
    assert not key().stood_at(minute - timedelta(minutes=1))
    assert key().stood_at(LATER + timedelta(days=9999))
    assert retired.stood_at(LATER)
    assert not retired.stood_at(LATER + timedelta(minutes=1))


def test_a_ring_finds_keys_by_their_own_id() -> None:
    """What is not in the ring is nobody's, and the revoked ones are told with their time."""
    ring = KeyRing.of([key(1), key(2, revoked=LATER), key(1)])
    assert ring.find(signer(1).id) == key(1)
    assert ring.find(signer(3).id) is None
    assert ring.revoked() == {signer(2).id: LATER}


def test_two_keys_under_one_id_are_refused() -> None:
    """The same key with another name or time is not silently taken for the first."""
    with pytest.raises(CardError, match=rf"^keys: expected keys with.*two with {key().id.hex()}"):
        KeyRing.of([key(), key(issuer="Somebody else")])
