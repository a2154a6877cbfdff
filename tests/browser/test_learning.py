"""A reference learned in the browser: the bar moves by itself, and the report follows it."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.pages import Site
from tests.browser.walking import ready
from tests.desk.small import POINTS, table

pytestmark = pytest.mark.browser


def test_from_the_form_to_the_report(
    site: Site, page: Page, complaints: list[str], tmp_path: Path
) -> None:
    """Two files and a button; the page says how far it is, and then shows what was learned."""
    page.set_viewport_size({"width": 320, "height": 640})
    (tmp_path / "points.toml").write_text(POINTS)
    (tmp_path / "t.csv").write_text(table())
    page.goto(f"{site.server.url}/references/learn")
    ready(page)
    page.get_by_label("points file of your own").set_input_files(tmp_path / "points.toml")
    page.get_by_label("A table, one row an instrument").set_input_files(tmp_path / "t.csv")
    page.get_by_role("button", name="Learn").click()
    expect(page.get_by_role("progressbar", name="Learning")).to_be_visible()
    expect(page.get_by_role("heading", name="What was learned")).to_be_visible(timeout=120_000)
    drawing = page.get_by_role("img", name="Screws: what was fitted when")
    words = drawing.locator("text")
    heights = [words.nth(n).bounding_box() for n in range(words.count())]
    assert all(box and box["height"] >= 14 and box["x"] >= 0 for box in heights)
    assert all(box and box["x"] + box["width"] <= 320 for box in heights)
    with page.expect_download() as started:
        page.get_by_role("link", name="Save the reference").click()
    assert started.value.suggested_filename == "small.toml"
    assert complaints == []
