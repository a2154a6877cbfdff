"""What is sealed, what a seal is worth, and that no altered card keeps it."""

from datetime import timedelta
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import (
    STANDING,
    SealState,
    card_url,
    check_seal,
    data_of,
    decode_any,
    digits,
    encode,
    head,
    seal,
    split,
    symbol,
    unsealed,
)
from quickcheck.card.code import LARGEST
from quickcheck.card.payload import SEAL_BYTES
from quickcheck.errors import CardError
from tests.card.kit import FULL, ISSUED, card_for, full, loom
from tests.card.sealing import (
    ISSUER,
    LATER,
    MADE,
    flipped,
    key,
    known,
    many,
    recall,
    sealed,
    signer,
)


def state(data: bytes, *keys: object, **more: object) -> SealState:
    return check_seal(data, known(*keys, **more)).state  # type: ignore[arg-type]


# The bytes


def test_the_layout() -> None:
    """Body with "sealed" told in the low half of the first byte, key id, signature over both."""
    plain, data = encode(full()), sealed().data
    assert len(data) == len(plain) + SEAL_BYTES
    assert (plain[0], data[0]) == (0x10, 0x11)
    assert data[1 : len(plain)] == plain[1:]
    assert data[len(plain) : len(plain) + 4] == sha256(signer().public).digest()[:4]
    assert data[-64:] == signer().sign(b"qr-card-v1\0" + data[:-64])


def test_the_same_card_has_the_same_seal() -> None:
    """Ed25519 draws nothing at random: sealing again gives the same bytes and the same name."""
    assert seal(full(), signer()) == sealed()
    assert sealed().card_id == seal(full(), signer()).card_id


def test_the_name_of_a_card_leaves_the_signature_out() -> None:
    """16 small letters and digits; another signature does not make it another card."""
    other = split(flipped(sealed().data, 0))
    assert other is not None
    assert other.card_id == sealed().card_id
    assert len(sealed().card_id) == 16
    assert sealed().card_id.isalnum()
    assert sealed(2).card_id != sealed().card_id


def test_a_sealed_card_is_read_like_its_unsealed_twin() -> None:
    """The seal changes nothing that the card says; its front tells that there is one."""
    data = sealed().data
    assert unsealed(data) == encode(full())
    assert decode_any(data, loom()) == decode_any(encode(full()), loom()) == full()
    assert head(data).sealed
    assert head(data).issued == full().head.issued


def test_an_unsealed_card_has_no_parts() -> None:
    """It is left as it is."""
    assert split(encode(full())) is None
    assert unsealed(encode(full())) == encode(full())


def test_a_sealed_card_fits_the_symbol() -> None:
    """Through digits, address and symbol it comes back byte for byte."""
    data = sealed().data
    assert data_of(digits(data)) == data
    assert symbol(card_url("https://cards.example", data)).version <= 10


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", r"^format: expected a card of format 1; got nothing"),
        (b"\x01" * 90, r"^format: expected a card of format 1; got one that begins with 01"),
        (b"\x12" * 90, r"^format: .* got one that begins with 12"),
        (b"\x21" * 90, r"^format: .* got one that begins with 21"),
        (b"\x11" * SEAL_BYTES, r"^seal: expected 69 to 300 bytes; got 68"),
        (b"\x11", r"^seal: expected 69 to 300 bytes; got 1\."),
        (b"\x11" * (LARGEST + 1), r"^seal: expected 69 to 300 bytes; got 301"),
    ],
)
def test_what_is_no_card_has_no_seal(data: bytes, message: str) -> None:
    """Other formats and other lengths are refused before a key is looked for."""
    with pytest.raises(CardError, match=message):
        check_seal(data, known())


# What it is worth


def test_a_seal_by_a_key_in_use() -> None:
    """Key, issuer, time and name are told, and it stands."""
    found = check_seal(sealed().data, known())
    assert (found.state, found.stands, found.unchanged) == (SealState.SEALED, True, True)
    assert found.key == key()
    assert (found.key_id, found.card) == (signer().id, sealed().card_id)
    assert found.issued == ISSUED
    assert found.recall is None


def test_a_retired_key_still_verifies_what_it_sealed() -> None:
    """A card of before the retirement stands; one dated after it does not."""
    assert state(sealed().data, key(retired=LATER)) is SealState.RETIRED
    assert state(sealed().data, key(retired=ISSUED)) is SealState.RETIRED
    late = key(retired=ISSUED - timedelta(minutes=1))
    assert state(sealed().data, late) is SealState.OUT_OF_TIME


def test_a_card_dated_before_its_key_was_made() -> None:
    """It can't be what the issuer let out."""
    young = key(made=ISSUED + timedelta(minutes=1))
    assert state(sealed().data, young) is SealState.OUT_OF_TIME


def test_a_revoked_key_is_believed_only_where_the_issue_log_has_the_card() -> None:
    """Byte for byte; a retirement before the revocation changes nothing."""
    data, gone = sealed().data, key(revoked=LATER)
    assert state(data, gone) is SealState.REVOKED
    assert state(data, gone, logged=frozenset({data})) is SealState.LOGGED
    assert state(data, gone, logged=frozenset({sealed(2).data})) is SealState.REVOKED
    both = key(retired=LATER, revoked=LATER)
    assert state(data, both) is SealState.REVOKED
    assert state(data, both, logged=frozenset({data})) is SealState.LOGGED


def test_a_recalled_card() -> None:
    """Withdrawn or corrected: the text is unchanged, and it does not stand."""
    name = sealed().card_id
    for taken, expected in (
        (recall(name), SealState.WITHDRAWN),
        (recall(name, by=sealed(2).card_id), SealState.CORRECTED),
    ):
        found = check_seal(sealed().data, known(recalls={name: taken}))
        assert (found.state, found.stands, found.unchanged) == (expected, False, True)
        assert found.recall == taken
    others = {sealed(2).card_id: recall(sealed(2).card_id)}
    assert state(sealed().data, recalls=others) is SealState.SEALED


def test_a_revoked_key_weighs_more_than_a_recall() -> None:
    """A forged card is not told to be withdrawn, as if it had been issued."""
    name = sealed().card_id
    gone, recalls = key(revoked=LATER), {name: recall(name)}
    assert state(sealed().data, gone, recalls=recalls) is SealState.REVOKED
    logged = frozenset({sealed().data})
    assert state(sealed().data, gone, recalls=recalls, logged=logged) is SealState.WITHDRAWN


def test_an_unknown_key() -> None:
    """Nothing is told of a card whose key nobody vouches for, but the key's id."""
    found = check_seal(sealed(2).data, known())
    assert (found.state, found.key_id) == (SealState.UNKNOWN_KEY, signer(2).id)
    assert (found.key, found.card, found.issued, found.stands) == (None, None, None, False)


def test_the_id_of_a_known_key_proves_nothing() -> None:
    """A card that names a key which did not sign it is altered, whoever signed."""
    body = sealed().body
    forged = body + signer(2).sign(b"qr-card-v1\0" + body)
    found = check_seal(forged, known(key(1), key(2)))
    assert (found.state, found.card, found.key) == (SealState.ALTERED, None, None)


def test_a_signature_for_something_else_seals_no_card() -> None:
    """Without the words before it, or with others, the same key's signature is refused."""
    body = sealed().body
    for before in (b"", b"qr-card-v1", b"qr-card-v2\0", b"qr-recall-v1\0"):
        assert state(body + signer().sign(before + body)) is SealState.ALTERED


def test_an_unsealed_card_is_told_to_be_so() -> None:
    """No key, no issuer, and it never stands."""
    found = check_seal(encode(full()), known())
    assert (found.state, found.stands, found.unchanged) == (SealState.UNSEALED, False, False)


def test_only_three_states_stand() -> None:
    """Whatever else is found, the issuer does not stand by it."""
    assert {SealState.SEALED, SealState.RETIRED, SealState.LOGGED} == STANDING
    assert len(SealState) == 10


def test_a_seal_over_bytes_that_are_no_card() -> None:
    """A key that signs nonsense makes no card of it: the front is refused by its field."""
    body = sealed().body[:1] + b"\0" + sealed().body[2:]  # the second byte is the rules
    with pytest.raises(CardError, match=r"^rules: expected a revision from 1"):
        check_seal(body + signer().sign(b"qr-card-v1\0" + body), known())


# Altered


def survives(data: bytes) -> bool:
    """Whether a card stands, or passes for an unsealed one."""
    try:
        found = check_seal(data, known(key(1), key(2)))
    except CardError:
        return False
    if found.state is SealState.UNSEALED:
        try:
            decode_any(data, loom())
        except CardError:
            return False
        return True
    return found.unchanged


@pytest.mark.parametrize("start", range(0, 100, 25))
def test_every_flipped_bit_of_a_hundred_cards_is_noticed(start: int) -> None:
    """Of 100 cards of all kinds none keeps its seal, or passes for unsealed, with a bit turned."""
    for card in many()[start : start + 25]:
        assert survives(card.data)
        kept = [bit for bit in range(8 * len(card.data)) if survives(flipped(card.data, bit))]
        assert kept == []


def test_the_hundred_cards_differ() -> None:
    """They are of many lengths, and no two are the same."""
    assert len({card.data for card in many()}) == len({card.card_id for card in many()}) == 100
    assert len({len(card.data) for card in many()}) > 15


@pytest.mark.parametrize("card", range(0, 100, 25))
def test_every_cut_and_every_added_byte_is_noticed(card: int) -> None:
    """Shorter at either end, or longer by any byte, it is no card or an altered one."""
    data = many()[card].data
    assert not any(survives(data[:length]) for length in range(len(data)))
    assert not any(survives(data[start:]) for start in range(1, len(data)))
    assert not any(survives(data + bytes([more])) for more in range(256))
    assert not any(survives(bytes([more]) + data) for more in range(256))


def test_parts_of_two_cards_make_no_third() -> None:
    """Neither a signature nor a key id can be moved to another card."""
    one, other = many()[:2]
    assert not survives(one.body + other.signature)
    assert not survives(other.body + one.signature)
    assert not survives(one.body[:-4] + signer(2).id + one.signature)


@given(st.binary(max_size=LARGEST + 10))
def test_any_bytes_are_refused_or_do_not_stand(data: bytes) -> None:
    """Nothing but a CardError comes out, and no bytes at random stand."""
    try:
        found = check_seal(data, known())
    except CardError:
        return
    assert not found.unchanged


@given(st.data())
def test_bytes_like_a_sealed_card_do_not_stand(data: st.DataObject) -> None:
    """The same with a true beginning or a true end."""
    true = sealed().data
    cut = data.draw(st.integers(1, len(true) - 1))
    noise = data.draw(st.binary(max_size=90))
    assert not survives(true[:cut] + noise) or true[:cut] + noise == true
    assert not survives(noise + true[cut:]) or noise + true[cut:] == true


def test_the_issuer_is_named_by_the_key() -> None:
    """A card holds no name that could be written over: it comes with the key."""
    assert ISSUER.encode() not in sealed().data
    found = check_seal(sealed().data, known(key(issuer="Another name", made=MADE)))
    assert found.key
    assert found.key.issuer == "Another name"


def test_a_card_without_serial_is_sealed_as_well() -> None:
    """The shortest card of the reference: no serial, no marks, no answers."""
    bare = FULL | {"serial_text": "", "marks": [], "disclosures": [], "answers": {}}
    data = seal(card_for(bare), signer()).data
    assert state(data) is SealState.SEALED
    assert len(data) < 110
