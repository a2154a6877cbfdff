"""Photos on a phone: nothing in them but pixels, none lost, none sent twice, none in the way."""

import io
import json
from collections.abc import Callable, Iterator

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.pages import npm_file
from tests.browser.photographing import (
    GPS_MARK,
    arrived,
    choose_photos,
    is_named_by_its_hash,
    kept,
    picture,
    puts,
    thumbnails,
)
from tests.browser.walking import PHONE, Shop, answer, at, ready, saved

pytestmark = [pytest.mark.browser, pytest.mark.checkout]
NewContext = Callable[..., BrowserContext]
PATIENCE = 60_000  # milliseconds: a page sends again every thirty seconds
POINT = "knobs"


@pytest.fixture(name="shop")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    with shop.server:
        yield shop


@pytest.fixture(name="phone")
def _phone(new_context: NewContext) -> Page:
    return new_context(**PHONE).new_page()


def go(shop: Shop, phone: Page) -> str:
    """Begin an inspection, open a point of it and return its path."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at={POINT}")
    ready(phone)
    return path


def keep_app(shop: Shop, phone: Page) -> None:
    """Wait until the app is whole on the device."""
    phone.goto(shop.server.url)
    for mark in ("[data-kept]", '[data-shelf="up"]'):
        expect(phone.locator(f"html{mark}")).to_have_count(1, timeout=PATIENCE)


def focus(phone: Page) -> None:
    """Come back to the app: a reason to try sending again."""
    phone.evaluate("dispatchEvent(new Event('focus'))")


def drawn(phone: Page, count: int, point: str = POINT) -> None:
    """Wait until a point shows that many photos, each of them drawn."""
    expect(thumbnails(phone, point)).to_have_count(count)
    for each in thumbnails(phone, point).all():
        expect(each).to_have_js_property("complete", True)
        assert each.evaluate("image => image.naturalWidth") > 0


def all_sent(phone: Page) -> None:
    """Wait until nothing on the page, no photo either, is on the device only."""
    expect(phone.locator(".photos small:not(.refused)")).to_have_count(0)
    saved(phone)


def test_nothing_but_pixels(shop: Shop, phone: Page) -> None:
    """What is kept is a JPEG of at most 2048 pixels a side, upright, that tells no place."""
    path = go(shop, phone)
    given = picture(size=(3000, 1000), noise=True)
    assert GPS_MARK in given
    choose_photos(phone, POINT, given, button="Take a photo")
    drawn(phone, 1)
    all_sent(phone)
    [record] = kept(phone)
    assert record["kind"] == "ArrayBuffer"
    assert is_named_by_its_hash(record)
    assert (record["type"], record["point"]) == ("image/jpeg", POINT)
    assert record["inspection"] in path
    assert GPS_MARK not in record["bytes"]
    assert b"Exif" not in record["bytes"]
    image = Image.open(io.BytesIO(record["bytes"]))
    assert (image.format, image.size, dict(image.getexif())) == ("JPEG", (683, 2048), {})
    assert shop.document(path)["photos"] == {POINT: [record["sha256"]]}
    assert Image.open(io.BytesIO(arrived(shop)[record["sha256"]].content)).size == (683, 2048)


def test_server_dead(shop: Shop, phone: Page) -> None:
    """Taken without a server it is there after a reload, and arrives once when the server is back."""
    keep_app(shop, phone)
    path = go(shop, phone)
    all_sent(phone)
    shop.server.kill()
    sent = puts(phone)
    choose_photos(phone, POINT, picture())
    drawn(phone, 1)
    expect(phone.locator(".photos small")).to_have_text("not yet on the server")
    phone.reload()
    ready(phone)
    drawn(phone, 1)
    expect(phone.locator("[data-unsent]")).to_have_text(
        "1 only on this device · 1 photo only on this device"
    )
    assert sent == []  # its inspection goes first
    shop.server.start()
    focus(phone)
    all_sent(phone)
    [record] = kept(phone)
    assert sent == [record["sha256"]]
    assert list(arrived(shop)) == [record["sha256"]]
    assert shop.document(path)["photos"] == {POINT: [record["sha256"]]}


def test_sent_once(shop: Shop, phone: Page) -> None:
    """What has arrived is not sent again, neither later nor by a page that is loaded again."""
    go(shop, phone)
    sent = puts(phone)
    choose_photos(phone, POINT, picture())
    drawn(phone, 1)
    all_sent(phone)
    focus(phone)
    phone.wait_for_timeout(500)
    phone.reload()
    ready(phone)
    drawn(phone, 1)
    all_sent(phone)
    assert len(sent) == 1
    assert sent == list(arrived(shop))


def test_two_at_once(shop: Shop, phone: Page) -> None:
    """Of photos that are added in the same moment, and an answer among them, all are kept."""
    path = go(shop, phone)
    rounds = 10
    for number in range(rounds):
        given = [list(picture(shade)) for shade in (number * 2 + 1, number * 2 + 2)]
        phone.evaluate(
            """([one, other]) => {
              for (const [id, bytes] of [['take-photo', one], ['choose-photo', other]]) {
                const files = new DataTransfer();
                files.items.add(new File([new Uint8Array(bytes)], 'a.jpg', { type: 'image/jpeg' }));
                const input = document.getElementById(id);
                input.files = files.files;
                input.dispatchEvent(new Event('change'));
              }
            }""",
            given,
        ) if number else choose_photos(phone, POINT, picture(1), picture(2))
        answer(
            phone, shop.reference.by_id[POINT], {"seen": ["wood", "cream"][number % 2]}, thumb=True
        )
        expect(thumbnails(phone, POINT)).to_have_count(2 * number + 2)
    all_sent(phone)
    names = shop.document(path)["photos"][POINT]
    assert len(set(names)) == 2 * rounds
    assert set(arrived(shop)) == set(names)
    assert {record["sha256"] for record in kept(phone)} == set(names)
    assert shop.answers(path) == {POINT: {"seen": "cream"}}


def test_the_same_twice(shop: Shop, phone: Page) -> None:
    """A photo that is chosen again at the point is one photo; at another point it is sent no more."""
    path = go(shop, phone)
    sent = puts(phone)
    choose_photos(phone, POINT, picture(), picture())
    drawn(phone, 1)
    all_sent(phone)
    phone.goto(f"{shop.server.url}{path}?at=nut")
    ready(phone)
    choose_photos(phone, "nut", picture())
    drawn(phone, 1, "nut")
    all_sent(phone)
    [record] = kept(phone)
    name = record["sha256"]
    assert shop.document(path)["photos"] == {POINT: [name], "nut": [name]}
    assert sent == [name]


def test_removed_and_brought_back(shop: Shop, phone: Page) -> None:
    """A photo that is removed comes back by "undo", bytes and all; else its bytes go."""
    path = go(shop, phone)
    choose_photos(phone, POINT, picture())
    drawn(phone, 1)
    at(phone, POINT).get_by_role("button", name="Remove").tap()
    drawn(phone, 0)
    expect(phone.locator(".photos .add button:focus")).to_have_count(1)
    phone.get_by_role("button", name="Undo").tap()
    drawn(phone, 1)
    at(phone, POINT)
    at(phone, POINT).get_by_role("button", name="Remove").tap()
    drawn(phone, 0)
    all_sent(phone)
    assert "photos" not in shop.document(path)
    assert len(kept(phone)) == 1


def test_no_room(shop: Shop, phone: Page) -> None:
    """Where a photo finds no room, the page says so, and the answers are still saved and sent."""
    session = phone.context.new_cdp_session(phone)
    limit = {"origin": f"{shop.server.url}/", "quotaSize": 4_500_000}
    # before the database is opened: Chromium remembers for a while how much room there was
    session.send("Storage.overrideQuotaForOrigin", limit)
    path = go(shop, phone)
    all_sent(phone)
    said = at(phone, POINT).locator(".photos [role=status]")
    for side in (1200, 600, 300):  # each smaller one finds what room the larger ones left
        for more in range(12):
            before = thumbnails(phone, POINT).count()
            choose_photos(phone, POINT, picture(size=(side + more, side), noise=True))
            shown = thumbnails(phone, POINT).nth(before).or_(said.filter(has_text="not saved"))
            expect(shown.first).to_be_visible(timeout=PATIENCE)
            if "not saved" in (said.text_content() or ""):
                break
        expect(said).to_contain_text("no room left for it. The answers are saved")
    for variant in ("wood", "cream", "black", "wood"):
        answer(phone, shop.reference.by_id[POINT], {"seen": variant}, thumb=True)
    answer(phone, shop.reference.by_id[POINT], {"note": "one cracked"}, thumb=True)
    phone.keyboard.press("Tab")
    expect(phone.locator("#strip .count")).to_contain_text("1 of 26")
    all_sent(phone)
    assert shop.answers(path) == {POINT: {"seen": "wood", "note": "one cracked"}}
    names = shop.document(path).get("photos", {}).get(POINT, [])
    assert {record["sha256"] for record in kept(phone)} == set(names)
    expect(thumbnails(phone, POINT)).to_have_count(len(names))


@pytest.mark.parametrize("status", [413, 422])
def test_refused(shop: Shop, phone: Page, status: int) -> None:
    """A photo that the server refuses is shown with the reason; the one behind it arrives."""
    path = go(shop, phone)
    first: list[str] = []

    def refuse(route: Route) -> None:
        name = route.request.url[-64:]
        first.append(name)
        if name != first[0]:
            route.continue_()
            return
        fault = {"where": "photo", "expected": "one", "came": "none", "remedy": "Take it again."}
        route.fulfill(
            status=status,
            content_type="application/json",
            body=json.dumps({"error": "photo", "faults": [fault]}),
        )

    phone.route("**/api/inspections/*/photos/*", refuse)
    choose_photos(phone, POINT, picture(10), picture(200))
    expect(phone.locator(".photos .refused")).to_contain_text("Take it again.")
    expect(phone.locator("[data-unsent]")).to_have_text("1 photo refused by the server")
    names = shop.document(path)["photos"][POINT]
    assert set(arrived(shop)) == set(names) - {first[0]}
    with phone.expect_download() as download:
        at(phone, POINT).get_by_role("button", name="Take along").tap()
    assert first[0].startswith(download.value.suggested_filename.removesuffix(".jpg"))
    focus(phone)
    phone.wait_for_timeout(300)
    assert first.count(first[0]) == 1


def test_cut_and_portal(shop: Shop, phone: Page) -> None:
    """A sign-in page, a lost connection or bytes cut on the way leave a photo where it was."""
    go(shop, phone)
    all_sent(phone)
    mismatch = {"faults": [{"where": "photo", "expected": "…", "came": "0" * 64, "remedy": "…"}]}
    replies: list[Callable[[Route], None]] = [
        lambda route: route.fulfill(status=200, content_type="text/html", body="<p>Sign in"),
        lambda route: route.abort("connectionreset"),
        lambda route: route.fulfill(status=422, json=mismatch),
        lambda route: route.fulfill(status=200, json={"uuid": "other", "sha256": "0" * 64}),
        lambda route: route.continue_(),
    ]
    left = iter(replies)

    def reply(route: Route) -> None:
        next(left)(route)

    phone.route("**/api/inspections/*/photos/*", reply)
    sent = puts(phone)
    choose_photos(phone, POINT, picture())
    expect(phone.locator("[data-unsent]")).to_have_text("1 photo only on this device")
    for number in range(2, len(replies) + 1):
        focus(phone)
        expect(phone.locator("html")).to_be_visible()
        while len(sent) < number:
            phone.wait_for_timeout(50)
        if number < len(replies):
            expect(phone.locator("[data-unsent]")).to_have_attribute("data-unsent", "1")
    all_sent(phone)
    assert set(sent) == set(arrived(shop))


def test_no_picture(shop: Shop, phone: Page) -> None:
    """A file that is no picture is said to be none, and leaves nothing behind."""
    path = go(shop, phone)
    choose_photos(phone, POINT, b"no picture")
    said = at(phone, POINT).locator(".photos [role=status]")
    expect(said).to_contain_text("can’t read that file as a picture")
    assert kept(phone) == []
    assert "photos" not in shop.document(path)


def test_seen_without_scripts(shop: Shop, phone: Page, new_context: NewContext) -> None:
    """The server's own pages show the photos, at the point and in the book."""
    path = go(shop, phone)
    choose_photos(phone, POINT, picture(10), picture(200))
    drawn(phone, 2)
    all_sent(phone)
    plain = new_context(**PHONE, java_script_enabled=False).new_page()
    plain.goto(f"{shop.server.url}{path}?at={POINT}")
    expect(plain.locator(".photos:visible img")).to_have_count(2)
    assert plain.locator(".photos button").count() == 0
    plain.locator(".photos:visible a").first.click()
    expect(plain.locator("img")).to_have_count(1)
    plain.goto(f"{shop.server.url}/book")
    expect(plain.locator(".rows .photos")).to_have_text("2 photos")
    expect(plain.locator(".rows .photos img")).to_have_count(2)


def test_for_every_hand(shop: Shop, phone: Page, complaints: list[str]) -> None:
    """With photos at a point axe finds nothing, and every button is as large as a thumb."""
    go(shop, phone)
    choose_photos(phone, POINT, picture(10), picture(200))
    drawn(phone, 2)
    all_sent(phone)
    phone.evaluate(npm_file("axe-core/axe.min.js").read_text(encoding="utf-8"))
    found = phone.evaluate(
        "axe.run(document).then(({ violations }) => violations.map((v) => v.id))"
    )
    assert found == []
    for button in phone.locator(".photos button:visible").all():
        box = button.bounding_box()
        assert box
        assert min(box["width"], box["height"]) >= 48
    assert complaints == []
