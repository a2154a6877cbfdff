"""`/read`: one marking by itself, and the words under a date code."""

import pytest

from quickcheck.readings import SCHEMES, read_code
from quickcheck.web.words import code_words
from tests.web.checklist import Page
from tests.web.kit import Site, assert_says


class TestRead(Page):
    """What holds at every endpoint."""

    path = "/read"


@pytest.mark.parametrize("name", SCHEMES)
def test_every_scheme_is_offered_and_read(site: Site, name: str) -> None:
    """It stands in the form and in the list, and its example says what the reading says."""
    scheme = SCHEMES[name]
    page = site.client.get("/read", query_string={"scheme": name, "text": scheme.example})
    assert_says(page, 200, scheme.title, scheme.about, "Sources")
    assert_says(page, 200, scheme.read(scheme.example).says)
    assert f'<option value="{name}" selected>' in page.text


@pytest.mark.parametrize(
    ("scheme", "text", "said"),
    [
        ("source-week", "137 634", "week 34 of 1956 19 Aug 1956 to 26 Aug 1956"),
        ("patent-us", "12,000,000", "the table ends there from 4 Jan 2000 on"),
        ("patent-us", "500,000", "where the table begins to 26 Dec 1899"),
        ("date-stamp", "AUG 14 1966", "14 Aug 1966"),
    ],
)
def test_days_of_each_meaning(site: Site, scheme: str, text: str, said: str) -> None:
    """Both ends, one, or the day that the words name already."""
    assert_says(site.client.get("/read", query_string={"scheme": scheme, "text": text}), 200, said)


def test_pending_has_no_list(site: Site) -> None:
    """What bounds nothing has its sentence and no meanings."""
    page = site.client.get("/read", query_string={"scheme": "patent-us", "text": "Pat. pend."})
    assert_says(page, 200, "bounds nothing")
    assert '<ul class="says">\n<li>US patent' not in page.text


@pytest.mark.parametrize(
    ("scheme", "text", "said"),
    [
        ("weight", "3.5", "Write g, kg, oz or lb after the number."),
        ("moon-phase", "59-31", "expected one of year-week"),
        ("mark", "<b>x</b>", "expected one of these"),
    ],
)
def test_what_can_not_be_read_is_told(site: Site, scheme: str, text: str, said: str) -> None:
    """With what was expected, and as text."""
    page = site.client.get("/read", query_string={"scheme": scheme, "text": text})
    assert_says(page, 422, said)
    assert "<b>x</b>" not in page.text


def test_an_empty_form_says_nothing(site: Site) -> None:
    """Nothing was given, so nothing is wrong."""
    page = site.client.get("/read?text=+")
    assert_says(page, 200, "Read a marking")
    assert 'class="fault"' not in page.text


def test_words_under_a_date_code() -> None:
    """What is whole is told; what is not says nothing yet."""
    assert code_words("year-week", "52-48") == read_code("year-week", "52-48").says
    assert code_words("year-week", "52-") == ""


def test_a_code_that_was_given_is_told_in_its_point(site: Site) -> None:
    """Without scripts too: the words stand under the field of the saved answer."""
    path = f"/inspect/{site.begin()}"
    page = site.get(f"{path}?at=volume-pot")
    assert '<p class="reads" role="status" data-scheme="year-week"></p>' in page.text
    site.post(f"{path}/answer", {"_point": "volume-pot", "volume-pot": "52-48"})
    assert_says(site.get(f"{path}?at=volume-pot"), 200, read_code("year-week", "52-48").says)
