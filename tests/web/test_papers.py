"""`/inspect/<id>/papers`: an inspection marked as documented, corrected, taken back, undone."""

from quickcheck.readings import month_of
from quickcheck.store import Paper, Papers
from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site, assert_says

RECEIPT = {"kind": "receipt", "first": "1953-03", "last": "1953-05", "doubt": "2", "note": "Box"}


class TestPapers(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/papers"
    methods = frozenset({"GET", "POST"})


class TestWithdraw(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/papers/withdraw"


class TestUndo(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/papers/undo"


def test_marked(site: Site) -> None:
    """What is said of the papers is kept, shown in words, and offered again to be corrected."""
    inspection = site.begin(name="The Vicar")
    page = f"/inspect/{inspection}/papers"
    assert_says(site.get(page), 200, "Do papers say when it was built?", "within 1950–1959")
    assert site.post(page, RECEIPT).location == page
    march, may = month_of(1953, 3), month_of(1953, 5)
    found = site.store.documented.of([inspection])[inspection]
    assert found == Papers(Paper.RECEIPT, march, may, 2.0, "Box")
    again = site.get(page)
    assert_says(again, 200, "Documented: Mar–May 1953 ± 2 months, receipt or bill of sale.", "Box")
    for value in ('value="1953-03"', 'value="1953-05"', 'value="2"', 'value="receipt" checked'):
        assert value in again.text


def test_shown_in_the_book(site: Site) -> None:
    """The book says which inspections are documented, and leads to the papers of every one."""
    one, other = site.begin(), site.begin()
    site.post(f"/inspect/{one}/papers", {"kind": "photo", "first": "1953-03"})
    book = site.get("/book")
    assert_says(book, 200, "Documented: Mar 1953, dated photo")
    for inspection in (one, other):
        assert f'href="/inspect/{inspection}/papers"' in book.text


def test_faults(site: Site) -> None:
    """What can't be taken stays in its field, with what is wrong; nothing is kept."""
    inspection = site.begin()
    reply = site.post(f"/inspect/{inspection}/papers", RECEIPT | {"first": "spring <53>"})
    assert_says(reply, 422, "first month: expected a month from 1800-01")
    assert 'value="spring &lt;53&gt;"' in reply.text
    assert site.store.documented.history(inspection) == ()


def test_undone(site: Site) -> None:
    """Corrected, taken back and undone, each word stays to be seen; at the end nothing can be undone."""
    inspection = site.begin()
    page = f"/inspect/{inspection}/papers"
    site.post(page, RECEIPT)
    site.post(page, {"kind": "ledger", "first": "1953-04"})
    site.post(f"{page}/withdraw", {})
    assert_says(site.get(page), 200, "No papers that count", "ledger or shipping list")
    assert "They count no more" not in site.get(page).text
    for _ in range(3):
        assert site.post(f"{page}/undo", {}).location == page
    assert site.store.documented.of([inspection]) == {}
    assert "Undo the last word" not in site.get(page).text
    assert_says(site.post(f"{page}/undo", {}), 409, "Nothing was changed")


def test_the_verdict_is_the_same(site: Site) -> None:
    """Papers move no verdict and add no revision: they teach references only."""
    inspection = site.begin()
    before = site.counts()
    site.post(f"/inspect/{inspection}/papers", RECEIPT)
    assert site.counts() == before
