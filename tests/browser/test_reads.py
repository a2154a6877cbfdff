"""A date code is told in words while it is typed, also where no server answers."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserType, Locator, Page, expect

from quickcheck.readings import read_code
from tests.browser.handset import Handset, claim, keep
from tests.browser.walking import Shop, at, ready

pytestmark = pytest.mark.browser
POINT = "volume-pot"


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


def test_the_page_follows_the_typing(shop: Shop, page: Page) -> None:
    """Any scheme while the server answers; date codes without it."""
    page.goto(f"{shop.server.url}/read?scheme=patent-us")
    ready(page)
    told, field = page.locator("#told"), page.locator("#text")
    field.press_sequentially("2,524,035")
    expect(told).to_contain_text("US patent 2,524,035 was issued in 1950")
    field.fill("2,5")
    expect(told).to_contain_text("expected a number of 5 to 8 digits")
    shop.server.kill()
    field.fill("2,524,035")
    expect(told).to_have_text("The server does not answer: only whole date codes are read here.")
    page.locator("#scheme").select_option("year-week")
    field.fill("52-48")
    expect(told).to_have_text(read_code("year-week", "52-48").says)
