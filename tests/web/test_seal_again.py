"""`/c/<digits>/seal` and `/api/inspections/<id>/card`: a card without a seal gets one, once."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from werkzeug.test import TestResponse

from quickcheck import desk
from quickcheck.card import SealState, data_of, decode_any, digits, encode, head
from quickcheck.reference import Reference
from quickcheck.store import open_store
from tests.web.checklist import Changing, Checklist
from tests.web.issuing import ISSUER, answered, clock, issued, issuing, make
from tests.web.kit import HERE, NOBODY, Site, assert_says


@pytest.fixture(name="station")
def _station(tmp_path: Path, reference: Reference) -> Iterator[Site]:
    with issuing(tmp_path, reference) as site:
        yield site


def phone_card(site: Site, interest: str = "none") -> str:
    """Return the digits of the card that a phone would make of an inspection, without a seal."""
    inspection = answered(site)
    judged = desk.judge_saved(site.store, site.store.book.get(inspection))
    card = desk.make_card(judged, interest=interest, now=clock(site).at - timedelta(days=2))
    return digits(encode(card))


class TestChecklist(Changing):
    """What holds at every endpoint."""

    path = "/c/{digits}/seal"

    def address(self, site: Site) -> str:
        """Return the address of a card that is there."""
        return self.path.format(digits=phone_card(site))


class TestApiChecklist(Checklist):
    """What holds at every endpoint."""

    path = "/api/inspections/{id}/card"
    methods = frozenset({"PUT"})


def log_of(site: Site) -> list[Any]:
    return list(site.store.cards.others("0420"))


def seal(site: Site, text: str, leave: str = "y") -> TestResponse:
    """Open the card as a device of the book does, and press the button."""
    site.get("/")
    return site.post(f"/c/{text}/seal", {"leave": leave})


def test_the_button(station: Site) -> None:
    """A device of the book is offered the button, which says in whose name; nothing is ticked."""
    text = phone_card(station)
    station.get("/")
    page = station.get(f"/c/{text}")
    assert_says(page, 200, f"sealed by {ISSUER}", "Judge again and seal")
    assert f'action="/c/{text}/seal"' in page.text
    assert "checked" not in page.text


def test_a_stranger_has_no_button(station: Site) -> None:
    """Whoever is no device of the book sees no button, and what they post is refused."""
    text = phone_card(station)
    stranger = station.app.test_client()
    assert "Judge again" not in stranger.get(f"/c/{text}").text
    reply = stranger.post(f"/c/{text}/seal", data={"leave": "y"}, headers=HERE)
    assert_says(reply, 403, "Only a device of the book")
    stranger.set_cookie("device", "made-up")
    reply = stranger.post(f"/c/{text}/seal", data={"leave": "y"}, headers=HERE)
    assert reply.status_code == 403
    assert log_of(station) == []


def test_sealed(station: Site) -> None:
    """The sealed card has the same answers, its own time and the interest that was told."""
    text = phone_card(station, interest="selling-for-owner")
    response = seal(station, text)
    assert response.status_code == 303
    data = data_of((response.location or "").removeprefix("/c/"))
    before, after = (decode_any(one, station.reference) for one in (data_of(text), data))
    assert station.store.cards.check(data).state is SealState.SEALED
    assert after.answers == before.answers
    assert replace(after.head, issued=before.head.issued) == before.head
    assert after.head.issued > before.head.issued
    assert_says(
        station.get(response.location or ""), 200, "The issuer is selling it for the owner."
    )


def test_pressed_twice(station: Site) -> None:
    """The button pressed again, whenever, gives the same sealed card: one in the log."""
    text = phone_card(station)
    first = seal(station, text)
    clock(station).at += timedelta(days=1)
    second = seal(station, text)
    assert first.location == second.location
    assert len(log_of(station)) == 1


def test_no_leave(station: Site) -> None:
    """Without the tick nothing is sealed, and the card's page says what is missing."""
    response = seal(station, phone_card(station), leave="")
    assert_says(response, 422, "Ask the owner", "Judge again and seal")
    assert log_of(station) == []


def test_the_code_is_not_believed(station: Site) -> None:
    """What is sealed is the server's own verdict, whatever the code claims."""
    card = decode_any(data_of(phone_card(station)), station.reference)
    lie = replace(card, head=replace(card.head, verdict="agrees", found=0, number=77))
    response = seal(station, digits(encode(lie)))
    front = head(data_of((response.location or "").removeprefix("/c/")))
    assert front.verdict == card.head.verdict == "too-little-seen"
    assert front.number == 1


def test_a_sealed_card_is_not_sealed_again(station: Site) -> None:
    """A card that names a key is not sealed anew, and its page has no button."""
    made = make(station, answered(station))
    assert_says(seal(station, made), 400, "an unsealed card", "one that names a key")
    assert "Judge again" not in station.get(f"/c/{made}").text


@pytest.mark.parametrize("text", ["1", "abc", "9" * 900])
def test_no_card(station: Site, text: str) -> None:
    """Text that is no card is refused."""
    assert seal(station, text).status_code == 400


def test_without_a_key(tmp_path: Path, reference: Reference) -> None:
    """Where no key is in use there is no button, and a post says what to do."""
    with issuing(tmp_path, reference, key=False) as site:
        text = phone_card(site)
        assert_says(seal(site, text), 404, "an issuer key in use", "keys make")
        assert "Judge again" not in site.get(f"/c/{text}").text


def test_edition_is_missing(station: Site, tmp_path: Path, reference: Reference) -> None:
    """A card of an edition that is not here can't be judged, so it is not sealed."""
    text = phone_card(station)
    keys = station.app.extensions["quickcheck"].keys
    with open_store(tmp_path / "bare.sqlite3") as store:
        store.keys.add(station.store.keys.list()[0])
        bare = Site.on(store, reference, desk.Shelf({}, {}), keys)
        assert_says(seal(bare, text), 404, "edition")


# What the phone's own page asks for


def put(site: Site, inspection: Any, body: Any, **headers: str) -> TestResponse:
    """Send an unsealed card as the phone's page does."""
    more = {name.replace("_", "-"): value for name, value in headers.items()}
    content = body if isinstance(body, bytes) else json.dumps(body).encode()
    return site.client.put(
        f"/api/inspections/{inspection}/card",
        data=content,
        headers={**HERE, "X-Outbox": "1", "Content-Type": "application/json", **more},
    )


def test_phone(station: Site) -> None:
    """The reply echoes inspection and card, and has the address of the sealed one and the issuer."""
    text, inspection = phone_card(station), uuid4()
    reply = put(station, inspection, {"card": text, "leave": True})
    (card,) = issued(station, inspection)
    assert reply.json == {
        "uuid": str(inspection),
        "card": text,
        "address": f"http://localhost:8000/c/{digits(card.data)}",
        "issuer": ISSUER,
    }
    assert card.source == sha256(data_of(text)).hexdigest()


def test_phone_station_and_scan_are_one_card(station: Site) -> None:
    """Asked for by the phone, scanned into the station, made at the station: one card, not two."""
    inspection = answered(station)
    judged = desk.judge_saved(station.store, station.store.book.get(inspection))
    now = clock(station).at
    texts = [
        digits(encode(desk.make_card(judged, interest="none", now=now + timedelta(minutes=late))))
        for late in (0, 7)  # made twice on the phone
    ]
    got = [put(station, inspection, {"card": text, "leave": True}).json for text in texts]
    addresses = {reply["address"].rpartition("/")[2] for reply in got if reply}
    addresses.add((seal(station, texts[0]).location or "").rpartition("/")[2])
    fields = {"leave": "y", "interest": "none"}
    made = station.post(f"/inspect/{inspection}/card", fields)
    addresses.add((made.location or "").rpartition("/")[2])
    assert len(addresses) == 1
    assert len(issued(station, inspection)) == 1


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"leave": True}, "the digits of a card"),
        ({"card": 5, "leave": True}, "the digits of a card"),
        ({"card": "5"}, "the owner agreed"),
        ({"card": "5", "leave": "yes"}, "the owner agreed"),
        ({"card": "5", "leave": True}, "the digits of a card, at most"),
        (b"{", "a JSON object"),
        ([], "a JSON object"),
    ],
    ids=["no card", "a number", "no leave", "no tick", "not digits", "cut", "a list"],
)
def test_phone_says_it_wrong(station: Site, body: Any, said: str) -> None:
    """A message that is not in the form agreed on is refused for good, and nothing is sealed."""
    reply = put(station, uuid4(), body)
    assert reply.status_code == 400
    assert reply.json
    assert said in reply.json["text"]
    assert reply.json["again"] is False


def test_phone_meets_no_key(site: Site) -> None:
    """Where no key is in use the phone is told to try again later."""
    reply = put(site, NOBODY, {"card": phone_card(site), "leave": True})
    assert reply.status_code == 404
    assert reply.json
    assert reply.json["again"] is True


def test_phone_with_another_type(station: Site) -> None:
    """Anything but JSON is refused."""
    reply = put(station, uuid4(), b"card=1", Content_Type="text/plain")
    assert reply.status_code == 415
