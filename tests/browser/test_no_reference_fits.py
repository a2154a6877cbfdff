"""The reference for what no other fits: last on the start page, whatever is searched for, and offline."""

import re
import shutil
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.walking import PHONE, POPLIN, Shop, ready
from tests.by_markings import ID

pytestmark = pytest.mark.browser
PATIENCE = 20_000  # milliseconds


@pytest.fixture(name="shop")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    other = POPLIN.with_name("hobbinsley-corduroy")
    shutil.copytree(other, shop.server.data / "references" / other.name)
    with shop.server:
        yield shop


@pytest.fixture(name="phone")
def _phone(new_context: Callable[..., BrowserContext], shop: Shop) -> Page:
    """Return the start page on a phone that has the app."""
    page = new_context(**PHONE).new_page()
    page.goto(shop.server.url)
    for there in ("data-kept", 'data-shelf="up"'):
        expect(page.locator(f"html[{there}]")).to_have_count(1, timeout=PATIENCE)
    return page


def test_search_leaves_it_last(phone: Page) -> None:
    """Whatever is typed, it stays below what was found, and that nothing was found is still said."""
    shown = phone.locator("#references > li:visible")
    none = phone.locator("#references-none")
    for typed, count, said in (("", 3, False), ("poplin", 2, False), ("nobody’s", 1, True)):
        phone.locator("#find").fill(typed)
        expect(shown).to_have_count(count)
        expect(shown.last).to_contain_text("No reference for it?")
        expect(shown.last.locator("a b")).to_contain_text("Any US-made electric instrument")
        assert none.is_visible() == said


def test_kept_and_begun_without_a_network(phone: Page, shop: Shop) -> None:
    """It is fetched on request only; then an inspection by it begins with the server dead."""
    place = phone.locator(f'[data-offered="{ID}"]')
    expect(place.locator("button")).to_have_attribute("aria-pressed", "false")
    place.locator("button").tap()
    expect(place.locator("button")).to_have_attribute("aria-pressed", "true", timeout=PATIENCE)
    shop.server.kill()
    phone.goto(shop.server.url)
    row = phone.locator("#device-references li").last
    expect(row).to_contain_text("No reference for it?")
    row.locator("a").tap()
    ready(phone)
    phone.locator("label.chip", has=phone.locator('input[name="year"][value="1962"]')).tap()
    phone.locator("form.claim .go button").tap()
    expect(phone).to_have_url(re.compile("/inspect/[0-9a-f-]{36}$"), timeout=PATIENCE)
    expect(phone.locator('[data-point="declared-board"]')).to_be_attached()
