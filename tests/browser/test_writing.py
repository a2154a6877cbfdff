"""A reference written in the browser: what is wrong beside its line, the lifelines as they change."""

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.pages import Site
from tests.browser.walking import ready

pytestmark = pytest.mark.browser


@pytest.fixture(name="text")
def _text(site: Site, page: Page) -> Locator:
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(f"{site.server.url}/references/write?of=")
    ready(page)
    expect(page.locator("#checked")).to_contain_text("No faults")
    return page.locator("#text")


def test_faults_stand_beside_their_line(page: Page, text: Locator, complaints: list[str]) -> None:
    """What is wrong stands at the height of its line, and its link selects that line."""
    broken = text.input_value().replace("give = ", "give = -", 1)
    line = 1 + broken[: broken.index("give = -")].count("\n")
    text.fill(broken)
    note = page.locator(".line-notes p")
    expect(note).to_contain_text("expected a number from 0 to 600")
    number = page.locator(".line-numbers li").nth(line - 1)
    expect(number).to_have_class("faulty-line")
    place, beside = number.bounding_box(), note.bounding_box()
    assert place
    assert beside
    assert abs(place["y"] - beside["y"]) < 3
    page.get_by_role("link", name=f"Line {line}").click()
    assert "give = -" in page.evaluate("() => getSelection().toString()")
    assert complaints == []


def test_lifelines_are_drawn_as_it_is_typed(page: Page, text: Locator) -> None:
    """While there are faults the last ones stay, seen as such; mended, they are drawn anew."""
    written = text.input_value()
    life = page.locator(".life path").first
    drawn = life.get_attribute("d")
    text.fill(written.replace("give = ", "give = -", 1))
    expect(page.locator(".lifelines.stale")).to_have_count(1)
    text.fill(written.replace("give = ", "give = 3", 1))
    expect(page.locator("#checked")).to_contain_text("No faults")
    expect(page.locator(".stale")).to_have_count(0)
    assert life.get_attribute("d") != drawn


def test_server_that_does_not_answer(site: Site, page: Page) -> None:
    """Nothing typed is lost when nobody checks it, and the page says so."""
    page.goto(f"{site.server.url}/references/write?of=")
    ready(page)
    page.route("**/check", lambda route: route.abort())
    page.locator("#text").fill("format = 1\n")
    expect(page.locator("#checked")).to_contain_text("Nothing typed is lost")
    assert page.locator("#text").input_value() == "format = 1\n"


def test_a_picture_is_added_and_named(page: Page, text: Locator, complaints: list[str]) -> None:
    """What was typed stays; the picture's line is put where the cursor is, and it has its variant."""
    page.locator("details.add-pictures summary").click()
    drawing = (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0L9 9"/></svg>'
    )
    file = {"name": "Old Logo.svg", "mimeType": "image/svg+xml", "buffer": drawing}
    page.locator("#new").set_input_files(file)  # type: ignore[arg-type]
    written = text.input_value().replace("What it is a reference to", "Typed before")
    text.fill(written)
    page.get_by_role("button", name="Add pictures").click()
    ready(page)
    pictures = page.locator(".pictures")
    expect(pictures).to_contain_text("Of no variant yet")
    assert text.input_value() == written
    at = written.index("[[point.seen]]")
    text.evaluate("(field, at) => { field.focus(); field.setSelectionRange(at, at); }", at)
    page.get_by_role("button", name="Put below the cursor").click()
    expect(pictures).to_contain_text("The earlier")
    assert '[[point.seen]]\n  picture = "old-logo.svg"\n' in text.input_value()
    shown = pictures.locator("img").evaluate("(img) => img.decode().then(() => img.naturalWidth)")
    assert shown > 0
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto("about:blank")
    assert asked == ["beforeunload"]
    assert complaints == []
