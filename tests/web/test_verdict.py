"""`/inspect/<id>/verdict`: the verdict whole."""

import re

from quickcheck import desk
from quickcheck.engine import VERDICT_WORDS
from tests import kit
from tests.web.checklist import OfInspection, Page
from tests.web.kit import Site, assert_says, words

CERTAINTIES = ("authentic", "genuine", "fake", "mint", "guaranteed", "100 %", "100%")


class TestChecklist(Page, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/verdict"


def test_nothing_answered(site: Site) -> None:
    """With nothing seen the page says that too little was, and what would tell most."""
    page = site.get(f"/inspect/{site.begin()}/verdict")
    assert_says(page, 200, "Too little seen", "Would tell most next")
    assert 'data-verdict="too-little-seen"' in page.text


def test_same_as_the_engine(site: Site) -> None:
    """The page shows the engine's verdict on what is stored, in all of its sentences."""
    inspection = site.begin()
    for point, answer in kit.ANSWERS.items():
        site.answer(inspection, point, seen=str(next(iter(answer.values()))))
    judged = desk.judge_sheet(site.reference, site.document(inspection))
    page = site.get(f"/inspect/{inspection}/verdict")
    assert_says(page, 200, VERDICT_WORDS[judged.verdict.verdict])
    assert f'data-verdict="{judged.verdict.verdict}"' in page.text
    text = words(page)
    for sentence in judged.sentences:
        assert " ".join(sentence.text.split()) in text, sentence.about


def test_chart_and_table(site: Site) -> None:
    """The lifelines are drawn, hidden from screen readers, and stand in a table beside."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    site.answer(inspection, "volume-pot", seen="53-12")
    page = site.get(f"/inspect/{inspection}/verdict")
    assert page.text.count('class="band is-seen"') == 1
    assert 'class="stamps"' in page.text
    rows = re.findall(r'<th scope="row">(.*?)</th><td>(.*?)</td><td>(.*?)</td>', page.text)
    assert ("Knobs", "Wood", "Wood: until Jun 1953; Horn: from Jul 1953") in rows
    assert any(row[0] == "Volume pot" and row[1].startswith("53-12") for row in rows)


def test_not_seen_is_named(site: Site) -> None:
    """What was not looked at is said with its reason."""
    inspection = site.begin()
    site.answer(inspection, "volume-pot", not_seen="not-allowed")
    page = site.get(f"/inspect/{inspection}/verdict")
    assert_says(page, 200, "Not looked at", "Volume pot", "not allowed")


def test_cautions(site: Site) -> None:
    """The cautions always stand there, and no word that promises."""
    page = site.get(f"/inspect/{site.begin()}/verdict")
    assert_says(
        page,
        200,
        "no authentication, appraisal or guarantee, and no legal advice",
        "ask your national CITES Management Authority",
        "The text in force is the authority’s",
        "Local rules come first",
    )
    text = words(page).replace("no authentication, appraisal or guarantee", "").lower()
    assert not [word for word in CERTAINTIES if re.search(rf"\b{word}\b", text)]


def test_looking_changes_nothing(site: Site) -> None:
    """The verdict may be looked at as often as one likes."""
    inspection = site.begin()
    before = site.counts()
    for _ in range(2):
        site.get(f"/inspect/{inspection}/verdict")
    assert site.counts() == before
