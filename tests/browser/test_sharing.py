"""Passing a card on from the dealer's phone: the system's sheet, and what there is without one."""

import io
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import BrowserType, Page, expect

from quickcheck.card import data_of
from tests.browser.handset import Handset, claim, keep
from tests.browser.test_card_code import codes
from tests.browser.test_device import card_on, one_answer
from tests.browser.walking import Shop, ready

pytestmark = pytest.mark.browser

SHEET = """
window.shared = [];
navigator.canShare = (what) => !what.files || what.files.every((file) => file.type === 'image/png');
navigator.share = async (what) => {
  const [file] = what.files ?? [];
  window.shared.push({
    url: what.url, title: what.title, name: file?.name,
    bytes: file ? [...new Uint8Array(await file.arrayBuffer())] : null,
  });
};
"""
"""A stand-in for the system's sheet, which no browser has without a person before it."""

TOO_LATE = """
window.asked = 0;
navigator.canShare = () => true;
navigator.share = async () => {
  window.asked += 1;
  if (window.asked === 1) throw new DOMException('', 'NotAllowedError');
};
"""
NO_SHEET = "delete Navigator.prototype.share; delete Navigator.prototype.canShare;"
NO_CLIPBOARD = NO_SHEET + "Object.defineProperty(navigator, 'clipboard', { value: undefined });"


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Any:
    shop = Shop.issuing(tmp_path / "shop")
    with shop.server:
        yield shop


def picture(page: Page, at: int = 0) -> Image.Image:
    """Return the picture that was put on the sheet."""
    return Image.open(io.BytesIO(bytes(page.evaluate("(at) => window.shared[at].bytes", at))))


def share(page: Page, act: str) -> None:
    """Tap one of the two ways to pass a card on."""
    page.locator(f'[data-share="{act}"]').first.tap()


@dataclass(frozen=True)
class Phone:
    """A phone whose server is dead, with a card that was made on it."""

    handset: Handset
    address: str  # of the card's page
    text: str  # of its code

    def card(self, script: str) -> tuple[Page, str]:
        """Open the card's page in a tab of its own; return it and the text of its code."""
        page = self.handset.another()
        page.add_init_script(script)
        page.goto(self.address)
        ready(page)
        expect(page.locator("article[data-seal]")).to_be_visible()
        return page, self.text


@pytest.fixture(name="phone", scope="module")
def _phone(
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Phone]:
    folder = tmp_path_factory.mktemp("sharing")
    shop = Shop.issuing(folder / "shop")
    made = Handset(browser_type, browser_type_launch_args, folder / "profile")
    with made as handset, shop.server:
        page = handset.open()
        keep(page, shop.server.url)
        path = claim(page, serial_text="No. 1388/b")
        one_answer(page, shop, path)
        shop.server.kill()
        text = card_on(page, shop, path)
        yield Phone(handset, page.url, text)


def issued(page: Page, shop: Shop) -> str:
    """Make a sealed card by the server's form, go to the list of cards, and return its address."""
    page.goto(shop.server.url)
    ready(page)
    path = claim(page, serial_text="1388")
    one_answer(page, shop, path)
    page.goto(f"{shop.server.url}{path}/card")
    ready(page)
    page.get_by_text("has no interest").tap()
    page.get_by_text("The owner agrees to a public").tap()
    page.get_by_role("button", name="Make the card").tap()
    expect(page.locator('article[data-seal="valid"], article[data-seal="sealed"]')).to_be_visible()
    page.goto(f"{shop.server.url}{path}/cards")
    ready(page)
    return str(page.locator("[data-sharing]").get_attribute("data-sharing"))


def test_picture_from_the_phone_alone(phone: Phone) -> None:
    """With the server dead the picture is drawn on the phone, and its code is that of the screen."""
    page, text = phone.card(SHEET)
    share(page, "picture")
    page.wait_for_function("() => window.shared.length === 1")
    drawn = picture(page)
    assert drawn.size == (1240, 874)
    assert codes(drawn.convert("L")) == [text]
    assert page.evaluate("window.shared[0].name") == "card-No-1388-b.png"


def test_link_from_the_phone_alone(phone: Phone) -> None:
    """What the sheet gets as a link is the address in the code, and no words of ours beside it."""
    page, text = phone.card(SHEET)
    share(page, "link")
    page.wait_for_function("() => window.shared.length === 1")
    assert page.evaluate("window.shared[0].url") == text


def test_sealed_card_from_the_list(handset: Handset, shop: Shop) -> None:
    """The list of an inspection's cards shares the server's picture of the sealed card."""
    page = handset.open()
    page.add_init_script(SHEET)
    address = issued(page, shop)
    share(page, "picture")
    page.wait_for_function("() => window.shared.length === 1")
    assert codes(picture(page).convert("L")) == [address]
    data_of(address.rpartition("/")[2])
    share(page, "link")
    page.wait_for_function("() => window.shared.length === 2")
    assert page.evaluate("window.shared[1].url") == address


def test_picture_that_does_not_come(handset: Handset, shop: Shop) -> None:
    """A hall's sign-in page in place of the picture is not shared; the page says what to do."""
    page = handset.open()
    page.add_init_script(SHEET)
    issued(page, shop)
    page.route("**/card.png", lambda route: route.fulfill(content_type="text/html", body="Sign in"))
    share(page, "picture")
    expect(page.locator("[data-sharing] [role=status]")).to_contain_text("did not come")
    assert page.evaluate("window.shared.length") == 0


def test_tap_was_too_long_ago(phone: Phone) -> None:
    """Where the browser wants a fresh tap, the picture stays ready for the next one."""
    page, _ = phone.card(TOO_LATE)
    share(page, "picture")
    said = page.locator("[data-sharing] [role=status]")
    expect(said).to_contain_text("Tap again")
    share(page, "picture")
    expect(said).to_be_empty()
    assert page.evaluate("window.asked") == 2


def test_without_a_sheet(phone: Phone) -> None:
    """The picture is saved as a file, and its code is that of the screen."""
    page, text = phone.card(NO_SHEET)
    with page.expect_download() as coming:
        share(page, "picture")
    saved = Path(coming.value.path())
    assert saved.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", saved.read_bytes()[16:24]) == (1240, 874)
    with Image.open(saved) as drawn:
        assert codes(drawn.convert("L")) == [text]


def test_without_a_sheet_the_address_is_copied(phone: Phone) -> None:
    """The address lies on the clipboard."""
    page, text = phone.card(NO_SHEET)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    share(page, "link")
    expect(page.locator("[data-sharing] [role=status]")).to_have_text("The address is copied.")
    assert page.evaluate("navigator.clipboard.readText()") == text


def test_without_sheet_and_clipboard(phone: Phone) -> None:
    """The address stands there to be copied by hand."""
    page, text = phone.card(NO_CLIPBOARD)
    share(page, "link")
    expect(page.get_by_label("Address of the card")).to_have_value(text)
