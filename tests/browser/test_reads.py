"""A date code is told in words while it is typed, also where no server answers."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from playwright.sync_api import BrowserType, Locator, Page, expect

from quickcheck.readings import SCHEMES, read_code, read_text
from tests.browser.handset import Handset, claim, keep, the_rest
from tests.browser.walking import Shop, at, ready

pytestmark = pytest.mark.browser
POINT = "volume-pot"
_PLAIN = "(told) => told.innerHTML.replace(/>\\s+|\\s+</g, (gap) => gap.trim()).trim()"


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop.on(tmp_path / "shop")
    with shop.server:
        yield shop


@pytest.fixture(name="page")
def _page(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], tmp_path: Path, shop: Shop
) -> Iterator[Page]:
    with Handset(browser_type, browser_type_launch_args, tmp_path / "profile") as handset:
        page = handset.open()
        keep(page, shop.server.url)
        path = claim(page)
        page.goto(f"{shop.server.url}{path}?at={POINT}")
        ready(page)
        yield page


def field_and_words(page: Page) -> tuple[Locator, Locator]:
    """Return the field of the date code, and the words under it."""
    point = at(page, POINT)
    return point.locator(".entry input"), point.locator("[data-scheme]")


def test_words_follow_the_typing_without_a_server(shop: Shop, page: Page) -> None:
    """Nothing until the code is whole, then its week and what that bounds, then nothing again."""
    shop.server.kill()
    field, words = field_and_words(page)
    field.press_sequentially("52-4")
    expect(words).to_have_text("")
    field.press_sequentially("8")
    expect(words).to_have_text(
        "Week 48 of 1952: the part is no older than 23 Nov 1952. "
        "This bounds the part, never the instrument."
    )
    assert words.inner_text() == read_code("year-week", "52-48").says
    field.press_sequentially("9")
    expect(words).to_have_text("")


def test_words_are_there_when_the_point_is_opened_again(shop: Shop, page: Page) -> None:
    """A code that was given before is told at once."""
    field, words = field_and_words(page)
    field.fill("52-48")
    field.blur()
    expect(page.locator("#strip .saved")).to_have_attribute("data-saved", "server")
    page.reload()
    ready(page)
    expect(words).to_have_text(read_code("year-week", "52-48").says)
    expect(field).to_have_value("52-48")


def test_every_reading_is_made_on_the_phone(shop: Shop, page: Page) -> None:
    """The page opens with the server dead and says of each scheme what the server's page says.

    Links to examples and the form's own button work too.
    """
    the_rest(page)
    there = {name: _told_by_the_server(page, shop, name) for name in SCHEMES}
    shop.server.kill()
    told, field = page.locator("#told"), page.locator("#text")
    page.goto(f"{shop.server.url}/read?scheme=mark&text=W.+Germany")
    ready(page)
    expect(told.locator(".reads")).to_have_text(read_text("mark", "W. Germany").says)
    for name, scheme in SCHEMES.items():
        page.locator("#scheme").select_option(name)
        field.fill(scheme.example)
        expect(told.locator(".reads")).to_have_text(read_text(name, scheme.example).says)
        assert told.evaluate(_PLAIN) == there[name]
    field.fill("3.5")
    expect(told.locator(".fault")).to_contain_text("Write g, kg, oz or lb after the number.")
    field.fill(" ")
    expect(told).to_be_empty()
    page.goto(f"{shop.server.url}/read?scheme=none")
    ready(page)
    expect(page.locator("#scheme")).to_have_value("year-week")
    page.get_by_role("link", name="US patent number").tap()
    expect(page.locator("#told .reads")).to_contain_text("patent 2,524,035")
    page.locator("#text").fill("DES. 156,686")
    page.get_by_role("button", name="Read").tap()
    expect(page.locator("#told .reads")).to_contain_text("design patent 156,686")
    assert page.url.endswith("?scheme=patent-us&text=DES.+156%2C686")


def _told_by_the_server(page: Page, shop: Shop, scheme: str) -> str:
    query = urlencode({"scheme": scheme, "text": SCHEMES[scheme].example})
    text = shop.server.get(f"/read?{query}").text
    told: str = page.evaluate(
        "([text, plain]) => eval(plain)(new DOMParser().parseFromString(text, 'text/html').getElementById('told'))",
        [text, _PLAIN],
    )
    return told
