"""A phone that is revoked at a show: what waits on it stays, is told, and goes out once it is paired."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import expect

from quickcheck.store import THIS_BOOK, Role, open_store
from tests.browser.handset import PATIENCE, Handset, claim, flush, keep
from tests.browser.test_device import one_answer
from tests.browser.walking import Shop
from tests.web.showing import PASSPHRASE, PIN

BOOK = "book.sqlite3"
pytestmark = pytest.mark.browser


def code(book: Path) -> str:
    """Return a code for a dealer's phone."""
    with open_store(book) as store:
        return store.access.offer(Role.DEALER, THIS_BOOK, now=datetime.now(UTC))


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop.issuing(tmp_path / "shop")
    with open_store(shop.server.data / BOOK) as store:
        store.access.set_up(PASSPHRASE, PIN, datetime.now(UTC))
    with shop.server:
        yield shop


def revoke_all(book: Path) -> None:
    """Let nobody in any more."""
    with open_store(book) as store:
        for device in store.access.devices():
            store.access.revoke(device.id, datetime.now(UTC))


def test_revoked_and_paired_again(handset: Handset, shop: Shop) -> None:
    """The phone goes on by itself, says "pair this device", and after that all is on the server."""
    page, book = handset.open(), shop.server.data / BOOK
    page.goto(f"{shop.server.url}/book")
    expect(page.get_by_role("heading", name="Pair this device")).to_be_visible()
    page.goto(f"{shop.server.url}/pair/{code(book)}")
    page.get_by_role("button", name="Pair this device").click()
    keep(page, shop.server.url)
    path = claim(page, serial_text="1388")
    flush(page)
    revoke_all(book)
    one_answer(page, shop, path)
    flush(page)
    unsent = page.locator("#unsent a")
    told = "1 only on this device · pair this device to send it"
    expect(unsent).to_have_text(told, timeout=PATIENCE)
    unsent.click()
    expect(page.locator("#device-book")).to_contain_text("1388")
    page.get_by_label("Code").fill(code(book))
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.locator("form.claim")).to_be_visible(timeout=PATIENCE)
    flush(page)
    expect(page.locator("#unsent")).to_be_hidden(timeout=PATIENCE)
    assert shop.answers(path) == {"knobs": {"seen": "wood"}}
