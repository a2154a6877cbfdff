"""What a kiosk put aside, as its server refused it: the next person sees nothing, the organizer all."""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from hashlib import sha256
from typing import Final, Literal

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, Route, expect

from quickcheck.store import THIS_BOOK, Role, open_store
from tests.browser.handset import drafts
from tests.browser.kiosk import SCREEN, SECRET, begin, finish, mine, named, paired, show, show_shop
from tests.browser.kiosk_probes import NAME, NOTE, SERIAL
from tests.browser.photographing import arrived, choose_photos, kept, picture
from tests.browser.test_hand_over import faults_of
from tests.browser.walking import Shop, at, choose, write

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]
WHY: Final = {"where": "knobs", "expected": "one of four", "came": "five", "remedy": "Ask why."}
REFUSED: Final = "Ask why."
OTHER: Final = "Never arrived"
SENT: Final = "**/api/inspections/**"
SCHEMES: Final[tuple[Literal["light", "dark"], ...]] = ("light", "dark")
_ASIDE: Final = """() => new Promise((done) => {
  const opening = indexedDB.open('quickcheck-organizer');
  opening.onsuccess = () => {
    const asked = opening.result.transaction('inspections').objectStore('inspections').getAll();
    asked.onsuccess = () => { opening.result.close(); done(asked.result.map(({ draft }) => draft.document.name)); };
  };
})"""


@pytest.fixture(name="shop", scope="module")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = show_shop(tmp_path_factory.mktemp("show"))
    with shop.server:
        yield shop


@pytest.fixture(name="page")
def _page(new_context: NewContext, shop: Shop) -> Page:
    """Return the page of a kiosk whose visit has just begun."""
    context = new_context(**SCREEN, accept_downloads=True)
    context.add_cookies([{"name": "device", "value": paired(shop), "url": shop.server.url}])
    page = context.new_page()
    show(page, shop.server.url)
    return page


def refuse(route: Route) -> None:
    """Answer as a server does that can never take it."""
    if route.request.method != "PUT":
        route.continue_()
        return
    route.fulfill(
        status=422,
        content_type="application/json",
        body=json.dumps({"error": "faults", "faults": [WHY]}),
    )


def look_and_leave(page: Page, shop: Shop) -> str:
    """Be the person before: nothing of an answer, its note, a photo and another claim is taken; go."""
    path = begin(page, shop.server.url, name=NAME, serial_text=SERIAL)
    page.route(SENT, refuse)
    show(page, f"{shop.server.url}{path}?at=knobs")
    choose(at(page, "knobs"), "knobs", "wood", thumb=False)
    write(at(page, "knobs"), 'textarea[name="knobs.note"]', NOTE, thumb=False)
    choose_photos(page, "knobs", picture())
    expect(page.locator(".photos img:visible")).to_have_count(1)
    begin(page, shop.server.url, name=OTHER)
    finish(page, "Keep it in the book")
    page.unroute(SENT)
    return path


def unlock(page: Page, shop: Shop) -> Locator:
    """Be the organizer at this machine; return what was put aside on it."""
    show(page, f"{shop.server.url}/organizer")
    assert page.locator("#put-aside").count() == 0
    page.get_by_label("Passphrase").fill(SECRET[0])
    page.get_by_role("button", name="Unlock").click()
    page.get_by_role("link", name="Passphrase and PIN").click()
    mine(page)
    return page.locator("#put-aside")


def hears(page: Page, shop: Shop, *expected: int) -> None:
    """Wait until the kiosk told: so many not sent, never arrived; and none is missing by the count."""
    found: tuple[int | None, ...] = ()
    for _ in range(200):
        with open_store(shop.server.data / "book.sqlite3") as store:
            device = store.devices.list()[0]
            (counted,) = (each for each in store.tallies.counted() if each.device == device.id)
        assert counted.tally
        found = (device.unsent, counted.tally.waiting, counted.missing)
        if found == (*expected, 0):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"it told {found}")


def here(page: Page) -> tuple[list[str], int, int]:
    """Return the names of what is put aside in this browser; how many drafts, how many photos."""
    return sorted(page.evaluate(_ASIDE)), len(drafts(page)), len(kept(page))


def press(section: Locator, name: str, button: str) -> None:
    """Press a button of an inspection that was put aside."""
    section.locator("li", has_text=name).get_by_role("button", name=button).click()


def no_page_tells(page: Page, url: str, path: str) -> None:
    """Look at the next visit's pages, and where a script or the browser's tools would."""
    for address in ("/", "/references", "/organizer", path, f"{path}/verdict"):
        page.goto(url + address)
        page.wait_for_timeout(200)
        found = page.evaluate("document.documentElement.outerHTML + JSON.stringify(localStorage)")
        assert not [each for each in (NAME, SERIAL, NOTE, OTHER) if each in found], address


def test_sent_by_the_organizer(page: Page, shop: Shop) -> None:
    """The next person sees nothing; refused again it stays; taken, it is in the book and gone here."""
    path = look_and_leave(page, shop)
    no_page_tells(page, shop.server.url, path)
    assert here(page) == ([NAME, OTHER], 0, 0)
    hears(page, shop, 2, 1)
    page.route(SENT, refuse)
    section = unlock(page, shop)
    row = section.locator("li", has_text=NAME)
    expect(row).to_contain_text(f"serial {SERIAL} · claimed Jan–Apr 1953 · 1 answered · 1 photo")
    press(section, NAME, "Send it")
    expect(section.get_by_role("status")).to_contain_text(f"{NAME} stays put aside.")
    expect(row.locator(".faults")).to_contain_text("The server refused it: knobs")
    assert here(page) == ([NAME, OTHER], 0, 0)
    page.unroute(SENT)
    for name in (NAME, OTHER):
        press(section, name, "Send it")
        expect(section.get_by_role("status")).to_contain_text(f"{name} is in the book")
        expect(section.locator("li", has_text=name)).to_have_count(0)
    document = shop.document(path)
    assert document["answers"]["knobs"] == {"seen": "wood", "note": NOTE}
    assert set(document["photos"]["knobs"]) <= set(arrived(shop))
    assert OTHER in named(shop)
    assert here(page) == ([], 0, 0)
    hears(page, shop, 0, 0)


def test_broken_off(page: Page, shop: Shop) -> None:
    """A page that goes while it sends leaves the inspection put aside, with its photo, as it was."""
    path = look_and_leave(page, shop)
    section = unlock(page, shop)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route(SENT, hold)
    press(section, NAME, "Send it")
    while not held:
        page.wait_for_timeout(50)
    assert here(page) == ([NAME, OTHER], 1, 1)
    page.unroute(SENT)
    page.route(SENT, refuse)
    show(page, f"{shop.server.url}/organizer")
    expect(section.locator("li", has_text=NAME).get_by_role("link")).to_have_count(2)
    page.unroute(SENT)
    press(section, NAME, "Send it")
    expect(section.get_by_role("status")).to_contain_text(f"{NAME} is in the book")
    assert here(page) == ([OTHER], 0, 0)
    assert shop.document(path)["photos"]["knobs"]


def test_a_dealers_browser_becomes_a_kiosk(new_context: NewContext, shop: Shop) -> None:
    """Paired by hand, the start page is there at once; what was in that browser, nobody finds."""
    context = new_context(**SCREEN, service_workers="block")
    token = paired(shop, Role.DEALER)
    context.add_cookies([{"name": "device", "value": token, "url": shop.server.url}])
    page = context.new_page()
    page.route(SENT, refuse)
    begin(page, shop.server.url, name=OTHER)
    with open_store(shop.server.data / "book.sqlite3") as store:
        code = store.access.offer(Role.KIOSK, THIS_BOOK, now=datetime.now(UTC))
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{shop.server.url}/pair")
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Pair").click()
    mine(page)
    assert not [address for address in asked if address.endswith("/hand-over")]
    assert here(page) == ([OTHER], 0, 0)


@pytest.mark.checkout
def test_taken_along_and_removed(page: Page, shop: Shop) -> None:
    """A file holds the document, one the photo; it goes only after a question; axe finds nothing."""
    look_and_leave(page, shop)
    section = unlock(page, shop)
    links = section.locator("li", has_text=NAME).get_by_role("link")
    document = json.loads(downloaded(page, links.nth(0)))
    assert (document["name"], document["answers"]["knobs"]["note"]) == (NAME, NOTE)
    photo = sha256(downloaded(page, links.nth(1))).hexdigest()
    assert document["photos"] == {"knobs": [photo]}
    page.set_viewport_size({"width": 320, "height": 640})
    found = []
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        found += faults_of(page)
    assert page.evaluate("document.scrollingElement.scrollWidth") == 320
    press(section, OTHER, "Remove it")
    expect(section.get_by_role("dialog")).to_contain_text(f"{OTHER} is in no server’s book.")
    assert not found + faults_of(page)
    page.get_by_role("button", name="Leave it here").click()
    expect(section.get_by_role("button", name=f"Send it {OTHER}")).to_be_enabled()
    assert here(page) == ([NAME, OTHER], 0, 0)
    press(section, OTHER, "Remove it")
    section.get_by_role("dialog").get_by_role("button", name="Remove it").click()
    expect(section.locator("li", has_text=OTHER)).to_have_count(0)
    assert here(page) == ([NAME], 0, 0)


def downloaded(page: Page, link: Locator) -> bytes:
    """Press a link and return the file that it gives."""
    with page.expect_download() as download:
        link.click()
    return download.value.path().read_bytes()
