"""A kiosk in a real browser: who is idle, who is asked, what is saved when the power goes."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, BrowserType, Page, expect

from quickcheck.desk import DISCARDED
from tests.browser.handset import PATIENCE
from tests.browser.kiosk import (
    SCREEN,
    Kiosk,
    begin,
    finish,
    named,
    next_turn,
    paired,
    show,
    show_shop,
)
from tests.browser.pages import npm_file
from tests.browser.test_accessibility import _AXE, _TAGS
from tests.browser.walking import Shop, at, unfold

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]
HOUR = 3600  # seconds
STILL_HERE = "#still-here[open]"


@pytest.fixture(name="shop", scope="module")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = show_shop(tmp_path_factory.mktemp("show"))
    with shop.server:
        yield shop


@pytest.fixture(name="page")
def _page(new_context: NewContext, shop: Shop) -> Page:
    """Return the page of a kiosk whose visit has just begun, and whose clock can be put forward."""
    context = new_context(**SCREEN)
    context.add_cookies([{"name": "device", "value": paired(shop), "url": shop.server.url}])
    page = context.new_page()
    page.clock.install()
    show(page, shop.server.url)
    return page


def visit_of(page: Page) -> str:
    """Return the mark of the visit that a page is of."""
    return str(page.evaluate("document.documentElement.dataset.visit"))


def type_note(page: Page, text: str, **more: Any) -> None:
    """Type at the point on the screen and stay in the field."""
    field = 'textarea[name="knobs.note"]'
    box = at(page, "knobs")
    unfold(box, field, thumb=False)
    box.locator(field).press_sequentially(text, **more)


def test_a_verdict_is_handed_over_after_ninety_seconds(page: Page, shop: Shop) -> None:
    """After a minute it is asked whether somebody is there; who is, goes on; who is not, is gone."""
    path = begin(page, shop.server.url, name="For ninety seconds")
    show(page, f"{shop.server.url}{path}/verdict")
    before = visit_of(page)
    page.clock.run_for(55_000)
    expect(page.locator(STILL_HERE)).to_have_count(0)
    page.clock.run_for(10_000)
    expect(page.locator(STILL_HERE)).to_be_visible()
    page.get_by_role("button", name="Yes, go on").click()
    expect(page.locator(STILL_HERE)).to_have_count(0)
    page.clock.run_for(55_000)
    expect(page.locator(STILL_HERE)).to_have_count(0)
    assert visit_of(page) == before
    page.clock.run_for(36_000)
    next_turn(page, before)
    assert "For ninety seconds" not in page.content()


def test_an_inspection_waits_ten_minutes_and_is_saved(page: Page, shop: Shop) -> None:
    """Both hands may be inside: ten minutes; then what was half typed is in the book, too."""
    path = begin(page, shop.server.url, name="For ten minutes")
    show(page, f"{shop.server.url}{path}?at=knobs")
    before = visit_of(page)
    type_note(page, "a loose bea")
    page.clock.run_for(560_000)
    expect(page.locator(STILL_HERE)).to_have_count(0)
    page.clock.run_for(15_000)
    expect(page.locator(STILL_HERE)).to_be_visible()
    page.clock.run_for(23_000)  # the rest by itself: a disk writes no faster in a clock put forward
    next_turn(page, before)
    assert named(shop)["For ten minutes"].document["answers"]["knobs"]["note"] == "a loose bea"


def test_a_machine_that_slept(page: Page, shop: Shop) -> None:
    """After sleep, in which no timer ran, the first tap is the next person's."""
    path = begin(page, shop.server.url, name="Asleep")
    show(page, f"{shop.server.url}{path}?at=knobs")
    before = visit_of(page)
    page.clock.pause_at(page.evaluate("Date.now()") / 1000 + 1)
    page.clock.set_system_time(page.evaluate("Date.now()") / 1000 + HOUR)
    page.mouse.click(5, 700)
    page.clock.resume()
    next_turn(page, before)
    assert "Asleep" in named(shop)


def test_a_clock_that_was_put_back(page: Page, shop: Shop) -> None:
    """A clock that goes back an hour makes nobody wait an hour more."""
    before = visit_of(page)
    page.clock.set_system_time(page.evaluate("Date.now()") / 1000 - HOUR)
    page.clock.run_for(2_000)
    page.clock.run_for(95_000)
    next_turn(page, before)


def test_it_is_asked_before_anything_goes(page: Page, shop: Shop) -> None:
    """Go on: nothing happened. Discard: the book has an empty inspection in its place."""
    path = begin(page, shop.server.url, name="To be thrown away")
    show(page, f"{shop.server.url}{path}/verdict")
    before = visit_of(page)
    page.get_by_role("button", name="Finished: next person").click()
    page.get_by_role("button", name="Go on here").click()
    assert visit_of(page) == before
    assert "To be thrown away" in page.content()
    finish(page, "Discard it")
    books = named(shop)
    assert "To be thrown away" not in books
    assert books[DISCARDED].document["answers"] == {}


def test_a_server_that_does_not_answer(page: Page, shop: Shop) -> None:
    """The page says no more than that, keeps what is here, and goes on by itself."""
    path = begin(page, shop.server.url, name="Without a server")
    show(page, f"{shop.server.url}{path}?at=knobs")
    before = visit_of(page)
    shop.server.stop()
    type_note(page, "typed without it")
    page.get_by_role("button", name="Finished: next person").click()
    expect(page.locator("p.waiting")).to_have_count(1, timeout=PATIENCE)
    assert "Without a server" not in page.locator("body").inner_html()
    shop.server.start()
    next_turn(page, before)  # a try every two seconds
    note = named(shop)["Without a server"].document["answers"]["knobs"]["note"]
    assert note == "typed without it"


def test_a_power_cut_loses_half_a_second(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], shop: Shop, tmp_path: Path
) -> None:
    """Killed while somebody types on and on, all but the last 500 ms is in the book afterwards."""
    with Kiosk(browser_type, browser_type_launch_args, tmp_path / "profile") as kiosk:
        kiosk.start(shop)
        kiosk.close()  # which writes the cookie; the one that comes next is lost with the power
        page = kiosk.go_on()
        show(page, shop.server.url)
        path = begin(page, shop.server.url, name="Power cut")
        show(page, f"{shop.server.url}{path}?at=knobs")
        page.evaluate("""() => {
          globalThis.typed = [];
          document.addEventListener('input', (event) => typed.push([Date.now(), event.target.value]));
        }""")
        type_note(page, "0123456789" * 4, delay=60)
        typed, now = page.evaluate("[typed, Date.now()]")
        kiosk.kill()
        certain = [text for at_time, text in typed if at_time <= now - 500]
        page = kiosk.go_on()
        show(page, shop.server.url)
        note = named(shop)["Power cut"].document["answers"]["knobs"]["note"]
    assert certain, "nothing was typed long enough ago"
    assert certain[-1] in note


@pytest.mark.checkout
@pytest.mark.parametrize(("scheme", "width"), [("dark", 320), ("light", 1366)])
def test_axe_finds_nothing(page: Page, shop: Shop, scheme: Any, width: int) -> None:
    """What a kiosk asks breaks no rule of WCAG 2.2 AA that a program can check, and fits."""
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": width, "height": 640})
    path = begin(page, shop.server.url)
    show(page, f"{shop.server.url}{path}/verdict")
    page.clock.run_for(65_000)
    expect(page.locator(STILL_HERE)).to_be_visible()
    found = faults_of(page)
    page.get_by_role("button", name="Yes, go on").click()
    page.get_by_role("button", name="Finished: next person").click()
    expect(page.locator("#keep[open]")).to_be_visible()
    found += faults_of(page)
    assert not found, "\n".join(found)
    assert page.evaluate("document.scrollingElement.scrollWidth") == width


def faults_of(page: Page) -> list[str]:
    """Return what axe finds on a page as it stands."""
    page.evaluate(npm_file("axe-core/axe.min.js").read_text(encoding="utf-8"))
    return list(page.evaluate(_AXE, _TAGS))
