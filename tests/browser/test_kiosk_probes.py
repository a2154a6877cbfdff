"""Nothing of one person is left for the next: forty probes after a hand-over, and without one."""

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from playwright.sync_api import BrowserType, Page, expect

from quickcheck.card import digits
from quickcheck.store import Role, open_store
from tests.browser.kiosk import Kiosk, begin, finish, mine, show_shop
from tests.browser.kiosk_probes import (
    AFTER,
    HALF,
    LIVE,
    NAME,
    NOTE,
    SERIAL,
    WORDS,
    Before,
    Room,
    in_profile,
    picture,
    read,
    restored,
)
from tests.browser.photographing import choose_photos, kept
from tests.browser.photographing import picture as jpeg
from tests.browser.walking import Shop, at, choose, saved, write
from tests.faults.figures import keep

pytestmark = pytest.mark.browser
ALL = [*LIVE, *AFTER]


@pytest.fixture(name="shop", scope="module")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = show_shop(tmp_path_factory.mktemp("show"))
    with shop.server:
        yield shop


def visit(shop: Shop, kiosk: Kiosk) -> Room:
    """Be the person before: look at an instrument, make a card, leave two tabs open."""
    page = kiosk.start(shop)
    page.goto(shop.server.url)
    if kiosk.role is Role.KIOSK:
        mine(page)
    unused = picture(page)
    path = begin(page, shop.server.url, serial_text=SERIAL, name=NAME, claim_words=WORDS)
    at_knobs = f"{shop.server.url}{path}?at=knobs"
    page.goto(at_knobs)
    blob, name = look_at_knobs(page)
    second = other_tabs(kiosk, shop.server.url + path)
    card = make_card(page, shop.server.url + path).removeprefix(shop.server.url)
    page.goto(at_knobs)
    write(at(page, "knobs"), 'textarea[name="knobs.note"]', HALF, thumb=False)
    assert kiosk.context
    address = f"{shop.server.url}{path.replace('inspect', 'inspections')}/photos/{name}"
    served = sha256(kiosk.context.request.get(address).body()).hexdigest()
    before = Before(path, card, digits_of(shop, path), name, served, blob, unused)
    return Room(shop, kiosk, page, second, before)


def look_at_knobs(page: Page) -> tuple[str, str]:
    """Answer with a note and a photo; return the photo's address in the page and its name."""
    box = at(page, "knobs")
    choose(box, "knobs", "wood", thumb=False)
    write(box, 'textarea[name="knobs.note"]', NOTE, thumb=False)
    choose_photos(page, "knobs", jpeg(noise=True))
    saved(page)
    expect(page.locator("[data-unsent]")).to_have_attribute("data-unsent", "0")
    drawn = page.locator('fieldset[data-point="knobs"] .photos img').first
    return drawn.get_attribute("src") or "", kept(page)[0]["sha256"]


def other_tabs(kiosk: Kiosk, address: str) -> Page:
    """Open the inspection in two tabs more, one of which is closed again; return the other."""
    second, third = kiosk.another(), kiosk.another()
    for tab, rest in ((second, "/verdict"), (third, "/claim")):
        tab.goto(address)
        tab.goto(address + rest)
        assert NAME in read(tab)
    third.close()
    return second


def make_card(page: Page, address: str) -> str:
    """Make a card of an inspection and see how it prints; return the address of its page."""
    page.goto(f"{address}/card")
    page.locator("label", has=page.locator('[name="leave"]')).click()
    page.locator("label", has=page.locator('[name="interest"][value="none"]')).click()
    page.get_by_role("button", name="Make the card").click()
    expect(page.locator("[data-seal]")).to_be_visible()
    card = page.url
    page.get_by_role("link", name="For printing").click()
    expect(page.locator("body.paper")).to_be_visible()
    return card


def digits_of(shop: Shop, path: str) -> str:
    """Return the digits of the card that was made of the inspection of a page."""
    with open_store(shop.server.data / "book.sqlite3") as store:
        return digits(store.cards.of_inspection(UUID(path.rpartition("/")[2]))[0].data)


def type_half(room: Room) -> None:
    """Begin again, and be in the middle of a note."""
    room.page.goto(room.url)
    if room.kiosk.role is Role.KIOSK:
        mine(room.page)
    path = begin(room.page, room.url, serial_text=SERIAL, name=NAME, claim_words=WORDS)
    room.page.goto(f"{room.url}{path}?at=knobs")
    write(at(room.page, "knobs"), 'textarea[name="knobs.note"]', HALF, thumb=False)
    room.page.wait_for_timeout(1000)


def look(room: Room) -> dict[str, list[str]]:
    """Look everywhere; return what leaked, by probe."""
    found = {name: room.leaks(probe(room)) for name, probe in LIVE.items()}
    type_half(room)
    found[AFTER[0]] = room.leaks(restored(room.kiosk))
    room.kiosk.close()
    return found | {name: room.leaks(data) for name, data in in_profile(room.kiosk.profile).items()}


@pytest.fixture(name="options", scope="module")
def _options(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return browser_type_launch_args


def test_nothing_of_the_person_before(
    request: pytest.FixtureRequest,
    shop: Shop,
    browser_type: BrowserType,
    options: dict[str, Any],
    tmp_path: Path,
) -> None:
    """After a hand-over none of forty probes finds anything of the person before."""
    with Kiosk(browser_type, options, tmp_path / "profile") as kiosk:
        room = visit(shop, kiosk)
        room.second.expose_function("heard", room.hear)
        room.second.evaluate(
            "addEventListener('storage', (e) => heard(JSON.stringify([e.key, e.newValue])))"
        )
        finish(room.page)
        found = look(room)
    leaks = {name: seen for name, seen in found.items() if seen}
    keep(request, f"kiosk: {len(leaks)} of {len(found)} probes show something of the person before")
    assert list(found) == ALL
    assert len(ALL) == 40
    assert not leaks


@pytest.mark.slow
def test_the_probes_find_what_is_left(
    request: pytest.FixtureRequest,
    shop: Shop,
    browser_type: BrowserType,
    options: dict[str, Any],
    tmp_path: Path,
) -> None:
    """Without the routine, at a device that is no kiosk, the same probes find the person before."""
    with Kiosk(browser_type, options, tmp_path / "profile", role=Role.DEALER) as kiosk:
        room = visit(shop, kiosk)
        room.page.get_by_role("link", name="Start").click()
        read(room.page)
        found = look(room)
    leaks = [name for name, seen in found.items() if seen]
    keep(request, f"kiosk, control: {len(leaks)} of {len(found)} probes find the person before")
    assert kiosk.came_back, "no page came out of the back/forward cache: it is off"
    assert len(leaks) >= 25, leaks
