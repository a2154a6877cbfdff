"""`/book`: every inspection, newest first."""

import re

import pytest

from tests.web.checklist import Page
from tests.web.kit import NOBODY, Site, assert_says, words


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/book"


def listed(text: str) -> list[str]:
    """Return the inspections that a page of the book links to."""
    return re.findall(r'href="/inspect/([0-9a-f-]{36})"', text)


def test_empty(site: Site) -> None:
    """An empty book says how to begin."""
    assert_says(site.get("/book"), 200, "Nothing is in the book yet", "Begin an inspection")


def test_entry(site: Site) -> None:
    """An entry has name, reference, serial, claim and verdict in words."""
    inspection = site.begin(name="The Curtain", serial_text="0420")
    site.answer(inspection, "knobs", seen="wood")
    page = site.get("/book")
    assert_says(page, 200, "The Curtain", "Loom One (invented)", "0420", "claimed Mar–Aug 1952")
    assert listed(page.text) == [str(inspection)]
    assert "reads as" in words(page)


def test_without_a_name(site: Site) -> None:
    """An inspection without a name goes by its serial, else by when it was opened."""
    site.begin(serial_text="0420")
    site.begin()
    assert_says(site.get("/book"), 200, "0420", "Opened 11 Apr 2026, 09:00")


def test_newest_first_in_pages(site: Site) -> None:
    """All are reached through "Older", each exactly once, the last opened first."""
    opened = [str(site.begin(name=f"Nr {number}")) for number in range(45)]
    found: list[str] = []
    path: str | None = "/book"
    pages = 0
    while path:
        page = site.get(path)
        found += listed(page.text)
        older = re.search(r'href="(/book\?before=[^"]+)"', page.text)
        path = older[1] if older else None
        pages += 1
    assert pages == 3
    assert len(found) == len(set(found)) == 45
    assert set(found) == set(opened)


@pytest.mark.parametrize("before", ["1", "x" * 400, "%00", "'"])
def test_bad_before(site: Site, before: str) -> None:
    """A page of the book that is asked for by nonsense is answered as not there."""
    assert_says(site.get(f"/book?before={before}"), 404, "inspection")


def test_unknown_before(site: Site) -> None:
    """Before an inspection that nobody has there is nothing, and no fault."""
    site.begin()
    page = site.get(f"/book?before={NOBODY}")
    assert page.status_code in (200, 404)
