"""Who may see what: every route, asked by everybody, with ids that are real and somebody's."""

import json
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from hashlib import sha256
from typing import Any, cast
from uuid import UUID

import pytest
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from quickcheck.card import data_of, digits, unsealed
from quickcheck.reference import Reference
from quickcheck.store import Role
from quickcheck.web.access import ENTRANCES, Level
from tests.store.pictures import photo
from tests.web.entrances import ROLES, TABLE
from tests.web.issuing import clock
from tests.web.kit import asset, has_trace, words
from tests.web.sending import message
from tests.web.showing import (
    OWNER_WORDS,
    PHOTO,
    PHOTO_NAME,
    SERIAL,
    UNKNOWN,
    Show,
    showing,
)

PAUSE = timedelta(minutes=2)
"""After that anybody may try once more."""
PUBLIC_OF_A = {"cards.show", "cards.paper", "cards.face", "cards.picture", "cards.seal"}
"""What says A's serial to whoever has A's card."""


@pytest.fixture(name="show", scope="module")
def _show(tmp_path_factory: pytest.TempPathFactory, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path_factory.mktemp("show"), reference) as show:
        yield show


def address(show: Show, rule: Rule, inspection: UUID) -> str:
    """Return an address of a rule with what is dealer A's, but with this inspection."""
    bare = digits(unsealed(data_of(show.card)))
    reference = show.site.reference
    values = {
        "inspection": str(inspection),
        "text": bare if rule.endpoint == "cards.seal" else show.card,
        "reference": reference.id,
        "prefix": reference.hash[:16],
        "hashed": asset(show.site, "css/app.css").split("/")[2],
        "size": "card",
        "code": "0" * 26,
        "learning": "none",
        "digest": "0" * 64,
        "kind": "png",
        "device": str(show.devices["spare"].id) if "spare" in show.devices else str(UNKNOWN),
        "book": str(show.books["B"]),
        "name": {
            "asset": "css/app.css",
            "references.picture": "wood.svg",
        }.get(rule.endpoint, PHOTO_NAME),
    }
    return re.sub(r"<(?:\w+:)?(\w+)>", lambda found: values[found[1]], rule.rule)


def body(show: Show, endpoint: str, inspection: UUID) -> dict[str, Any]:
    """Return what is sent there, of a kind that is taken from whoever may send it."""
    make: dict[str, Callable[[], dict[str, Any]]] = {
        "start.begin": lambda: claim(show),
        "inspect.claim": lambda: claim(show),
        "inspect.answer": lambda: {"_point": "knobs", "knobs": "wood"},
        "inspect.veil": lambda: {"veil": "1", "back": "/"},
        "making.make": lambda: {"leave": "y", "interest": "none"},
        "making.withdraw": lambda: {"card": show.issued},
        "cards.seal": lambda: {"leave": "y"},
        "scan.text": lambda: {"card": show.card},
        "versions.bring_back": lambda: {"version": "revision-1", "revision": current(show)},
        "organizer.unlock": lambda: {"passphrase": "not it"},
        "organizer.change": lambda: {"known": "not it"},
        "devices.begin_book": lambda: {"name": "Balcony"},
        "devices.name_book": lambda: {"name": "Balcony"},
        "devices.rename": lambda: {"name": "Spare"},
    }
    if endpoint in make:
        return {"data": make[endpoint]()}
    return sent(show, endpoint) if endpoint.startswith("api.put") else {}


def claim(show: Show) -> dict[str, str]:
    """Return a claim as its form sends it."""
    return {"reference": show.site.reference.id, "year": "1954", "part": "early", "access": "open"}


def current(show: Show) -> str:
    """Return the number of the current revision of A's inspection."""
    return str(show.site.store.book.get(show.inspection).revision)


def sent(show: Show, endpoint: str) -> dict[str, Any]:
    """Return what a phone sends: what is there already, so that it is taken again and again."""
    headers = {"Content-Type": "application/json"}
    if endpoint == "api.put_photo":
        return {"data": PHOTO, "headers": {"Content-Type": "image/jpeg"}}
    if endpoint == "api.put_card":
        card = digits(unsealed(data_of(show.card)))
        return {"data": json.dumps({"card": card, "leave": True}), "headers": headers}
    saved = show.site.store.book.get(show.inspection)
    told = message(saved.document, show.site.reference.hash, base=saved.revision)
    return {"data": json.dumps(told), "headers": headers}


def asked(show: Show, who: str, rule: Rule, method: str, inspection: UUID) -> TestResponse:
    """Ask, with everything put back as it was where asking changes who somebody is."""
    path = address(show, rule, inspection)
    response = show.ask(who, path, method, **body(show, rule.endpoint, inspection))
    if rule.endpoint == "organizer.lock" and who in show.devices:
        access = show.site.store.access
        show.tokens[who] = access.renew(show.devices[who])
        if who == "organizer":
            show.unlock(who)
    if rule.endpoint in {"organizer.unlock", "organizer.change"}:
        # How wrong ones add up is asked elsewhere; meanwhile the rights run out.
        clock(show.site).at += PAUSE
        if who == "organizer":
            show.unlock(who)
    return response


def rules(show: Show) -> list[tuple[Rule, str]]:
    """Return every route with each of its methods."""
    return [
        (rule, method)
        for rule in show.site.app.url_map.iter_rules()
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
    ]


def test_the_table_names_every_route(show: Show) -> None:
    """A new route is nobody's until it is put into both tables."""
    there = {(rule.endpoint, method) for rule, method in rules(show)}
    assert there == set(TABLE)
    assert {endpoint for endpoint, _ in there} == set(ENTRANCES)


def test_every_route_for_everybody(show: Show) -> None:
    """Each gets what the table says, HEAD as GET, and nobody who may not is shown a word of A's."""
    show.let_in("spare", Role.DEALER, show.books["B"])
    wrong = []
    show.unlock("organizer")
    for rule, method in rules(show):
        for who, status in zip(ROLES, TABLE[rule.endpoint, method], strict=True):
            response = asked(show, who, rule, method, show.inspection)
            if response.status_code != status:
                wrong.append((rule.endpoint, method, who, response.status_code, status))
            if response.status_code >= 400 or who not in ("dealer A", "organizer"):
                check_nothing_told(show, rule, response)
            assert response.mimetype == "image/jpeg" or not has_trace(response)
            assert b"$argon2" not in response.data
    assert not wrong, "\n".join(map(str, wrong))


def check_nothing_told(show: Show, rule: Rule, response: TestResponse) -> None:
    """Check that a reply holds nothing of A's inspection but what is on A's card."""
    assert OWNER_WORDS.encode() not in response.data, rule.endpoint
    assert PHOTO not in response.data
    if rule.endpoint not in PUBLIC_OF_A | {"scan.text"}:
        assert SERIAL.encode() not in response.data, rule.endpoint


@pytest.mark.parametrize("who", ["nobody", "dealer B", "kiosk", "locked"])
def test_another_one_is_like_an_unknown_one(show: Show, who: str) -> None:
    """A's ids and ids that nobody has are answered by the same bytes, whatever is asked."""
    asked_of = 0
    for rule, method in rules(show):
        if "<inspection>" not in rule.rule or rule.endpoint in {"api.put", "api.put_card"}:
            continue
        for theirs in (show.inspection, show.parked):
            told = asked(show, who, rule, method, theirs)
            unknown = asked(show, who, rule, method, UNKNOWN)
            assert told.status_code == unknown.status_code, rule.endpoint
            assert even(told, theirs) == even(unknown, UNKNOWN), rule.endpoint
            asked_of += 1
    assert asked_of >= 24


def even(response: TestResponse, inspection: UUID) -> tuple[str, list[tuple[str, str]]]:
    """Return a reply without its id."""
    text = response.text.replace(str(inspection), "ID")
    told = [(name, value) for name, value in response.headers if name != "Content-Length"]
    return text, [each for each in told if not each[1].startswith("turn=")]  # holds the time


@pytest.mark.parametrize("who", ["dealer B", "kiosk"])
def test_nobody_writes_into_another_book(show: Show, who: str) -> None:
    """A document, a photo or a card for A's inspection is refused as for none; nothing is kept."""
    store = show.site.store
    before = (store.book.history(show.inspection), store.book.history(show.parked))
    cards = store.cards.of_inspection(show.inspection)
    for theirs in (show.inspection, show.parked):
        for base in (0, 1, 5):
            assert show.put(who, theirs, base=base, name="Mine now").status_code == 404
        # Neither one that would be parked: of an edition that is not here, and with faults.
        assert show.put(who, theirs, edition="e" * 64).status_code == 404
        assert show.put(who, theirs, answers={"nowhere": {}}).status_code == 404
        other = photo(size=(20, 20))
        path = f"/api/inspections/{theirs}/photos/{sha256(other).hexdigest()}"
        put = show.ask(who, path, "PUT", data=other, headers={"Content-Type": "image/jpeg"})
        assert put.status_code == 404
    assert (store.book.history(show.inspection), store.book.history(show.parked)) == before
    assert store.cards.of_inspection(show.inspection) == cards


def test_each_lists_their_own(show: Show) -> None:
    """Start page, book and `/api/book` list the inspections of the book that one is paired with."""
    assert show.put("dealer B", UUID(int=0xB), name="Balcony one").status_code == 201
    assert show.put("kiosk", UUID(int=0xC), name="Visitor one").status_code == 201
    for path in ("/", "/book", "/api/book"):
        names = (OWNER_WORDS, "Balcony one", "Visitor one")
        seen = {who: [name in said(show, who, path) for name in names] for who in ROLES[2:]}
        assert seen["dealer B"] == [False, True, False], path
        assert seen["kiosk"] == ([False, False, True] if path == "/" else [False] * 3), path
        assert seen["dealer A"][1:] == [False, True], path  # a kiosk's are of its book
        assert seen["organizer"][1:] == [True, True], path


def said(show: Show, who: str, path: str) -> str:
    """Return a reply's text; that of JSON with its letters."""
    if who == "organizer":
        show.unlock(who)
    response = show.ask(who, path)
    return (
        json.dumps(response.get_json(), ensure_ascii=False)
        if response.is_json
        else (words(response))
    )


def test_a_locked_station_is_a_dealer(show: Show) -> None:
    """A station of the organizer's sees its own book until it is unlocked, and not for ever."""
    assert show.ask("locked", f"/inspect/{show.inspection}").status_code == 404
    assert show.ask("locked", "/devices").status_code == 404
    show.unlock("locked")
    assert show.ask("locked", f"/inspect/{show.inspection}").status_code == 200
    clock(show.site).at += 8 * PAUSE
    assert show.ask("locked", f"/inspect/{show.inspection}").status_code == 404


def test_a_kiosk_between_two_people(show: Show) -> None:
    """After a hand-over the next person sees nothing of the one before, and the old cookie nothing."""
    mine = UUID(int=0xD)
    assert show.put("kiosk", mine, name="First person").status_code == 201
    assert show.ask("kiosk", f"/inspect/{mine}/verdict").status_code == 200
    store, before = show.site.store, show.tokens["kiosk"]
    device = store.devices.find(before)
    assert device
    show.tokens["kiosk"] = store.access.hand_over(device, show.now())
    for path in (f"/inspect/{mine}", f"/inspect/{mine}/verdict", f"/api/inspections/{mine}"):
        assert show.ask("kiosk", path).status_code == 404
    assert "First person" not in show.ask("kiosk", "/").text
    show.tokens["gone"] = before
    assert show.ask("gone", f"/inspect/{mine}").status_code == 303  # to the start page
    assert "First person" not in show.ask("gone", "/").text
    assert show.ask("gone", f"/api/inspections/{mine}").status_code == 303
    # What was not sent before goes to whom it belongs, and the next person still sees none of it.
    late = UUID(int=0xE)
    with_ticket = {"X-Visit": before}
    assert show.put("kiosk", late, name="Late", headers=with_ticket).status_code == 201
    assert show.put("kiosk", mine, base=1, name="More", headers=with_ticket).status_code == 200
    assert show.ask("kiosk", f"/inspect/{late}").status_code == 404
    assert show.ask("kiosk", f"/inspect/{late}", headers=with_ticket).status_code == 404
    assert show.put("kiosk", mine, base=2, headers={"X-Visit": "guess"}).status_code == 404
    assert show.put("dealer B", mine, base=2, headers=with_ticket).status_code == 404


def test_what_phones_keep_is_nobodys(show: Show) -> None:
    """The pages that a device takes along are the same for everybody who gets them."""
    prefix = show.site.reference.hash[:16]
    who_may = {
        "/device/pack.json": ROLES,
        "/sw.js": tuple(who for who in ROLES if who != "kiosk"),  # which keeps no app
        f"/references/{prefix}/pack.json": ROLES[2:],
        f"/references/{prefix}/model.json": ROLES[2:],
    }
    for path, who in who_may.items():
        replies = {show.ask(each, path).text for each in who}
        assert len(replies) == 1, path
        assert OWNER_WORDS not in next(iter(replies))
        assert str(show.inspection) not in next(iter(replies))


def test_photos_only_through_an_inspection(show: Show) -> None:
    """A photo of A's is not served under an inspection that does not speak of it."""
    mine = UUID(int=0xF)
    assert show.put("dealer B", mine).status_code == 201
    assert show.ask("dealer B", f"/inspections/{mine}/photos/{PHOTO_NAME}").status_code == 404


def test_health_tells_strangers_only_that_it_lives(show: Show) -> None:
    """No device, no count, no version for anybody but the organizer."""
    for who in ("nobody", "dealer A", "kiosk", "locked"):
        assert show.ask(who, "/health?json&check").get_json() == {"alive": True}
        assert "dealer B" not in show.ask(who, "/health").text
    show.unlock("organizer")
    assert show.ask("organizer", "/health?json").get_json()["devices"]


def test_an_endpoint_that_nobody_put_in_is_closed(
    show: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is in no table is not there, for the organizer either."""
    show.unlock("organizer")
    assert show.ask("organizer", "/read").status_code == 200
    monkeypatch.delitem(cast("dict[str, Level]", ENTRANCES), "reading.show")
    for who in ("organizer", "dealer A", "nobody"):
        assert show.ask(who, "/read").status_code == 404
