"""A card made on a phone without its server: sealed when the server is back, once."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import BrowserType, Page, expect

from quickcheck.card import SealState, data_of
from quickcheck.store import open_store
from tests.browser.handset import PATIENCE, Handset, claim, flush, keep
from tests.browser.test_card_code import codes
from tests.browser.test_device import card_on, one_answer
from tests.browser.walking import Shop, ready
from tests.web.issuing import ISSUER

pytestmark = pytest.mark.browser


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop.issuing(tmp_path / "shop")
    with shop.server:
        yield shop


def code_on(page: Page) -> str:
    """Return the text of the code on the screen."""
    (text,) = codes(Image.open(io.BytesIO(page.locator("svg.code").screenshot())))
    return text


def sealed_later(handset: Handset, shop: Shop) -> str:
    """Make a card while the server is dead, start it again, and return the sealed code."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page, serial_text="1388")
    one_answer(page, shop, path)
    shop.server.kill()
    unsealed = card_on(page, shop, path)
    article = page.locator("article[data-seal]")
    expect(article).to_have_attribute("data-seal", "unsealed")
    expect(page.locator("[data-sealing]")).to_contain_text("When the server can be reached")
    shop.server.start()
    flush(page)
    expect(article).to_have_attribute("data-seal", "sealed", timeout=PATIENCE)
    expect(page.locator(".seal")).to_contain_text(f"sealed by {ISSUER}")
    sealed = code_on(page)
    assert sealed != unsealed
    page.reload()
    ready(page)
    expect(article).to_have_attribute("data-seal", "sealed")
    assert code_on(page) == sealed
    page.get_by_role("link", name="Open the sealed card").tap()
    expect(page.locator(".seal")).to_contain_text("Text unchanged since issued")
    return sealed


def test_sealed_when_the_server_is_back(
    shop: Shop,
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
    tmp_path: Path,
) -> None:
    """The page says that it waits, then shows the sealed code; opened anew it is the same card."""
    with Handset(browser_type, browser_type_launch_args, tmp_path / "profile") as handset:
        sealed = sealed_later(handset, shop)
    with open_store(shop.server.data / "book.sqlite3") as store:
        seal = store.cards.check(data_of(sealed.rpartition("/")[2]))
        assert seal.state is SealState.SEALED
        assert store.cards.others("1388", but=seal.card or "") == ()
