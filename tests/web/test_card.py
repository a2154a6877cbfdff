"""`/c/<digits>`: a card, rebuilt from its code alone."""

import re
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.card import data_of
from quickcheck.engine import VERDICT_WORDS
from quickcheck.store import open_store
from tests import kit
from tests.web.checklist import Page
from tests.web.kit import Site, assert_says, has_trace, words


def make(site: Site) -> str:
    """Make a card by the form and return its digits."""
    inspection = site.begin(serial_text="0420", name="Mrs Loom’s own")
    for point, answer in kit.ANSWERS.items():
        site.answer(inspection, point, seen=str(next(iter(answer.values()))), note="bought from X")
    site.answer(inspection, "volume-pot", not_seen="not-allowed")
    fields = {
        "leave": "y",
        "interest": "selling",
        "mark-place": "board-9",
        "mark-kind": "burn",
        "mark-mm": "6",
    }
    response = site.post(f"/inspect/{inspection}/card", fields)
    assert response.status_code == 303
    return (response.location or "").removeprefix("/c/")


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/c/{digits}"

    def address(self, site: Site) -> str:
        """Return the address of a card that is there."""
        return self.path.format(digits=make(site))


def test_shown(site: Site) -> None:
    """The page has verdict, serial, marks, interest, what was and was not looked at, cautions."""
    page = site.get(f"/c/{make(site)}")
    saved = site.store.book.list()[0]
    judged = desk.judge_sheet(site.reference, saved.document)
    assert_says(
        page,
        200,
        VERDICT_WORDS[judged.verdict.verdict],
        "0420",
        "6 mm",
        "The issuer is selling it.",
        "Nothing proves who made this card or when",
        "Not allowed: volume pot",
        "Claimed Mar–Aug 1952 (6 months)",
        "Reads as Jan 1950–Feb 1953",
        "This page is at localhost:8000",
        "no authentication, appraisal or guarantee",
    )
    assert 'data-seal="unsealed"' in page.text
    assert f'data-verdict="{judged.verdict.verdict}"' in page.text
    text = words(page)
    for sentence in judged.said("finding") + judged.said("unseen"):
        assert sentence.text in text


def test_nothing_private(site: Site) -> None:
    """Neither names nor notes are on the card or its page, and search engines are kept out."""
    page = site.get(f"/c/{make(site)}")
    assert "Mrs Loom" not in page.text
    assert "bought from" not in page.text
    assert '<meta name="robots" content="noindex">' in page.text


def test_needs_no_book(site: Site, tmp_path: Path) -> None:
    """A card can be shown where the inspection is not: the code has everything."""
    digits = make(site)
    with open_store(tmp_path / "elsewhere.sqlite3") as store:
        elsewhere = Site.on(store, site.reference)
        here, there = site.get(f"/c/{digits}"), elsewhere.get(f"/c/{digits}")
        assert store.book.list() == ()
    assert there.status_code == 200
    assert words(here) == words(there)


def test_code_leads_here(site: Site) -> None:
    """The code on the page is drawn for the address that the settings name, not the Host header."""
    digits = make(site)
    page = site.client.get(f"/c/{digits}", headers={"Host": "127.0.0.1:9"})
    assert page.status_code == 200
    assert "localhost:8000" in words(page)
    assert 'class="code-ink"' in page.text
    assert "127.0.0.1:9" not in page.text


def test_later_changes_do_not_change_it(site: Site) -> None:
    """A card says what was found when it was made, whatever the book says later."""
    digits = make(site)
    before = words(site.get(f"/c/{digits}"))
    saved = site.store.book.list()[0]
    site.answer(saved.id, "knobs", seen="horn", state="changed")
    assert words(site.get(f"/c/{digits}")) == before


@pytest.mark.parametrize(
    "text",
    ["", "0", "1", "12345", "-5", "1e9", "٤٢", "9" * 5000, "9" * 700, "abc", "%00", "1.5", "+1"],
)
def test_no_card(site: Site, text: str) -> None:
    """Digits that no card has are refused with what to do."""
    response = site.get(f"/c/{text}")
    assert response.status_code in ((404,) if not text else (400, 404))
    assert not has_trace(response)


def test_any_wrong_digit(site: Site) -> None:
    """With one digit changed it is another card or none, and never a fault of the program."""
    digits = make(site)
    for place in range(0, len(digits), 7):
        other = digits[:place] + str((int(digits[place]) + 1) % 10) + digits[place + 1 :]
        response = site.get(f"/c/{other}")
        assert response.status_code in (200, 400, 404), words(response)
        assert not has_trace(response)


def test_unknown_edition(site: Site, tmp_path: Path) -> None:
    """A card of an edition that is not here is answered with what is missing."""
    digits = make(site)
    with open_store(tmp_path / "bare.sqlite3") as store:
        bare = Site.on(store, site.reference, desk.Shelf({}, {}))
        response = bare.get(f"/c/{digits}")
    assert response.status_code == 404
    assert data_of(digits)
    assert re.search(r"edition|reference", words(response))


def test_same_twice(site: Site) -> None:
    """Digits that stand for the same card with a zero before them are not the card."""
    assert site.get(f"/c/0{make(site)}").status_code == 400
