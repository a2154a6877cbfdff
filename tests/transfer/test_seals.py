"""Keys, cards and recalls that come from another book, and what does not go together."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from quickcheck.card import RecallKind, SealState, Signer
from quickcheck.store import KeyFiles, Seals, Store, open_store, retire_key, rotate_key
from tests.store.sealing import ISSUED, card, new_signer

LATER = ISSUED + timedelta(days=1)


@pytest.fixture(name="there")
def _there(tmp_path: Path) -> Any:
    """Open the book of another station that has the same key."""
    with open_store(tmp_path / "there.sqlite3") as store:
        yield store


@pytest.fixture(name="signer")
def _signer(other: Store, there: Store, tmp_path: Path) -> Signer:
    """Make a key that both stations know."""
    signer = new_signer(other, tmp_path / "keys")
    there.keys.add(other.keys.get(signer.id))
    return signer


def seals(store: Store) -> Seals:
    found = store.outgoing.extent()
    return Seals(found.keys, found.cards, found.recalls)


def test_a_number_that_both_gave(other: Store, there: Store, signer: Signer) -> None:
    """Ours stays, theirs is not taken, and both are named; their recall of it is told too."""
    ours = other.cards.issue(card(), signer)
    theirs = there.cards.issue(card(interest="selling-for-owner", issued=LATER), signer)
    there.cards.withdraw(theirs.id, now=LATER)
    taken = other.incoming.seals(seals(there))
    assert (taken.cards, taken.recalls) == (0, 0)
    number, recall = taken.clashes
    assert theirs.id in number
    assert f"is card {ours.id} here; it was not taken" in number
    assert recall == f"card {theirs.id}: it is withdrawn there, and not in this log"
    assert other.cards.check(theirs.data).stands  # its seal is in its bytes


def test_one_unsealed_card_sealed_twice(other: Store, there: Store, tmp_path: Path) -> None:
    """Both cards are kept with number and bytes; which of them a third asking gets stays as it was."""
    first = other.cards.issue(card(), new_signer(other, tmp_path / "a"), source="a" * 64)
    second = there.cards.issue(card(), new_signer(there, tmp_path / "b"), source="a" * 64)
    taken = other.incoming.seals(seals(there))
    assert (taken.cards, taken.clashes) == (1, ())
    assert other.cards.get(second.id) == replace(second, source=None)
    assert other.cards.get(first.id) == first
    assert other.incoming.seals(seals(there)).cards == 0


def test_a_key_retired_there(other: Store, there: Store, signer: Signer, tmp_path: Path) -> None:
    """It is retired here as well; what it sealed stands."""
    issued = other.cards.issue(card(), signer)
    there.keys.retire(signer.id, LATER)
    assert other.incoming.seals(seals(there)).clashes == ()
    assert other.keys.get(signer.id).retired == LATER
    assert other.cards.check(issued.data).state is SealState.RETIRED


def test_a_key_retired_there_that_sealed_here_since(
    other: Store, there: Store, signer: Signer
) -> None:
    """It stays in use here, and that is told: else our card would be out of time."""
    issued = other.cards.issue(card(issued=LATER), signer)
    there.keys.retire(signer.id, ISSUED)
    (clash,) = other.incoming.seals(seals(there)).clashes
    assert "it stays in use here" in clash
    assert other.keys.get(signer.id).in_use
    assert other.cards.check(issued.data).state is SealState.SEALED


def test_a_key_revoked_there(other: Store, there: Store, signer: Signer) -> None:
    """It is believed here no more, whatever it sealed since; what stands in the log still is."""
    issued = other.cards.issue(card(issued=LATER), signer)
    there.keys.revoke(signer.id, ISSUED)
    assert other.incoming.seals(seals(there)).clashes == ()
    assert other.keys.get(signer.id).revoked == ISSUED
    assert other.cards.check(issued.data).unchanged


def test_a_key_of_another_issuer(other: Store, there: Store, signer: Signer) -> None:
    """The same key under another name: ours stays, and that is told."""
    told = seals(there)
    renamed = replace(told, keys=[replace(told.keys[0], issuer="Somebody Else")])
    (clash,) = other.incoming.seals(renamed).clashes
    assert "another one, of Somebody Else" in clash
    assert other.keys.get(signer.id).issuer != "Somebody Else"


def test_recalled_otherwise(other: Store, there: Store, signer: Signer) -> None:
    """A card that was withdrawn here and corrected there stays withdrawn, and that is told."""
    first = there.cards.issue(card(), signer)
    second = there.cards.issue(card(), signer)
    other.incoming.seals(seals(there))
    there.cards.correct(first.id, by=second.id, now=LATER)
    other.cards.withdraw(first.id, now=LATER)
    taken = other.incoming.seals(seals(there))
    assert taken.clashes == (
        f"card {first.id}: it is corrected there and withdrawn here; ours was kept",
    )
    (recall,) = other.cards.recall_list(LATER).recalls
    assert recall.kind is RecallKind.WITHDRAWN


def test_the_next_number_goes_on(other: Store, there: Store, signer: Signer) -> None:
    """A card that came in counts: the next one for its serial gets the next number."""
    there.cards.issue(card(), signer)
    other.incoming.seals(seals(there))
    assert other.cards.issue(card(issued=LATER), signer).number == 2


def test_a_rotated_key(other: Store, there: Store, signer: Signer, tmp_path: Path) -> None:
    """The new public half comes along, not the secret: this station can't seal with it."""
    files = KeyFiles(tmp_path / "keys")
    _, new = rotate_key(there.keys, files, old=signer.id, now=LATER)
    retire_key(there.keys, files, key_id=new.id, now=LATER)
    taken = other.incoming.seals(seals(there))
    assert [key.id for key in taken.keys] == [new.id.hex()]
    assert other.keys.get(new.id) == there.keys.get(new.id)
