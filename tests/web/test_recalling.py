"""`/inspect/<id>/cards`: what the issuer does with a card afterwards."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from quickcheck.card import SealState, data_of, read_recalls
from quickcheck.reference import Reference
from quickcheck.store import KeyFiles, retire_key
from tests.web.checklist import Changing, OfInspection, Page
from tests.web.issuing import FORM, ISSUER, answered, clock, issued, issuing, make, press
from tests.web.kit import Site, assert_says, words


class TestListChecklist(Page, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/cards"


class TestWithdrawChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/cards/withdraw"


class TestKeysChecklist(Page):
    """What holds at every endpoint."""

    path = "/keys"


class TestRecallsChecklist(Page):
    """What holds at every endpoint."""

    path = "/recalls"


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def state(site: Site, digits: str) -> SealState:
    return site.store.cards.check(data_of(digits)).state


def test_listed(station: Site) -> None:
    """The list has each card with its day, number and state; the verdict's page leads to it."""
    inspection = answered(station)
    link = f'<a class="button quiet" href="/inspect/{inspection}/cards">'
    assert link not in station.get(f"/inspect/{inspection}/verdict").text
    assert "1 card" not in words(station.get("/book"))
    first = make(station, inspection)
    page = station.get(f"/inspect/{inspection}/cards")
    assert_says(page, 200, "11 Apr 2026", "number 1", "Sealed.", "Correct it", "Withdraw it")
    assert f'href="/c/{first}"' in page.text
    assert f"{link}1 card<" in station.get(f"/inspect/{inspection}/verdict").text
    assert f'href="/inspect/{inspection}/cards">1 card<' in station.get("/book").text
    make(station, inspection, interest="none")
    assert "2 cards" in words(station.get("/book"))


def test_none_yet(station: Site) -> None:
    """Before a card was sealed the list says so."""
    page = station.get(f"/inspect/{answered(station)}/cards")
    assert_says(page, 200, "No card of this inspection was sealed here")


def test_withdraw(station: Site) -> None:
    """A withdrawn card says so on its page and in the list, and can't be corrected any more."""
    inspection = answered(station)
    made = make(station, inspection)
    (card,) = issued(station, inspection)
    response = station.post(f"/inspect/{inspection}/cards/withdraw", {"card": card.id})
    assert response.status_code == 303
    assert state(station, made) is SealState.WITHDRAWN
    page = station.get(response.location or "")
    assert_says(page, 200, "Taken back.")
    assert "Correct it" not in page.text
    assert "Withdraw it" not in page.text
    again = press(station, inspection, instead_of=card.id)
    assert_says(again, 422, "one that was withdrawn", "Make a new card")
    assert len(issued(station, inspection)) == 1


def test_withdrawn_twice(station: Site) -> None:
    """The button pressed twice is one recall."""
    inspection = answered(station)
    make(station, inspection)
    (card,) = issued(station, inspection)
    path = f"/inspect/{inspection}/cards/withdraw"
    for _ in range(2):
        assert station.post(path, {"card": card.id}).status_code == 303
    assert len(station.store.cards.recall_list(clock(station)()).recalls) == 1


def test_after_a_withdrawal_a_new_card(station: Site) -> None:
    """What was withdrawn is not handed out again: the same inspection gets a new card."""
    inspection = answered(station)
    made = make(station, inspection)
    (card,) = issued(station, inspection)
    station.post(f"/inspect/{inspection}/cards/withdraw", {"card": card.id})
    new = make(station, inspection)
    assert new != made
    assert state(station, new) is SealState.SEALED


def test_correct(station: Site) -> None:
    """A correction is a new card of the inspection as it stands; pressed twice it is the same one."""
    inspection = answered(station)
    old_digits = make(station, inspection)
    (old,) = issued(station, inspection)
    station.answer(inspection, "knobs", seen="horn")
    form = station.get(f"/inspect/{inspection}/card?instead-of={old.id}")
    assert_says(form, 200, "Correct a card", "The old one’s page will lead to it")
    assert f'name="instead-of" value="{old.id}"' in form.text
    new = make(station, inspection, instead_of=old.id)
    assert make(station, inspection, instead_of=old.id) == new
    assert state(station, old_digits) is SealState.CORRECTED
    assert state(station, new) is SealState.SEALED
    assert [card.number for card in issued(station, inspection)] == [1, 2]
    assert f'href="/c/{new}"' in station.get(f"/c/{old_digits}").text


def test_nothing_to_correct(station: Site) -> None:
    """A correction that would say the same is refused, and nothing is recalled."""
    inspection = answered(station)
    made = make(station, inspection)
    (card,) = issued(station, inspection)
    page = press(station, inspection, instead_of=card.id)
    assert_says(page, 422, "the same answers, marks and interest", "Change what is wrong")
    assert f'name="instead-of" value="{card.id}"' in page.text
    assert state(station, made) is SealState.SEALED


def test_another_inspections_card(station: Site) -> None:
    """A card can be recalled from its own inspection only."""
    made = make(station, answered(station, "1"))
    (card,) = [
        c
        for saved in station.store.book.list(9)
        for c in station.store.cards.of_inspection(saved.id)
    ]
    stranger = answered(station, "2")
    path = f"/inspect/{stranger}/cards/withdraw"
    assert_says(station.post(path, {"card": card.id}), 404, "a card of this inspection")
    assert_says(station.post(path, {}), 404, "a card of this inspection")
    response = press(station, stranger, instead_of=card.id)
    assert_says(response, 404, "a card of this inspection")
    assert state(station, made) is SealState.SEALED
    assert issued(station, stranger) == []


def test_correct_without_a_key(station: Site, tmp_path: Path) -> None:
    """Without a key in use nothing can take a sealed card's place."""
    inspection = answered(station)
    made = make(station, inspection)
    (card,) = issued(station, inspection)
    (key,) = station.store.keys.list()
    now = clock(station)()
    retire_key(station.store.keys, KeyFiles(tmp_path / "keys"), key_id=key.id, now=now)
    station.answer(inspection, "knobs", seen="horn")
    fields = {**FORM, "instead-of": card.id}
    response = station.post(f"/inspect/{inspection}/card", fields)
    assert_says(response, 404, "an issuer key in use", "quickcheck keys make")
    assert state(station, made) is SealState.RETIRED


# What the issuer publishes


def test_keys(station: Site, tmp_path: Path) -> None:
    """The page of keys has issuer, id, fingerprint, state and days of each, retired ones too."""
    (key,) = station.store.keys.list()
    page = station.get("/keys")
    assert_says(page, 200, ISSUER, key.id.hex(), "In use since 1 Apr 2026")
    now = clock(station).at
    files = KeyFiles(tmp_path / "keys")
    retire_key(station.store.keys, files, key_id=key.id, now=now)
    assert_says(station.get("/keys"), 200, "Retired on 11 Apr 2026", "Made on 1 Apr 2026")
    retire_key(station.store.keys, files, key_id=key.id, now=now, revoke=True)
    assert_says(station.get("/keys"), 200, "Revoked on 11 Apr 2026")


def test_keys_as_json(station: Site) -> None:
    """The JSON is the list that the command reads, public halves only."""
    (key,) = station.store.keys.list()
    response = station.get("/keys.json")
    (told,) = response.json["keys"] if response.json else []
    assert told["public"] == key.public.hex()
    assert told["issuer"] == ISSUER
    assert set(told) == {"id", "issuer", "public", "fingerprint", "made", "retired", "revoked"}


def test_no_keys(site: Site) -> None:
    """Without keys both pages say so, and there is no signed list."""
    assert_says(site.get("/keys"), 200, "No key yet")
    assert_says(site.get("/recalls"), 200, "0 cards", "the list is not signed")
    assert_says(site.get("/recalls.json"), 404, "an issuer key")


def test_recalls(station: Site) -> None:
    """The list has its day and each recalled card by its name; the JSON is signed and can be read."""
    inspection = answered(station)
    make(station, inspection)
    (old,) = issued(station, inspection)
    station.answer(inspection, "knobs", seen="horn")
    make(station, inspection, instead_of=old.id)
    new = issued(station, inspection)[1]
    station.post(f"/inspect/{inspection}/cards/withdraw", {"card": new.id})
    page = station.get("/recalls")
    assert_says(page, 200, "As of 11 Apr 2026", "2 cards", old.id, new.id, f"signed by {ISSUER}")
    assert "0420" not in words(page)
    response = station.get("/recalls.json")
    found = read_recalls(response.text, station.store.keys.ring())
    assert {(one.card, one.kind.value, one.by) for one in found.recalls} == {
        (old.id, "corrected", new.id),
        (new.id, "withdrawn", None),
    }
    assert response.mimetype == "application/json"
    assert json.loads(response.text)["key"] == station.store.keys.list()[0].id.hex()


def test_revoked_keys_are_listed(station: Site, tmp_path: Path) -> None:
    """A revoked key is in the list of recalls, with its day."""
    (key,) = station.store.keys.list()
    files, now = KeyFiles(tmp_path / "keys"), clock(station).at
    retire_key(station.store.keys, files, key_id=key.id, now=now, revoke=True)
    assert_says(station.get("/recalls"), 200, "1 revoked key", f"{key.id.hex()} , 11 Apr 2026")


def test_buyers_are_no_devices(station: Site) -> None:
    """Neither keys nor recalls nor a card make whoever opens them a device of the book."""
    made = make(station, answered(station))
    buyer = station.app.test_client()
    for path in ("/keys", "/recalls", f"/c/{made}", f"/c/{made}/print", f"/c/{made}/card.png"):
        response = buyer.get(path)
        assert response.status_code == 200
        assert "Set-Cookie" not in response.headers
