"""Keys as they are known: made, rotated, retired, revoked; and the two halves together."""

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from quickcheck.card import IssuerKey, KeyRing, Signer
from quickcheck.errors import CardError, ConflictError, NotFoundError, StoreError
from quickcheck.store import KeyFiles, Store, make_key, open_store, retire_key, rotate_key
from quickcheck.store import signer_for as signer_of

NOW = datetime(2026, 4, 11, 12, 0, 0, 7, tzinfo=UTC)
DAY = timedelta(days=1)
ISSUER = "Fettle & Daughter"


@pytest.fixture(name="files")
def _files(tmp_path: Path) -> KeyFiles:
    """Return an empty folder of keys."""
    return KeyFiles(tmp_path / "keys")


def key(number: int = 1, made: datetime = NOW) -> IssuerKey:
    return IssuerKey(Signer(bytes([number]) * 32).public, ISSUER, made)


def test_a_key_is_known_from_then_on(store: Store, address: str) -> None:
    """Also by a program that opens the book later; to the microsecond."""
    store.keys.add(key())
    assert store.keys.list() == (key(),)
    assert store.keys.ring() == KeyRing.of([key()])
    assert store.keys.get(key().id) == key()
    with open_store(address) as again:
        assert again.keys.list() == (key(),)


def test_a_known_key_stays_as_it_is(store: Store) -> None:
    """Making it known again neither renames it nor brings it back into use."""
    store.keys.add(key())
    store.keys.retire(key().id, NOW + DAY)
    store.keys.add(IssuerKey(key().public, "Somebody else", NOW + DAY))
    assert store.keys.get(key().id).issuer == ISSUER
    assert not store.keys.get(key().id).in_use


def test_two_keys_under_one_id(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second is refused: an id must lead to one key."""
    monkeypatch.setattr("quickcheck.card.keys.key_id", lambda _: bytes(4))
    store.keys.add(key(1))
    with pytest.raises(ConflictError, match="another with the id 00000000"):
        store.keys.add(key(2))
    assert store.keys.list() == (key(1),)


def test_an_unknown_key_is_told(store: Store) -> None:
    """Whatever is to be done with it."""
    for do in (store.keys.get, lambda id_: store.keys.retire(id_, NOW)):
        with pytest.raises(NotFoundError, match=r"^key: .*got 01020304\. quickcheck keys list"):
            do(bytes([1, 2, 3, 4]))
    with pytest.raises(NotFoundError, match="01020304"):
        store.keys.rotate(bytes([1, 2, 3, 4]), key())
    assert store.keys.list() == ()


def test_the_first_moment_stands(store: Store) -> None:
    """Retired twice, revoked twice: nothing moves; a revocation retires as well."""
    store.keys.add(key())
    first = store.keys.retire(key().id, NOW + DAY)
    assert store.keys.retire(key().id, NOW + 2 * DAY) == first
    assert (first.retired, first.revoked) == (NOW + DAY, None)
    gone = store.keys.revoke(key().id, NOW + 3 * DAY)
    assert (gone.retired, gone.revoked) == (NOW + DAY, NOW + 3 * DAY)
    assert store.keys.revoke(key().id, NOW + 4 * DAY) == gone == store.keys.get(key().id)
    store.keys.add(key(2))
    both = store.keys.revoke(key(2).id, NOW + DAY)
    assert (both.retired, both.revoked) == (NOW + DAY, NOW + DAY)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM issuer_key",
        "UPDATE issuer_key SET issuer = 'Somebody else'",
        "UPDATE issuer_key SET public = x'00'",
        "UPDATE issuer_key SET made = '2020-01-01'",
        "UPDATE issuer_key SET id = '00000000'",
    ],
)
def test_the_file_itself_keeps_the_keys(store: Store, place: Path, statement: str) -> None:
    """Whatever program asks, a key is neither taken away nor made another."""
    store.keys.add(key())
    with (
        sqlite3.connect(place) as file,
        pytest.raises(sqlite3.IntegrityError, match=r"issuer_key: (rows are only|a key stays)"),
    ):
        file.execute(statement)
    file.close()
    assert store.keys.list() == (key(),)


# Both halves


def test_making_a_key(store: Store, files: KeyFiles) -> None:
    """It is known, and its secret half is in the folder and nowhere in the book."""
    made = make_key(store.keys, files, issuer=ISSUER, now=NOW)
    assert store.keys.list() == (made,)
    assert (made.issuer, made.made, made.in_use) == (ISSUER, NOW, True)
    assert files.load(made.id).public == made.public


def test_no_secret_is_in_the_book(
    store: Store, place: Path, files: KeyFiles, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not as bytes, not in hex: whoever has a copy of the book can't sign."""
    seed = bytes(range(100, 132))
    monkeypatch.setattr("quickcheck.store.key_files.secrets.token_bytes", lambda _: seed)
    make_key(store.keys, files, issuer=ISSUER, now=NOW)
    content = place.read_bytes()
    assert Signer(seed).public in content
    assert seed not in content
    assert seed.hex().encode() not in content.lower()


def test_a_name_that_no_card_can_show_makes_no_key(
    store: Store, files: KeyFiles, tmp_path: Path
) -> None:
    """Neither half is left."""
    with pytest.raises(CardError, match=r"^key\.issuer: "):
        make_key(store.keys, files, issuer="", now=NOW)
    assert store.keys.list() == ()
    assert list((tmp_path / "keys").iterdir()) == []


def test_a_rotation(store: Store, files: KeyFiles) -> None:
    """The new key has the issuer of the old, which is retired at that moment and can't sign."""
    old = make_key(store.keys, files, issuer=ISSUER, now=NOW)
    retired, new = rotate_key(store.keys, files, old=old.id, now=NOW + DAY)
    assert (retired.id, retired.retired) == (old.id, NOW + DAY)
    assert (new.issuer, new.made, new.in_use) == (ISSUER, NOW + DAY, True)
    assert store.keys.list() == (retired, new)
    assert (files.has(old.id), files.has(new.id)) == (False, True)
    assert signer_of(store.keys, files).id == new.id


def test_a_retired_key_is_not_rotated(store: Store, files: KeyFiles) -> None:
    """And no new one is made."""
    old = make_key(store.keys, files, issuer=ISSUER, now=NOW)
    rotate_key(store.keys, files, old=old.id, now=NOW)
    with pytest.raises(ConflictError, match="which was retired"):
        rotate_key(store.keys, files, old=old.id, now=NOW)
    assert len(store.keys.list()) == 2


def test_a_rotation_that_fails_changes_nothing(
    store: Store, files: KeyFiles, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The old key is still in use, and no second secret lies about."""
    old = make_key(store.keys, files, issuer=ISSUER, now=NOW)

    def busy(*_: object) -> None:
        raise StoreError.of("book", expected="a", came="b", remedy="c.")

    monkeypatch.setattr("quickcheck.store.keys._add", busy)
    with pytest.raises(StoreError, match="book"):
        rotate_key(store.keys, files, old=old.id, now=NOW + DAY)
    assert store.keys.list() == (old,)
    assert len(list((tmp_path / "keys").iterdir())) == 1


@pytest.mark.parametrize("revoke", [False, True])
def test_a_retirement(store: Store, files: KeyFiles, *, revoke: bool) -> None:
    """The secret is destroyed either way; a revocation is noted beside it."""
    made = make_key(store.keys, files, issuer=ISSUER, now=NOW)
    ended = retire_key(store.keys, files, key_id=made.id, now=NOW + DAY, revoke=revoke)
    assert (ended.retired, ended.revoked) == (NOW + DAY, NOW + DAY if revoke else None)
    assert not files.has(made.id)


def test_which_key_seals(store: Store, files: KeyFiles) -> None:
    """Of an issuer's keys in use whose secret is here, the one made last."""
    first = make_key(store.keys, files, issuer=ISSUER, now=NOW)
    make_key(store.keys, files, issuer="Treadle", now=NOW + 9 * DAY)
    second = make_key(store.keys, files, issuer=ISSUER, now=NOW + DAY)
    assert signer_of(store.keys, files, issuer=ISSUER).id == second.id
    files.destroy(second.id)
    assert signer_of(store.keys, files, issuer=ISSUER).id == first.id
    retire_key(store.keys, files, key_id=first.id, now=NOW + DAY)
    with pytest.raises(NotFoundError, match=r"expected an issuer key in use.*quickcheck keys make"):
        signer_of(store.keys, files, issuer=ISSUER)
