"""`/references/<id>/compare`: two editions, and whose verdict the newer one changes."""

import re
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.reference import Reference, read_reference_text
from tests import kit as plain
from tests.web.checklist import Changing, Page
from tests.web.kit import PICTURE, REFERENCE, Site, assert_says

PATH = "/references/loom-one/compare"
BEFORE = "/references/write/changes"
_TURNED = {
    'to = "1953-06"': 'from = "1956-07"',
    'from = "1953-07"': 'to = "1956-06"',
    'to = "1953-12"': 'from = "1957-01"',
    'from = "1954-01"': 'to = "1956-12"',
}
# what spoke for early months speaks for late ones
OTHER = re.sub("|".join(_TURNED), lambda found: _TURNED[found[0]], REFERENCE)


class TestShow(Page):
    """What holds at every endpoint."""

    path = PATH


class TestBeforeItIsKept(Changing):
    """What holds at every endpoint that changes something; a reference may be longer than a form."""

    path = BEFORE

    def test_too_large_body(self, site: Site) -> None:
        """More than any reference is refused with a page."""
        assert_says(site.post(BEFORE, {"text": "x" * 1_300_001}), 413, "Too large")


def edition(label: str, text: str = OTHER) -> Reference:
    """Return another edition."""
    labelled = text.replace('edition = "2026-04"', f'edition = "{label}"')
    return read_reference_text(labelled, pictures={"wood.svg": PICTURE})


@pytest.fixture(name="judged")
def _judged(site: Site) -> Site:
    """Return a site whose book has an inspection that the turned edition judges otherwise."""
    inspection = site.begin(name="The Vicar")
    site.answer(inspection, "knobs", seen="wood")
    site.answer(inspection, "serial", seen="420")
    return site


def test_nothing_to_compare_with(site: Site) -> None:
    """With one edition there is nothing to compare, and that is said."""
    page = site.get(PATH)
    assert_says(page, 200, "there is nothing to compare with yet")
    assert "<select" not in page.text


def test_two_editions(judged: Site) -> None:
    """By default the last one kept stands against the one in force; the other way round on request."""
    older = edition("2025-01")
    judged.store.library.keep(older)
    page = judged.get(PATH)
    assert_says(page, 200, "Edition 2025-01", "edition 2026-04", "2026-04, in force")
    assert_says(page, 200, "point knobs, variant wood last none 1953-06")
    assert_says(page, 200, "No saved inspection of an older edition would get another verdict")
    turned = judged.get(f"{PATH}?old={judged.reference.hash[:16]}&new={older.hash[:16]}")
    assert_says(turned, 200, "point knobs, variant wood last 1953-06 none")
    assert_says(turned, 200, "1 saved inspection would get another verdict by edition 2025-01")
    assert_says(turned, 200, "The Vicar Too little seen")
    same = judged.get(f"{PATH}?old={older.hash[:16]}&new={older.hash[:16]}")
    assert_says(same, 200, "nothing differs")


@pytest.mark.parametrize("name", ["zz", "00", "0" * 16])
def test_no_edition(site: Site, name: str) -> None:
    """An address that names no edition is answered with what came."""
    assert_says(site.get(f"{PATH}?old={name}"), 404, "edition", name)


def test_an_edition_of_another_reference(site: Site) -> None:
    """Two references are not editions of each other."""
    other = read_reference_text(plain.REFERENCE.replace('"loom-one"', '"loom-two"'))
    site.store.library.keep(other)
    reply = site.get(f"{PATH}?new={other.hash[:16]}")
    assert_says(reply, 404, "expected an edition of loom-one", "loom-two")
    assert_says(site.get("/references/none/compare"), 404, "expected one of loom-one")


def test_before_it_is_kept(judged: Site, folder: Path) -> None:
    """A text is held against the edition in force; nothing is kept, and the text comes back."""
    site = Site.on(judged.store, judged.reference, desk.shelf_from(desk.Folders(folder)))
    before = sorted(folder.rglob("*"))
    text = OTHER.replace("2026-04", "2026-05").replace("\n", "\r\n")
    page = site.post(BEFORE, {"text": text})
    assert_says(page, 200, "What keeping this edition would change", "edition 2026-05")
    assert_says(page, 200, "1 saved inspection would get another verdict", "Keep this edition")
    assert "Both have the label" not in page.text
    assert text.replace("\r\n", "\n").replace('"', "&#34;") in page.text
    assert sorted(folder.rglob("*")) == before
    assert_says(site.post(BEFORE, {"text": OTHER}), 200, "Both have the label 2026-04")


def test_the_first_edition(site: Site) -> None:
    """What is here in no edition has nothing to be compared with."""
    text = plain.REFERENCE.replace('"loom-one"', '"loom-two"')
    assert_says(site.post(BEFORE, {"text": text}), 200, "it would be the first")


def test_what_can_not_be_compared(site: Site) -> None:
    """A text with faults comes back with them beside its lines; no text is none."""
    bad = site.post(BEFORE, {"text": REFERENCE.replace("odds = 5", "odds = 0")})
    assert_says(bad, 422, "1 to mend")
    assert_says(site.post(BEFORE, {"text": " "}), 400, "No text came")
