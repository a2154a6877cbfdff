"""`/pair`, `/organizer` and `/devices`: how somebody is let in, and turned away."""

import logging
import re
from collections.abc import Iterator
from datetime import timedelta
from http.cookies import SimpleCookie
from uuid import UUID

import numpy as np
import pytest
import zxingcpp
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from quickcheck.reference import Reference
from quickcheck.store import Role
from tests.web.issuing import clock
from tests.web.kit import HERE, Site, assert_says, words
from tests.web.sending import OUTBOX
from tests.web.showing import PASSPHRASE, PIN, Show, showing

MINUTE = timedelta(minutes=1)


@pytest.fixture(name="show", scope="module")
def _show(tmp_path_factory: pytest.TempPathFactory, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path_factory.mktemp("pairing"), reference) as show:
        yield show


@pytest.fixture(name="desk", scope="module")
def _desk(show: Show) -> FlaskClient:
    """Return the browser of the organizer's station."""
    return show.client("organizer")


def new_cookie(response: TestResponse) -> str:
    """Return the token that a reply gives."""
    cookie = SimpleCookie(response.headers["Set-Cookie"])["device"]
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/")
    return cookie.value


def test_a_phone_is_paired_by_an_address(show: Show) -> None:
    """Opening the address uses nothing up; the button does, gives the cookie, and works once."""
    code = show.site.store.access.offer(Role.DEALER, show.books["B"], name="Ann", now=show.now())
    phone = show.site.app.test_client()
    for _ in range(3):  # as the preview of a message would
        page = phone.get(f"/pair/{code}")
        assert_says(page, 200, "Pair this device?", "The code works once.")
        assert "Set-Cookie" not in page.headers
    assert phone.get("/book").status_code == 401
    done = phone.post("/pair", data={"code": code}, headers=HERE)
    assert (done.status_code, done.location) == (303, "/")
    assert len(new_cookie(done)) >= 43
    assert phone.get("/book").status_code == 200
    again = show.site.app.test_client().post("/pair", data={"code": code}, headers=HERE)
    assert_says(again, 404, "Ask the organizer for a new one.")
    foreign = phone.post("/pair", data={"code": code}, headers={"Sec-Fetch-Site": "cross-site"})
    assert foreign.status_code == 403


def test_the_same_browser_under_a_new_name(show: Show) -> None:
    """Paired anew, a browser's old token is revoked: it is one device, not two."""
    show.let_in("twice", Role.DEALER, show.books["B"])
    phone, before = show.client("twice"), show.devices["twice"]
    code = show.site.store.access.offer(Role.DEALER, show.books["A"], now=show.now())
    phone.post("/pair", data={"code": code}, headers=HERE)
    (old,) = [each for each in show.site.store.access.devices() if each.id == before.id]
    assert old.revoked
    assert show.ask("twice", "/book").status_code == 401


def test_a_stranger_is_asked_to_pair(show: Show) -> None:
    """The same page whatever was opened; nobody is made a device by opening it."""
    count = len(show.site.store.devices.list())
    pages = [show.ask("nobody", path) for path in ("/", "/book", f"/inspect/{show.inspection}")]
    assert len({page.text for page in pages}) == 1
    for page in pages:
        assert_says(page, 401, "Pair this device", "is sent once the device is paired")
        assert page.headers["WWW-Authenticate"].startswith("Code ")
        assert "Set-Cookie" not in page.headers
    assert len(show.site.store.devices.list()) == count


@pytest.mark.parametrize("fate", ["revoked", "ran out"])
def test_an_outbox_waits_until_it_is_paired_again(show: Show, fate: str) -> None:
    """Its documents are refused with "again", whatever they are; paired anew it sends them all."""
    show.let_in("phone", Role.DEALER, show.books["B"])
    mine = UUID(int=300 + len(fate))
    assert show.put("phone", mine, name="First").status_code == 201
    if fate == "revoked":
        show.site.store.access.revoke(show.devices["phone"].id, show.now())
    else:
        del show.tokens["phone"]
    for more in ({"name": "Second"}, {"edition": "e" * 64}, {"answers": {"nowhere": {}}}):
        refused = show.put("phone", mine, base=1, **more)
        told = refused.get_json()
        assert (refused.status_code, told["again"], told["pair"]) == (401, True, "/pair")
        assert "is sent then" in told["text"]
    show.let_in("phone", Role.DEALER, show.books["B"])
    assert show.put("phone", mine, base=1, name="Second").status_code == 200
    assert show.put("phone", mine, base=0, name="First").get_json()["revision"] == 1


def test_unlocking_by_passphrase(show: Show, caplog: pytest.LogCaptureFixture) -> None:
    """A browser that was never here becomes a station; the log says so and holds no secret."""
    caplog.set_level(logging.INFO)
    browser = show.site.app.test_client()
    wrong = browser.post("/organizer/unlock", data={"passphrase": "shuttle"}, headers=HERE)
    assert_says(wrong, 422, "passphrase: expected the right one")
    assert "Set-Cookie" not in wrong.headers
    assert browser.get("/devices").status_code == 401
    right = browser.post("/organizer/unlock", data={"passphrase": PASSPHRASE}, headers=HERE)
    assert (right.status_code, right.location) == (303, "/devices")
    token = new_cookie(right)
    assert_says(browser.get("/devices"), 200, "this device", "dealer A", "Balcony")
    assert "a wrong passphrase was tried" in caplog.text
    for secret in (PASSPHRASE, "shuttle", token):
        assert secret not in caplog.text
    locked = browser.post("/organizer/lock", headers=HERE)
    assert new_cookie(locked) != token
    assert browser.get("/devices").status_code == 404
    assert browser.get("/book").status_code == 200


def test_unlocking_gives_a_new_token(show: Show) -> None:
    """Whoever has a copy of the token from before has none of the rights."""
    show.let_in("copied", Role.DEALER, show.books["B"])
    browser = show.client("copied")
    browser.post("/organizer/unlock", data={"passphrase": PASSPHRASE}, headers=HERE)
    assert browser.get("/devices").status_code == 200
    assert show.ask("copied", "/devices").status_code == 401


@pytest.mark.parametrize(
    ("who", "remote", "headers", "right"),
    [
        ("organizer", "127.0.0.1", {}, True),
        ("organizer", "192.168.0.7", {}, False),
        ("organizer", "127.0.0.1", {"X-Forwarded-For": "192.168.0.7"}, False),
        ("organizer", "127.0.0.1", {"Forwarded": "for=192.168.0.7"}, False),
        ("dealer A", "127.0.0.1", {}, False),
        ("kiosk", "127.0.0.1", {}, False),
        ("nobody", "127.0.0.1", {}, False),
    ],
)
def test_a_pin_unlocks_a_station_here(
    show: Show, who: str, remote: str, headers: dict[str, str], right: bool
) -> None:
    """Only a station of the organizer's, only on this machine; elsewhere it is not asked for."""
    clock(show.site).at += 2 * MINUTE
    if who == "organizer":
        show.unlock(who)
        show.site.store.access.lock(show.devices[who])
    browser, where = show.client(who), {"REMOTE_ADDR": remote}
    page = browser.get("/organizer", headers=headers, environ_base=where)
    assert ("PIN of this station" in page.text) is right
    data, head = {"pin": PIN}, {**HERE, **headers}
    done = browser.post("/organizer/unlock", data=data, headers=head, environ_base=where)
    assert done.status_code == (303 if right else 422)
    assert (browser.get("/devices").status_code == 200) is right


def test_too_many_tries(show: Show) -> None:
    """The sixth wrong one at once has to wait, on the page and in words; waiting helps."""
    clock(show.site).at += 2 * MINUTE
    show.site.store.access.check_passphrase(PASSPHRASE, show.now())
    browser = show.site.app.test_client()
    replies = [
        browser.post("/organizer/unlock", data={"passphrase": "wrong"}, headers=HERE)
        for _ in range(6)
    ]
    assert [reply.status_code for reply in replies] == [422] * 5 + [429]
    assert_says(replies[-1], 429, "Wait 2 seconds", "Nobody is locked out", "Passphrase")
    clock(show.site).at += 2 * MINUTE
    done = browser.post("/organizer/unlock", data={"passphrase": PASSPHRASE}, headers=HERE)
    assert done.status_code == 303


def test_changing_the_secret(show: Show) -> None:
    """It takes the present passphrase and the new one twice; then everything is locked."""

    def change(**fields: str) -> TestResponse:
        clock(show.site).at += 2 * MINUTE
        show.unlock("organizer")
        return show.post("organizer", "/organizer/secret", **fields)

    new = "warp weft selvage treadle"
    assert_says(change(known="x", passphrase=new, again=new), 422, "present passphrase")
    twice = change(known=PASSPHRASE, passphrase=new, again=new + "!")
    assert_says(twice, 422, "expected the same text twice")
    short = change(known=PASSPHRASE, passphrase=new[:5], again=new[:5])
    assert_says(short, 422, "15 characters or more")
    assert_says(change(known=PASSPHRASE, pin="123456"), 422, "PIN: expected six digits")
    assert change(known=PASSPHRASE, pin=PIN).status_code == 303
    try:
        assert change(known=PASSPHRASE, passphrase=new, again=new).status_code == 303
        assert show.ask("organizer", "/devices").status_code == 404
        assert show.site.store.access.check_passphrase(new, show.now())
    finally:
        show.site.store.access.change_passphrase(PASSPHRASE, show.now())


def test_a_code_is_shown_as_text_and_symbol(show: Show) -> None:
    """Both lead to the address that was set, whatever Host the request names; and both pair."""
    show.unlock("organizer")
    page = show.post(
        "organizer", "/devices/offer", role="kiosk", book=str(show.books["B"]), name="Desk 2"
    )
    assert_says(page, 200, "For a kiosk, with Balcony", "http://localhost:8000/pair there")
    found = re.search(r'<path class="dark" d="([^"]+)"', page.text)
    assert found
    (read,) = zxingcpp.read_barcodes(drawn(found[1]))
    base, _, code = read.text.rpartition("/pair/")
    assert base == "http://localhost:8000"
    typed = re.search(r'class="typed"><code>([^<]+)', page.text)
    assert typed
    assert typed[1].replace("-", "").lower() == code
    _, device = show.site.store.access.pair(typed[1], show.now())
    assert (device.role, device.book, device.name) == (Role.KIOSK, show.books["B"], "Desk 2")


def drawn(path: str) -> "np.ndarray[tuple[int, int], np.dtype[np.uint8]]":
    """Return the picture of a path of rectangles, a module 8 pixels wide."""
    runs = [tuple(map(int, run)) for run in re.findall(r"M(\d+) (\d+)h(\d+)v1", path)]
    side = max(x + length for x, _, length in runs)
    modules = np.full((side, side), 255, np.uint8)
    for x, y, length in runs:
        modules[y, x : x + length] = 0
    return np.pad(np.kron(modules, np.ones((8, 8), np.uint8)), 32, constant_values=255)


def test_the_list_of_devices(show: Show) -> None:
    """Each with role, book, when it was last seen and what waits on it; rename, revoke, books."""
    show.let_in("listed", Role.DEALER, show.books["B"])
    show.ask("listed", "/api/epoch", headers={**OUTBOX, "X-Unsent": "3"})
    show.unlock("organizer")
    device = show.devices["listed"].id
    part = words_of(show, str(device))
    assert part.startswith("listed Dealer, Balcony Last seen 11 Apr")
    assert "3 not sent yet" in part
    assert show.post("organizer", f"/devices/{device}/name", name="Bo’s phone").status_code == 303
    assert words_of(show, str(device)).startswith("Bo’s phone")
    assert show.post("organizer", f"/devices/{device}/revoke").status_code == 303
    assert "; revoked 11 Apr" in words_of(show, str(device))
    assert show.ask("listed", "/book").status_code == 401
    assert show.post("organizer", "/devices/books", name="Cellar").status_code == 303
    assert_says(show.post("organizer", "/devices/books", name="cellar"), 409, "no other book has")
    book = show.books["B"]
    same = show.post("organizer", f"/devices/books/{book}/name", name="Cellar")
    assert_says(same, 409, "no other book has")
    assert show.post("organizer", f"/devices/books/{book}/name", name="Balcony").status_code == 303
    for path in ("/devices/nonsense/name", f"/devices/{UUID(int=5)}/revoke"):
        assert show.post("organizer", path, name="x").status_code == 404


def words_of(show: Show, device: str) -> str:
    """Return what the list says of a device."""
    page = show.ask("organizer", "/devices")
    found = re.search(rf'<li data-device="{device}".*?</li>', page.text, re.DOTALL)
    assert found
    return " ".join(re.sub(r"<[^>]*>", " ", found[0]).split()).replace(" ,", ",")


def test_a_kiosk_is_not_offered_the_book(show: Show) -> None:
    """No page at a kiosk, an error neither, links to where it may not go."""
    for path in ("/", "/references", "/nothing"):
        assert 'href="/book">Book' not in show.ask("kiosk", path).text
        assert 'href="/book">Book' in show.ask("dealer A", path).text
    assert "Write a reference" not in show.ask("dealer A", "/references").text


def test_an_open_book_has_no_organizer(site: Site) -> None:
    """There the pages say how to begin, and nobody is paired or turned away."""
    page = site.get("/organizer")
    assert_says(page, 200, "Nobody is the organizer here yet", "quickcheck setup")
    assert "<form" not in page.text
    for path in ("/devices", "/devices/offer"):
        reply = site.get(path) if path == "/devices" else site.post(path, {})
        assert (reply.status_code, reply.location) == (303, "/organizer")
    assert site.get("/book").status_code == 200
    wrong = site.post("/organizer/unlock", {"passphrase": PASSPHRASE})
    assert_says(wrong, 422, "Nobody is the organizer here yet")


def test_over_https_the_cookie_is_bound_to_the_host(show: Show) -> None:
    """As it is for every device: `__Host-`, Secure, HttpOnly, and sent by no other site's form."""
    code = show.site.store.access.offer(Role.DEALER, show.books["B"], now=show.now())
    reply = show.site.app.test_client().post(
        "/pair", data={"code": code}, headers=HERE, base_url="https://localhost"
    )
    cookie = SimpleCookie(reply.headers["Set-Cookie"])["__Host-device"]
    assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax")
    assert (cookie["domain"], cookie["path"]) == ("", "/")


def test_the_configuration(site: Site) -> None:
    """What the framework leaves open is set: hosts, sizes; no debugging, no session of its own."""
    config: Flask = site.app
    told = {
        name: config.config[name]
        for name in ("DEBUG", "TESTING", "SECRET_KEY", "PROPAGATE_EXCEPTIONS")
    }
    assert told == {
        "DEBUG": False,
        "TESTING": False,
        "SECRET_KEY": None,
        "PROPAGATE_EXCEPTIONS": None,
    }
    assert config.config["TRUSTED_HOSTS"] == ["localhost", "127.0.0.1"]
    assert config.config["MAX_CONTENT_LENGTH"] == config.config["MAX_FORM_MEMORY_SIZE"] == 262_144
    assert config.config["MAX_FORM_PARTS"] == 1000
    assert words(site.get("/organizer"))
