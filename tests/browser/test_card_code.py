"""A card's code, read back from the screen and from paper."""

import io
import re
from collections.abc import Callable, Iterator
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.walking import PHONE, SITTING, Shop, press
from tests.web.answers_as_fields import fields

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]
DPI = 200  # of an ordinary phone camera over a sheet of paper, or worse


@pytest.fixture(name="shop", scope="module")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    with shop.server:
        yield shop


@pytest.fixture(name="inspection", scope="module")
def _inspection(shop: Shop) -> str:
    """Return the page of an inspection with every point answered."""
    path = shop.begin(serial_text="1388")
    for point in shop.reference.points:
        sent = shop.server.post(f"{path}/answer", fields(point, SITTING[point.id]))
        assert sent.status == 200, sent.text
    assert shop.answers(path) == SITTING
    return path


def codes(image: Image.Image) -> list[str]:
    """Return the texts of the QR codes in a picture."""
    found = zxingcpp.read_barcodes(image.convert("L"), formats=zxingcpp.BarcodeFormat.QRCode)
    return [code.text for code in found]


def make_card(page: Page, shop: Shop, inspection: str) -> str:
    """Make a card by thumb and return the address of its page."""
    page.goto(f"{shop.server.url}{inspection}/card")
    page.locator('select[name="mark-place"]').first.select_option("board-9")
    page.locator('select[name="mark-kind"]').first.select_option("burn")
    page.locator('input[name="mark-mm"]').first.fill("6")
    press(page.get_by_text("The issuer has no interest in it."), thumb=True)
    press(page.get_by_text("The owner agrees"), thumb=True)
    press(page.get_by_role("button", name="Make the card"), thumb=True)
    expect(page).to_have_url(re.compile(r"/c/[0-9]+$"))
    return page.url


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_read_from_the_screen(
    shop: Shop, inspection: str, new_context: NewContext, *, scheme: Any
) -> None:
    """The code on the screen, in light and dark, leads to the page, which says the same verdict."""
    page = new_context(**PHONE, color_scheme=scheme).new_page()
    page.goto(f"{shop.server.url}{inspection}/verdict")
    verdict = page.locator("[data-verdict]").first.get_attribute("data-verdict")
    address = make_card(page, shop, inspection)
    picture = page.locator("svg.code").screenshot()
    assert codes(Image.open(io.BytesIO(picture))) == [address]
    whole = page.screenshot(full_page=True)
    assert codes(Image.open(io.BytesIO(whole))) == [address]
    buyer = new_context(**PHONE).new_page()
    buyer.goto(codes(Image.open(io.BytesIO(picture)))[0])
    expect(buyer.locator("[data-seal]")).to_have_attribute("data-seal", "unsealed")
    expect(buyer.locator("[data-verdict]")).to_have_attribute("data-verdict", verdict or "")
    expect(buyer.locator(".serial")).to_have_text("1388")


@pytest.mark.parametrize("paper", ["A4", "Letter", "A6"])
def test_read_from_paper(
    shop: Shop, inspection: str, new_context: NewContext, *, paper: str
) -> None:
    """Printed, the code stands whole on one sheet and can be read back from it."""
    page = new_context(**PHONE).new_page()
    address = make_card(page, shop, inspection)
    document = pypdfium2.PdfDocument(page.pdf(format=paper))
    sheets = [sheet.render(scale=DPI / 72).to_pil() for sheet in document]
    found = [text for sheet in sheets for text in codes(sheet)]
    assert found == [address]
    assert codes(sheets[0]) == [address]
    text = document[0].get_textpage().get_text_range()
    assert "1388" in text
    document.close()
