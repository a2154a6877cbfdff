"""The inspection on a phone: begun, done, judged and carded with no server, and sent once."""

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import BrowserType, Page, expect

from quickcheck import desk
from quickcheck.card import data_of, digits, encode, head
from quickcheck.store import Saved, open_store
from tests.browser.handset import (
    Handset,
    claim,
    draft,
    flush,
    keep,
    kept_here,
    on_server,
)
from tests.browser.test_card_code import codes
from tests.browser.walking import SITTING, Shop, answer, at, press, ready, walk, write
from tests.kit import Server

pytestmark = pytest.mark.browser


@pytest.fixture(name="shop")
def _shop(tmp_path: Path) -> Iterator[Shop]:
    shop = Shop.on(tmp_path / "shop")
    with shop.server:
        yield shop


def begin_without_server(page: Page, shop: Shop, **words: str) -> str:
    """Begin an inspection from the app's start page, the server being dead."""
    page.goto(shop.server.url)
    page.locator("#device-references a").tap()
    return claim(page, **words)


def card_on(page: Page, shop: Shop, path: str) -> str:
    """Make the card on the phone; return the text of the code on the screen."""
    page.goto(f"{shop.server.url}{path}/card")
    ready(page)
    press(page.get_by_text("The issuer has no interest in it."), thumb=True)
    press(page.get_by_text("The owner agrees"), thumb=True)
    press(page.get_by_role("button", name="Make the card"), thumb=True)
    code = page.locator("svg.code")
    expect(code.locator("path")).to_have_count(1)
    [text] = codes(Image.open(io.BytesIO(code.screenshot())))
    return text


def verdict_on(page: Page) -> str:
    """Return the verdict that a page of a result shows."""
    shown = page.locator("[data-shell] [data-verdict]").first
    expect(shown).not_to_have_attribute("data-verdict", "")
    return shown.get_attribute("data-verdict") or ""


def one_answer(page: Page, shop: Shop, path: str, seen: str = "wood") -> None:
    """Open an inspection at the knobs and say which they are."""
    page.goto(f"{shop.server.url}{path}?at=knobs")
    ready(page)
    answer(page, shop.reference.by_id["knobs"], {"seen": seen}, thumb=True)


def stored(shop: Shop) -> dict[str, Saved]:
    """Return every inspection on the server, by the path of its page."""
    with open_store(shop.server.data / "book.sqlite3") as store:
        return {f"/inspect/{each.id}": each for each in store.book.list(9, None)}


def test_a_day_without_the_server(shop: Shop, handset: Handset) -> None:
    """Two inspections, verdict and card with no server, the app opened anew: each arrives once."""
    keep(handset.open(), shop.server.url)
    shop.server.kill()
    handset.close()
    page = handset.open()
    first = begin_without_server(page, shop, name="Behind the stage", serial_text="1388")
    walk(page, shop.reference, thumb=True)
    verdict = verdict_on(page)
    code = card_on(page, shop, first)
    second = begin_without_server(page, shop, name="Another")
    one_answer(page, shop, second)
    kept_here(page)
    expect(page.locator("#unsent")).to_have_text("2 only on this device")
    handset.close()
    page = handset.open()
    page.goto(f"{shop.server.url}{first}")
    ready(page)
    expect(page.locator("#strip .count")).to_have_text("26 of 26")
    shop.server.start()
    flush(page)
    on_server(page)
    assert [len(shop.history(path)) for path in (first, second)] == [1, 1]
    assert (shop.answers(first), shop.answers(second)) == (SITTING, {"knobs": {"seen": "wood"}})
    assert set(stored(shop)) == {first, second}
    agrees(shop, page, first, verdict, code)


def agrees(shop: Shop, page: Page, path: str, verdict: str, code: str) -> None:
    """Hold the phone's verdict and card against the server's own."""
    with open_store(shop.server.data / "book.sqlite3") as store:
        judged = desk.judge_saved(store, stored(shop)[path])
    assert judged.verdict.verdict == verdict
    made = desk.make_card(
        judged, interest="none", now=head(data_of(code.rpartition("/")[2])).issued
    )
    assert code == f"{shop.server.url}/c/{digits(encode(made))}"
    health = json.loads(shop.server.get("/health?json").text)
    assert (health["differences"], health["two_versions"]) == ([], [])
    page.goto(code)
    expect(page.locator("[data-verdict]").first).to_have_attribute("data-verdict", verdict)


def test_the_page_before_may_still_be_leaving(shop: Shop, handset: Handset) -> None:
    """A page that comes while the one before still holds the inspection is no second tab."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    page.goto(shop.server.url)
    slow = handset.another()
    slow.goto(shop.server.url)
    slow.evaluate(
        "(name) => void navigator.locks.request(name, () => new Promise((done) => setTimeout(done, 1000)))",
        f"quickcheck-inspection-{path.rpartition('/')[2]}",
    )
    page.bring_to_front()
    one_answer(page, shop, path)
    on_server(page)
    expect(page.locator("form.read-only")).to_have_count(0)
    assert shop.answers(path) == {"knobs": {"seen": "wood"}}


def test_a_second_tab_only_reads(shop: Shop, handset: Handset) -> None:
    """Of two tabs on one inspection the second says that it only reads, and writes nothing."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    page.goto(f"{shop.server.url}{path}?at=knobs")
    ready(page)
    second = handset.another()
    second.goto(f"{shop.server.url}{path}?at=knobs")
    ready(second)
    expect(second.locator("#strip .saved")).to_contain_text("open in another tab")
    expect(second.locator("form.inspection.read-only")).to_have_count(1)
    answer(page, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    on_server(page)
    box = second.locator('[name="knobs"][value="cream"]')
    box.evaluate(
        "box => { box.checked = true; box.dispatchEvent(new Event('change', {bubbles: true})); }"
    )
    expect(second.locator("#strip .saved")).to_have_attribute("data-saved", "")
    assert draft(page, path)["document"]["answers"] == {"knobs": {"seen": "wood"}}
    page.close()
    second.reload()
    ready(second)
    expect(second.locator("form.read-only")).to_have_count(0)
    answer(second, shop.reference.by_id["knobs"], {"seen": "cream"}, thumb=True)
    on_server(second)
    assert shop.answers(path) == {"knobs": {"seen": "cream"}}


def test_undo(shop: Shop, handset: Handset) -> None:
    """Undo takes one change after the other back, shows the point, and needs no server."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    shop.server.kill()
    by_id = shop.reference.by_id
    for point, seen in (("knobs", "wood"), ("knobs", "cream"), ("nut", "bone")):
        page.goto(f"{shop.server.url}{path}?at={point}")
        ready(page)
        answer(page, by_id[point], {"seen": seen}, thumb=True)
        kept_here(page)
    for point, left in (
        ("nut", {"knobs": {"seen": "cream"}}),
        ("knobs", {"knobs": {"seen": "wood"}}),
        ("knobs", {}),
    ):
        press(page.get_by_role("button", name="Undo"), thumb=True)
        at(page, point)
        expect(page.locator("#strip .count")).to_have_text(f"{len(left)} of 26")
        kept_here(page)
        assert draft(page, path)["document"]["answers"] == left
    shop.server.start()
    flush(page)
    on_server(page)
    assert shop.answers(path) == {}


def typed_note(page: Page, shop: Shop, path: str, text: str) -> None:
    """Type a note at the knobs and stay in the field, until the phone has it."""
    page.goto(f"{shop.server.url}{path}?at=knobs")
    ready(page)
    write(at(page, "knobs"), 'textarea[name="knobs.note"]', text, thumb=True)
    expect(page.locator("#strip .saved")).to_have_attribute("data-saved", "device")


def test_typing_survives(shop: Shop, handset: Handset) -> None:
    """What was typed and not left is there after the app was closed, and becomes the answer."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    on_server(page)
    typed_note(page, shop, path, "one cracked")
    handset.close()
    page = handset.open()
    page.goto(f"{shop.server.url}{path}?at=knobs")
    ready(page)
    expect(at(page, "knobs").locator("textarea")).to_have_value("one cracked")
    press(page.get_by_role("button", name="Next"), thumb=True)
    shown = page.locator("fieldset[data-point]:visible")
    expect(shown).not_to_have_attribute("data-point", "knobs")
    point = shown.get_attribute("data-point") or ""
    answer(page, shop.reference.by_id[point], {"not_seen": "no-time"}, thumb=True)
    on_server(page)
    assert shop.answers(path) == {
        "knobs": {"note": "one cracked"},
        point: {"not_seen": "no-time"},
    }


def test_typing_is_kept_when_the_point_is_left_by_going_back(shop: Shop, handset: Handset) -> None:
    """The phone's own way back in the middle of a word loses none of it."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    press(page.get_by_role("link", name="Begin"), thumb=True)
    point = page.locator("fieldset[data-point]:visible").get_attribute("data-point") or ""
    write(at(page, point), f'textarea[name="{point}.note"]', "worn", thumb=True)
    page.go_back()
    expect(page.locator(".overview")).to_be_visible()
    on_server(page)
    assert shop.answers(path) == {point: {"note": "worn"}}


def offer_another_edition(shop: Shop, name: str) -> None:
    """Have the server offer the same reference as another edition."""
    shop.server.stop()
    [file] = (shop.server.data / "references").rglob("*.toml")
    text = file.read_text(encoding="utf-8")
    other = re.sub(r'^edition = ".*"$', f'edition = "{name}"', text, count=1, flags=re.MULTILINE)
    assert other != text
    file.write_text(other, encoding="utf-8")
    shop.server.start()


def test_an_inspection_keeps_its_edition(shop: Shop, handset: Handset) -> None:
    """A newer edition is for new inspections; an open one goes on with its own, here and there."""
    page = handset.open()
    keep(page, shop.server.url)
    path = claim(page)
    offer_another_edition(shop, "2027-01")
    keep(page, shop.server.url)
    expect(page.locator("form.claim .lead")).to_contain_text("edition 2027-01")
    fresh = claim(page)
    shop.server.kill()
    one_answer(page, shop, path)
    kept_here(page)
    for each, edition in ((path, shop.reference.edition), (fresh, "2027-01")):
        page.goto(f"{shop.server.url}{each}/verdict")
        expect(page.locator('[data-slot="edition"]').first).to_have_text(edition)
    shop.server.start()
    page.goto(f"{shop.server.url}{path}")
    ready(page)
    on_server(page)
    found = stored(shop)
    assert found[path].reference_hash == shop.reference.hash
    assert found[fresh].reference_hash != shop.reference.hash
    assert shop.answers(path) == {"knobs": {"seen": "wood"}}


class HallServer(Server):
    """One that is known by a name of the hall's network, without https."""

    @property
    def url(self) -> str:
        """The address that phones in the hall use."""
        return f"http://hall.invalid:{self.port}"


def test_on_a_plain_address(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], tmp_path: Path
) -> None:
    """By plain http in a hall answers go to the server at once; the page says what does not work."""
    shop = Shop.on(tmp_path / "shop")
    server = HallServer(shop.server.data, "serve")
    server.options = ("--base-url", server.url)
    arguments = [
        *browser_type_launch_args["args"],
        "--host-resolver-rules=MAP hall.invalid 127.0.0.1",
    ]
    options = browser_type_launch_args | {"args": arguments}
    with server, Handset(browser_type, options, tmp_path / "profile") as handset:
        page = handset.open()
        page.goto(server.url)
        assert page.evaluate("isSecureContext") is False
        expect(page.locator('[data-notice="insecure"]')).to_contain_text("working offline does not")
        path = claim(page)
        expect(page.locator('[data-notice="insecure"]')).to_be_visible()
        page.goto(f"{server.url}{path}?at=knobs")
        ready(page)
        answer(page, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
        expect(page.locator("#strip .count")).to_have_text("1 of 26")
        expect(page.locator('#strip [data-saved="server"]')).to_have_text("Saved on the server")
        assert shop.answers(path) == {"knobs": {"seen": "wood"}}
        assert page.evaluate("indexedDB.databases()") == []
