"""A whole inspection in a real Chromium: by thumb, without scripts, by keyboard.

Here answers go straight to the server; what a device keeps has tests of its own.
"""

import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from quickcheck.engine import judge_document
from quickcheck.reference import Kind
from tests.browser import walking
from tests.browser.walking import PHONE, SITTING, Shop, answer, at, press, ready, saved, straight
from tests.cli.kit import printed_json, run

pytestmark = pytest.mark.browser
NewContext = Callable[..., BrowserContext]


@pytest.fixture(name="shop", scope="session")
def _shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    shop = Shop.on(tmp_path_factory.mktemp("shop"))
    with shop.server:
        yield shop


@pytest.fixture(name="phone")
def _phone(new_context: NewContext) -> Iterator[Page]:
    """Return a page on a phone; whatever it complains of fails the test."""
    page = straight(new_context(**PHONE)).new_page()
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    yield page
    assert thrown == []


def verdict_of(shop: Shop, path: str) -> Any:
    """Return what the command line says of the stored inspection of a page."""
    typed = json.dumps(shop.document(path))
    return printed_json(run("verdict", walking.POPLIN, "-", "--json", typed=typed))


def test_sitting_has_every_kind_and_form() -> None:
    """The walk below leaves no kind of point and no part of an answer out."""
    parts = {part for given in SITTING.values() for part in given}
    assert parts == {"seen", "value", "unit", "read", "sure", "state", "not_seen", "note", "where"}
    assert walking.kinds(walking.read_reference(walking.POPLIN)) == set(Kind)


def test_by_thumb_and_without_scripts(shop: Shop, phone: Page, new_context: NewContext) -> None:
    """A whole inspection by thumb and the same by plain forms store the same and judge the same."""
    thumb, plain = shop.begin(), shop.begin()
    phone.goto(shop.server.url + thumb)
    ready(phone)
    phone.evaluate("window.marker = 'same page'")
    unloaded: list[str] = []
    phone.on("framenavigated", lambda frame: unloaded.append(frame.url))
    walking.walk(phone, shop.reference, thumb=True)
    assert all("?at=" in url for url in unloaded[:-1])
    bare = new_context(java_script_enabled=False, **PHONE).new_page()
    bare.goto(shop.server.url + plain)
    walking.walk(bare, shop.reference, thumb=True)
    assert shop.answers(thumb) == SITTING
    assert shop.answers(plain) == SITTING
    wanted = json.loads(json.dumps(judge_document(shop.reference, shop.document(thumb))))
    assert verdict_of(shop, thumb) == verdict_of(shop, plain) == wanted
    shown = [page.locator("[data-verdict]").get_attribute("data-verdict") for page in (phone, bare)]
    assert shown == [wanted["verdict"]] * 2
    assert phone.locator("main").inner_text() == bare.locator("main").inner_text()


def test_strip_changes_without_a_page_load(shop: Shop, phone: Page) -> None:
    """After each answer the strip says the verdict so far; the page is never loaded again."""
    path = shop.begin()
    phone.goto(shop.server.url + path)
    ready(phone)
    phone.evaluate("window.marker = 'same page'")
    press(phone.get_by_role("link", name="Begin"), thumb=True)
    told: list[str | None] = []
    for number, point in enumerate(walking.order(shop.reference)[:8], 1):
        answer(phone, point, SITTING[point.id], thumb=True)
        press(phone.get_by_role("button", name="Next"), thumb=True)
        saved(phone)
        expect(phone.locator("#strip .count")).to_contain_text(f"{number} of 26")
        judged = judge_document(shop.reference, shop.document(path))
        expect(phone.locator("#strip")).to_have_attribute("data-verdict", str(judged["verdict"]))
        told.append(phone.locator("#strip .says").text_content())
    assert len(set(told)) > 1
    assert phone.evaluate("window.marker") == "same page"
    assert phone.evaluate("performance.getEntriesByType('navigation').length") == 1


def test_veil(shop: Shop, phone: Page) -> None:
    """One tap hides the verdict, it stays hidden over answers and pages, another shows it."""
    phone.goto(shop.server.url + shop.begin())
    ready(phone)
    words = phone.locator("#strip .says b")
    expect(words).to_be_visible()
    press(phone.get_by_role("button", name="Hide verdict"), thumb=True)
    expect(words).to_be_hidden()
    expect(phone.get_by_text("Verdict hidden")).to_be_visible()
    press(phone.get_by_role("link", name="Begin"), thumb=True)
    point = walking.order(shop.reference)[0]
    answer(phone, point, SITTING[point.id], thumb=True)
    saved(phone)
    expect(words).to_be_hidden()
    phone.reload()
    ready(phone)
    expect(phone.locator("#strip .says b")).to_be_hidden()
    press(phone.get_by_role("button", name="Show verdict"), thumb=True)
    expect(phone.locator("#strip .says b")).to_be_visible()


def test_undo(shop: Shop, phone: Page) -> None:
    """Undo takes the last answer back, stored and on the screen, and shows its point."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    saved(phone)
    answer(phone, shop.reference.by_id["knobs"], {"seen": "cream"}, thumb=True)
    saved(phone)
    press(phone.get_by_role("button", name="Undo"), thumb=True)
    ready(phone)
    expect(at(phone, "knobs").locator('input[value="wood"]')).to_be_checked()
    assert shop.answers(path) == {"knobs": {"seen": "wood"}}


def test_places_on_the_outline(shop: Shop, phone: Page) -> None:
    """A touch on a place of the outline leads to its first open point; its count goes up."""
    path = shop.begin()
    phone.goto(shop.server.url + path)
    ready(phone)
    for place in ("headstock", "back", "front", "edge", "open", "case"):
        there = [point for point in walking.order(shop.reference) if point.place.value == place]
        touch = phone.locator(f'.outline a[data-place="{place}"]')
        if touch.count() == 0:
            press(phone.locator(f'.stops[data-place="{place}"] a').first, thumb=True)
        else:
            touch.locator(".touch").tap()
            expect(touch).to_have_attribute("aria-label", re.compile(f"0/{len(there)} "))
        answer(phone, there[0], SITTING[there[0].id], thumb=True)
        press(phone.get_by_role("button", name="Places"), thumb=True)
        saved(phone)
        if touch.count():
            expect(touch).to_have_attribute("aria-label", re.compile(f"1/{len(there)} "))
    assert len(shop.answers(path)) == 6


def test_cleared(shop: Shop, phone: Page) -> None:
    """The button "Clear" empties the point on the screen and takes its answer back."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    answer(phone, shop.reference.by_id["knobs"], SITTING["knobs"], thumb=True)
    press(phone.get_by_role("button", name="Clear"), thumb=True)
    expect(phone.locator("#strip .count")).to_contain_text("0 of 26")
    saved(phone)
    assert shop.answers(path) == {}
    expect(at(phone, "knobs").locator('input[value="wood"]')).not_to_be_checked()


def test_back_and_forward(shop: Shop, phone: Page) -> None:
    """The browser's own buttons walk over the points that were shown; nothing is lost by them."""
    path = shop.begin()
    phone.goto(shop.server.url + path)
    ready(phone)
    press(phone.get_by_role("link", name="Begin"), thumb=True)
    first, second, third = walking.order(shop.reference)[:3]
    for point in (first, second):
        answer(phone, point, SITTING[point.id], thumb=True)
        press(phone.get_by_role("button", name="Next"), thumb=True)
    at(phone, third.id)
    phone.go_back()
    at(phone, second.id)
    phone.go_back()
    at(phone, first.id)
    phone.go_back()
    expect(phone.locator(".overview")).to_be_visible()
    phone.go_forward()
    at(phone, first.id)
    answer(phone, first, {"not_seen": "no-tool"}, thumb=True)
    saved_answers = {first.id, second.id}
    assert set(shop.answers(path)) == saved_answers


def test_back_from_the_verdict(shop: Shop, phone: Page) -> None:
    """Back from the verdict the inspection shows what is stored."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=knobs")
    ready(phone)
    answer(phone, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    saved(phone)
    phone.goto(f"{shop.server.url}{path}/verdict")
    phone.go_back()
    ready(phone)
    expect(at(phone, "knobs").locator('input[value="wood"]')).to_be_checked()
    expect(phone.locator("#strip .count")).to_contain_text("1 of 26")


def test_by_keyboard(shop: Shop, phone: Page) -> None:
    """With a keyboard alone points are chosen, answered, left, and the verdict is reached."""
    path = shop.begin()
    phone.goto(shop.server.url + path)
    ready(phone)
    phone.get_by_role("link", name="Begin").focus()
    phone.keyboard.press("Enter")
    given = {}
    for point in walking.order(shop.reference)[:5]:
        box = at(phone, point.id)
        expect(box).to_be_focused()
        phone.keyboard.press("Tab")
        expect(box.locator(f'input[name="{point.id}"]').first).to_be_focused()
        phone.keyboard.press("Space")
        phone.keyboard.press("ArrowDown")
        given[point.id] = {"seen": point.seen[1].id}
        expect(box.locator(f'input[value="{point.seen[1].id}"]').first).to_be_checked()
        phone.keyboard.press("Enter")
    saved(phone)
    assert shop.answers(path) == given
    phone.locator("#strip a.says").press("Enter")
    expect(phone).to_have_url(re.compile(r"/verdict$"))


def test_wrong_measure(shop: Shop, phone: Page) -> None:
    """A measure that can't be is told in words, stays as it was typed, and is not stored."""
    path = shop.begin()
    phone.goto(f"{shop.server.url}{path}?at=weight")
    ready(phone)
    box = at(phone, "weight")
    walking.write(box, 'input[name="weight"]', "830", thumb=True)
    press(phone.get_by_role("button", name="Next"), thumb=True)
    fault = phone.locator("#fault [role=alert]")
    expect(fault).to_contain_text('got "830 lb"')
    expect(phone.locator("#strip .saved")).to_have_text("Not saved")
    field = at(phone, "weight").locator('input[name="weight"]')
    expect(field).to_have_value("830")
    assert shop.answers(path) == {}
    field.fill("")
    walking.write(box, 'input[name="weight"]', "8.3", thumb=True)
    press(phone.get_by_role("button", name="Next"), thumb=True)
    expect(fault).to_have_count(0)
    expect(box).not_to_have_attribute("data-point", "weight")
    assert shop.answers(path) == {"weight": {"value": 8.3, "unit": "lb"}}


def test_wrong_measure_without_scripts(shop: Shop, new_context: NewContext) -> None:
    """Without scripts the same message comes with the form as it was filled in."""
    path = shop.begin()
    page = new_context(java_script_enabled=False, **PHONE).new_page()
    page.goto(f"{shop.server.url}{path}?at=weight")
    box = at(page, "weight")
    box.locator('select[name="weight.unit"]').select_option("kg")
    walking.write(box, 'input[name="weight"]', "83", thumb=True)
    walking.write(box, 'textarea[name="weight.note"]', "kitchen scale", thumb=True)
    press(page.get_by_role("button", name="Next"), thumb=True)
    expect(page.locator("#fault [role=alert]")).to_contain_text("got")
    box = at(page, "weight")
    expect(box.locator('input[name="weight"]')).to_have_value("83")
    expect(box.locator('select[name="weight.unit"]')).to_have_value("kg")
    expect(box.locator("textarea")).to_have_value("kitchen scale")
    assert shop.answers(path) == {}


def test_two_tabs(shop: Shop, new_context: NewContext) -> None:
    """Two tabs that answer different points of one inspection keep both answers."""
    path = shop.begin()
    context = straight(new_context(**PHONE))
    one, two = context.new_page(), context.new_page()
    for page, point in ((one, "knobs"), (two, "board")):
        page.goto(f"{shop.server.url}{path}?at={point}")
        ready(page)
    answer(one, shop.reference.by_id["knobs"], {"seen": "wood"}, thumb=True)
    answer(two, shop.reference.by_id["board"], {"seen": "pear"}, thumb=True)
    saved(one)
    saved(two)
    expect(two.locator("#strip .count")).to_contain_text("2 of 26")
    assert shop.answers(path) == {"knobs": {"seen": "wood"}, "board": {"seen": "pear"}}
