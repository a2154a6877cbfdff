"""A card on a phone, read by a kiosk's webcam and sealed there; and every way that needs no camera."""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserType, Page, expect

from quickcheck.card import SealState, data_of
from quickcheck.store import open_store
from tests.browser.handset import Handset, claim, keep
from tests.browser.test_device import HallServer, card_on, one_answer
from tests.browser.walking import Shop
from tests.browser.watching import Station, code_picture, film, hall, held_up, png, station

pytestmark = pytest.mark.browser
Open = Callable[..., AbstractContextManager[Station]]
DETECTOR = """globalThis.BarcodeDetector = class {{
  static async getSupportedFormats() {{ return ['qr_code']; }}
  async detect(picture) {{ {does} }}
}};"""


@dataclass(frozen=True)
class Shown:
    """A phone's page with an unsealed card: the station, the screen, the text of its code."""

    shop: Shop
    screen: bytes
    text: str

    @property
    def digits(self) -> str:
        """The digits of the card."""
        return self.text.rpartition("/")[2]


@pytest.fixture(name="shown", scope="module")
def _shown(
    tmp_path_factory: pytest.TempPathFactory,
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
) -> Iterator[Shown]:
    """Make a card on a phone without its server, and hold on to what the phone shows."""
    folder = tmp_path_factory.mktemp("scan")
    shop = Shop.issuing(folder / "shop")
    with shop.server:
        with Handset(browser_type, browser_type_launch_args, folder / "profile") as handset:
            page = handset.open()
            keep(page, shop.server.url)
            path = claim(page, serial_text="1388")
            one_answer(page, shop, path)
            shop.server.kill()
            text = card_on(page, shop, path)
            page.locator("svg.code").scroll_into_view_if_needed()
            screen = page.screenshot()
        shop.server.start()
        yield Shown(shop, screen, text)


@pytest.fixture(name="kiosk")
def _kiosk(browser_type: BrowserType, browser_type_launch_args: dict[str, Any]) -> Open:
    return partial(station, browser_type, browser_type_launch_args)


@pytest.fixture(name="feed")
def _feed(shown: Shown, tmp_path: Path) -> Path:
    """Return a film of the phone with its card, each frame a little otherwise."""
    frames = [held_up(shown.screen, tilt=6 + 3 * turn, seed=turn) for turn in range(4)]
    return film(tmp_path / "phone.y4m", frames)


def on_card(page: Page, shown: Shown) -> None:
    """Wait until the page of the phone's card is open on this station."""
    expect(page).to_have_url(f"{shown.shop.server.url}/c/{shown.digits}")
    expect(page.locator("article[data-seal]")).to_have_attribute("data-seal", "unsealed")


def test_from_the_phone_to_paper(shown: Shown, kiosk: Open, feed: Path) -> None:
    """The kiosk sees the phone, opens the card; two taps seal it, one more and the sheet is there."""
    with kiosk(camera=feed) as found:
        page = found.page
        page.goto(shown.shop.server.url + "/book")
        page.get_by_role("link", name="Read a card").click()
        page.get_by_role("button", name="Start the camera").click()
        on_card(page, shown)
        assert found.decoder_came(), "headless Chromium on Linux reads no codes of its own"
        page.get_by_text("The owner agrees").click()
        page.get_by_role("button", name="Judge again and seal").click()
        article = page.locator("article[data-seal]")
        expect(article).to_have_attribute("data-seal", "sealed")
        expect(page.locator(".seal")).to_contain_text("Text unchanged since issued")
        sealed = page.url.rpartition("/")[2]
        assert sealed != shown.digits
        page.get_by_role("link", name="Label of 62 mm").click()
        expect(page.locator("[data-seal]")).to_have_attribute("data-seal", "sealed")
        expect(page.locator("svg.code")).to_be_visible()
        page.get_by_role("link", name="Back to the card").click()
        page.get_by_role("link", name="Read a card").click()
        expect(page.get_by_role("button", name="Start the camera")).to_be_visible()
        assert found.complaints == []
    with open_store(shown.shop.server.data / "book.sqlite3") as store:
        assert store.cards.check(data_of(sealed)).state is SealState.SEALED
        assert len(store.cards.others("1388", but="")) == 1


def test_by_the_browsers_own_decoder(shown: Shown, kiosk: Open, tmp_path: Path) -> None:
    """Where a browser reads codes itself, what it reads counts, and ours is not even loaded."""
    does = f"return [{{ rawValue: '{shown.text}' }}];"
    empty = film(tmp_path / "hall.y4m", [hall()])
    with kiosk(camera=empty, script=DETECTOR.format(does=does)) as found:
        found.begin(shown.shop.server.url)
        on_card(found.page, shown)
        assert not found.decoder_came()


def test_where_the_browsers_own_fails(shown: Shown, kiosk: Open, feed: Path) -> None:
    """A decoder of the browser's that always fails is given up, and ours reads the card."""
    with kiosk(camera=feed, script=DETECTOR.format(does="throw new Error('no service');")) as found:
        found.begin(shown.shop.server.url)
        on_card(found.page, shown)
        assert found.decoder_came()


def test_a_code_of_something_else(shown: Shown, kiosk: Open, tmp_path: Path) -> None:
    """It is called what it is, leads nowhere, and the camera looks on."""
    menu = code_picture("https://elsewhere.example/menu")
    feed = film(tmp_path / "menu.y4m", [held_up(menu, wide=300, seed=turn) for turn in range(3)])
    with kiosk(camera=feed) as found:
        found.begin(shown.shop.server.url)
        found.says("a code, but not of a card. Looking on")
        found.page.wait_for_timeout(1500)
        assert found.page.url == f"{shown.shop.server.url}/scan"
        assert found.cameras_on() == 1
        assert not [address for address in found.asked if "elsewhere" in address]


def test_no_code(shown: Shown, kiosk: Open, tmp_path: Path) -> None:
    """After a while it is said what may help; "stop" puts the camera out and gives the start back."""
    with kiosk(camera=film(tmp_path / "hall.y4m", [hall(1), hall(2)])) as found:
        found.begin(shown.shop.server.url)
        found.says("Looking for a code")
        expect(found.page.locator("video")).to_be_visible()
        found.says("Hold it straight, nearer")
        assert found.cameras_on() == 1
        found.page.get_by_role("button", name="Stop the camera").click()
        found.says("The camera is off.")
        assert found.cameras_on() == 0
        expect(found.page.locator("video")).to_be_hidden()
        expect(found.page.get_by_role("button", name="Start the camera")).to_be_focused()
        assert found.complaints == []


@pytest.mark.parametrize("how", ["hidden", "left"])
def test_the_camera_is_put_out(shown: Shown, kiosk: Open, tmp_path: Path, how: str) -> None:
    """Behind another tab, and as the page is left, no camera is on."""
    leave = {
        "hidden": "Object.defineProperty(document, 'hidden', { value: true });"
        "document.dispatchEvent(new Event('visibilitychange'))",
        "left": "dispatchEvent(new Event('pagehide'))",
    }[how]
    with kiosk(camera=film(tmp_path / "hall.y4m", [hall()])) as found:
        found.begin(shown.shop.server.url)
        found.says("Looking for a code")
        assert found.cameras_on() == 1
        found.page.evaluate(leave)
        assert found.cameras_on() == 0
        expect(found.page.get_by_role("button", name="Start the camera")).to_be_visible()


def test_the_camera_goes_away(shown: Shown, kiosk: Open, tmp_path: Path) -> None:
    """A camera that is unplugged is told of, and can be started again."""
    with kiosk(camera=film(tmp_path / "hall.y4m", [hall()])) as found:
        found.begin(shown.shop.server.url)
        found.says("Looking for a code")
        found.page.evaluate("streams[0].getTracks()[0].stop()")
        found.says("The camera went away.")
        found.page.get_by_role("button", name="Start the camera").click()
        found.says("Looking for a code")
        assert found.cameras_on() == 1


def test_no_camera_before_a_tap(shown: Shown, kiosk: Open) -> None:
    """Opening the page asks for nothing: no camera, no decoder."""
    with kiosk() as found:
        found.page.goto(f"{shown.shop.server.url}/scan")
        expect(found.page.get_by_role("button", name="Start the camera")).to_be_visible()
        found.page.wait_for_load_state("networkidle")
        assert found.page.evaluate("streams.length") == 0
        assert not found.decoder_came()


def test_several_cameras(shown: Shown, kiosk: Open) -> None:
    """Where there are two they can be chosen among, and the one before is let go."""
    two = "--use-fake-device-for-media-stream=device-count=2"
    with kiosk(two, "--use-fake-ui-for-media-stream") as found:
        found.begin(shown.shop.server.url)
        choice = found.page.get_by_label("Camera", exact=True)
        expect(choice.locator("option")).to_have_count(2)
        before = choice.input_value()
        choice.select_option(index=1)
        expect(choice).not_to_have_value(before)
        found.says("Looking for a code")
        expect(found.page.locator("video")).to_be_visible()
        assert found.page.evaluate("streams.length") == 2
        assert found.cameras_on() == 1


def test_the_camera_is_refused(shown: Shown, kiosk: Open) -> None:
    """It is said that it was not allowed and what else there is; the address still opens the card."""
    with kiosk("--use-fake-device-for-media-stream") as found:
        found.begin(shown.shop.server.url)
        found.says("The camera was not allowed.")
        found.says("use a picture or the address")
        expect(found.page.get_by_role("button", name="Start the camera")).to_be_visible()
        found.page.get_by_label("The card’s address, or its digits").fill(shown.digits)
        found.page.get_by_role("button", name="Open the card").click()
        on_card(found.page, shown)


def test_there_is_no_camera(shown: Shown, kiosk: Open) -> None:
    """A machine without a camera is told so."""
    with kiosk(
        "--use-fake-device-for-media-stream=device-count=0", "--use-fake-ui-for-media-stream"
    ) as found:
        found.begin(shown.shop.server.url)
        found.says("No camera was found.")


def test_pictures(shown: Shown, kiosk: Open) -> None:
    """A screenshot and a photo are read on the page; what shows no card is told apart."""
    upload = {"name": "a.png", "mimeType": "image/png"}
    pictures = {
        "No code was found": png(hall()),
        "a code, but not of a card": code_picture("https://elsewhere.example/menu"),
        "can’t read that file as a picture": b"no picture",
    }
    with kiosk() as found:
        for screen in (shown.screen, png(held_up(shown.screen))):
            found.page.goto(f"{shown.shop.server.url}/scan")
            field = found.page.get_by_label("A photo or screenshot of the code")
            for words, content in pictures.items():
                field.set_input_files({**upload, "buffer": content})
                found.says(words)
            field.set_input_files({**upload, "buffer": screen})
            on_card(found.page, shown)
        assert not [address for address in found.asked if "picture" in address]


def test_a_card_of_another_server(shown: Shown, kiosk: Open) -> None:
    """Its host is named, nothing is fetched there, and one more tap opens the digits here."""
    text = f"https://cards.elsewhere.example/c/{shown.digits}"
    with kiosk() as found:
        found.page.goto(f"{shown.shop.server.url}/scan")
        found.page.get_by_label("A photo or screenshot").set_input_files(
            {"name": "a.png", "mimeType": "image/png", "buffer": code_picture(text)}
        )
        expect(found.page.locator("#elsewhere")).to_contain_text("cards.elsewhere.example")
        assert found.page.url == f"{shown.shop.server.url}/scan"
        go = found.page.locator("#elsewhere").get_by_role("link", name="Open the card here")
        expect(go).to_be_focused()
        go.click()
        on_card(found.page, shown)
        assert not [address for address in found.asked if "elsewhere" in address]


def test_without_scripts(shown: Shown, kiosk: Open) -> None:
    """The text is taken by the server, and so is a picture; no camera is spoken of as if there were one."""
    with kiosk(java_script_enabled=False) as found:
        page, url = found.page, f"{shown.shop.server.url}/scan"
        page.goto(url)
        expect(page.locator("noscript p").first).to_contain_text("The camera needs scripts")
        expect(page.get_by_role("button", name="Start the camera")).to_be_hidden()
        page.get_by_label("The card’s address, or its digits").fill("about a guitar")
        page.get_by_role("button", name="Open the card").click()
        expect(page.locator(".faults")).to_contain_text("about a guitar".replace(" ", ""))
        page.get_by_label("The card’s address, or its digits").fill(shown.text)
        page.get_by_role("button", name="Open the card").click()
        on_card(page, shown)
        page.goto(url)
        photo = {"name": "a.png", "mimeType": "image/png", "buffer": shown.screen}
        page.get_by_label("A photo or screenshot").set_input_files(photo)
        page.get_by_role("button", name="Read the picture").click()
        on_card(page, shown)


def test_on_a_plain_address(kiosk: Open, tmp_path: Path) -> None:
    """By plain http in a hall it is said why there is no camera; picture and address are offered."""
    shop = Shop.issuing(tmp_path / "shop")
    server = HallServer(shop.server.data, "serve")
    server.options = ("--base-url", server.url)
    mapped = "--host-resolver-rules=MAP hall.invalid 127.0.0.1"
    with server, kiosk(mapped) as found:
        found.page.goto(f"{server.url}/scan")
        found.says(f"only to pages at https or localhost addresses; this one is at {server.url}")
        expect(found.page.get_by_role("button", name="Start the camera")).to_be_hidden()
        field = found.page.get_by_label("A photo or screenshot")
        field.set_input_files(
            {"name": "a.png", "mimeType": "image/png", "buffer": code_picture(f"{server.url}/c/9")}
        )
        found.says("a code, but not of a card")
        found.page.get_by_label("The card’s address, or its digits").fill("12")
        found.page.get_by_role("button", name="Open the card").click()
        expect(found.page.locator(".faults")).to_contain_text(re.compile("the digits of a card"))
