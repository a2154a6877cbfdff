"""The card on small paper: as large as it says, nothing cut off, its code read back from the print."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import BrowserContext, Page

from quickcheck.card import MARK_KINDS, MARK_PLACES, MODULE_MM, data_of, digits, symbol, unsealed
from quickcheck.reference.border import SHORT, SHORTEST
from quickcheck.store import KeyFiles, make_key, open_store
from quickcheck.web.cards import PAPERS
from tests.browser.walking import SITTING, Shop
from tests.web.answers_as_fields import fields
from tests.web.issuing import MADE

pytestmark = pytest.mark.browser
DPI = 300
MM = 25.4 / DPI
EDGE = 1.0  # millimetres that no printer's cutter leaves out
ISSUER = "Fettle & Daughter, Repairs and Valuations"
PLACE, KIND = (
    max(MARK_PLACES, key=lambda key: len(MARK_PLACES[key])),
    max(MARK_KINDS, key=lambda key: len(MARK_KINDS[key])),
)
SIZES = pytest.mark.parametrize("size", list(PAPERS))
_CUT = """() => [...document.querySelectorAll('.face')].filter(
  (face) => face.scrollHeight > face.clientHeight || face.scrollWidth > face.clientWidth).length"""
_SERIAL = "() => parseFloat(getComputedStyle(document.querySelector('.serial')).fontSize) * 0.75"


@dataclass(frozen=True)
class Cards:
    """A shop with an issuer's key, and cards of one inspection by what is special about them."""

    shop: Shop
    paths: dict[str, str]

    def address(self, name: str) -> str:
        """Return the address in the code of a card."""
        return self.shop.server.url + self.paths[name]


def _make(shop: Shop, serial: str, marks: int) -> str:
    path = shop.begin(serial_text=serial)
    for point in shop.reference.points:
        sent = shop.server.post(f"{path}/answer", fields(point, SITTING[point.id]))
        assert sent.status == 200, sent.text
    each = [("mark-place", PLACE), ("mark-kind", KIND), ("mark-mm", "123")]
    form = [("leave", "y"), ("interest", "selling-for-owner"), *each * marks]
    made = shop.server.post(f"{path}/card", form)
    assert made.status == 200, made.text
    return made.url.removeprefix(shop.server.url)


@pytest.fixture(name="cards", scope="module")
def _cards(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cards]:
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    with open_store(shop.server.data / "book.sqlite3") as store:
        make_key(store.keys, KeyFiles(shop.server.data / "keys"), issuer=ISSUER, now=MADE)
    with shop.server:
        paths = {"longest": _make(shop, "NW-1953/04-1388B", 2), "shortest": _make(shop, "7", 0)}
        bare = digits(unsealed(data_of(paths["longest"].removeprefix("/c/"))))
        taken = _make(shop, "1388", 1)
        listed = shop.server.get("/book").text
        inspection = re.findall(r'href="(/inspect/[0-9a-f-]{36})', listed)[0]
        card = re.findall(
            r'data-card="([a-z2-7]{16})"', shop.server.get(f"{inspection}/cards").text
        )
        ended = shop.server.post(f"{inspection}/cards/withdraw", {"card": card[0]})
        assert ended.status == 200, ended.text
        yield Cards(shop, paths | {"unsealed": f"/c/{bare}", "withdrawn": taken})


def printed(page: Page, cards: Cards, name: str, size: str) -> list[Image.Image]:
    """Open a card for a size of paper and return the sheets that come out of the printer."""
    page.emulate_media(media="print")
    page.goto(f"{cards.address(name)}/print/{size}")
    assert page.evaluate(_CUT) == 0, "something is cut off"
    document = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
    paper = PAPERS[size]
    for sheet in document:
        width, height = (points * 25.4 / 72 for points in sheet.get_size())
        assert (width, height) == pytest.approx((paper.width, paper.height), abs=0.2)
    sheets = [sheet.render(scale=DPI / 72).to_pil().convert("L") for sheet in document]
    document.close()
    return sheets


def margin(sheet: Image.Image) -> float:
    """Return how far the ink stays from the nearest edge, in millimetres."""
    box = sheet.point(lambda grey: 255 if grey < 160 else 0).getbbox()
    assert box, "nothing is printed"
    left, top, right, bottom = box
    return min(left, top, sheet.width - right, sheet.height - bottom) * MM


def module(found: zxingcpp.Barcode) -> float:
    """Return how large a module came out, in millimetres, by the corners of the symbol."""
    corners = found.position
    across = abs(corners.top_right.x - corners.top_left.x)
    return across * MM / symbol(found.text).size


@SIZES
@pytest.mark.parametrize("name", ["longest", "shortest", "unsealed"])
def test_read_back(context: BrowserContext, cards: Cards, size: str, name: str) -> None:
    """At its size, grey or pure black and white, both decoders read the address; nothing is cut off."""
    page = context.new_page()
    sheets = printed(page, cards, name, size)
    assert len(sheets) == (2 if size == "card" else 1)
    assert all(margin(sheet) >= EDGE for sheet in sheets), [margin(sheet) for sheet in sheets]
    for front in (sheets[0], sheets[0].point(lambda grey: 255 if grey > 127 else 0)):
        (found,) = zxingcpp.read_barcodes(front, formats=zxingcpp.BarcodeFormat.QRCode)
        assert found.text == cards.address(name)
        assert module(found) == pytest.approx(MODULE_MM, abs=0.01)
        # its older detector fails on one flawless symbol of this size in twelve, and these are random
        text, *_ = cv2.QRCodeDetectorAruco().detectAndDecode(np.asarray(front))
        assert text == cards.address(name)
    assert page.evaluate(_SERIAL) >= 14


@SIZES
def test_room_for_declared_materials(context: BrowserContext, cards: Cards, size: str) -> None:
    """The fullest card has room for the longer line about materials that somebody declared."""
    page = context.new_page()
    page.emulate_media(media="print")
    page.goto(f"{cards.address('longest')}/print/{size}")
    assert page.locator(".border").inner_text() == SHORTEST
    page.locator(".border").evaluate("(e, text) => { e.innerHTML = `<b>${text}</b>`; }", SHORT)
    assert page.evaluate(_CUT) == 0


@SIZES
def test_what_stands_on_it(context: BrowserContext, cards: Cards, size: str) -> None:
    """Serial, marks, verdict, claim, issuer and interest, domain and seal: on every size, in words."""
    page = context.new_page()
    page.goto(f"{cards.address('longest')}/print/{size}")
    words = page.locator("main").inner_text()
    for wanted in (
        "NW-1953/04-1388B",
        f"{MARK_KINDS[KIND]}, 123 mm: {MARK_PLACES[PLACE]}",
        "Match these with the instrument in your hands.",
        "Claimed",
        "Reads as",
        ISSUER,
        "The issuer is selling it for the owner.",
        "localhost:",
        "the seal says nothing about the instrument",
    ):
        assert wanted in words
    assert page.locator("script").count() == 0


@SIZES
def test_taken_back(context: BrowserContext, cards: Cards, size: str) -> None:
    """A card that was withdrawn is printed without a code, and says so larger than all else."""
    page = context.new_page()
    sheets = printed(page, cards, "withdrawn", size)
    assert len(sheets) == 1
    assert margin(sheets[0]) >= EDGE
    assert zxingcpp.read_barcodes(sheets[0]) == []
    assert page.locator("h2").inner_text() == "Taken back"
    assert "Do not rely on this card." in page.locator("main").inner_text()


def test_no_such_page(context: BrowserContext, cards: Cards) -> None:
    """A size that there is not, and a text that is no card, are refused plainly."""
    page = context.new_page()
    for path, status in ((f"{cards.paths['longest']}/print/a7", 404), ("/c/1234/print/card", 400)):
        reply = page.goto(cards.shop.server.url + path)
        assert reply
        assert reply.status == status
