"""Documented inspections: what may be said of papers, and what the book teaches by them."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.errors import AnswerError
from quickcheck.learn import Table
from quickcheck.readings import month_of
from quickcheck.reference import Reference, read_reference_text
from quickcheck.store import Paper, Papers, Saved, Store, open_store
from tests import kit

NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)
TYPED = {"kind": "receipt", "first": "1953-03", "last": "1953-05", "doubt": "2,5", "note": " Box "}


@pytest.fixture(name="reference", scope="module")
def _reference() -> Reference:
    return read_reference_text(kit.REFERENCE)


@pytest.fixture(name="store")
def _store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "book.sqlite3") as store:
        yield store


def opened(store: Store, reference: Reference, **more: object) -> Saved:
    return desk.open_inspection(store, reference, kit.document(**more), now=NOW)


def test_what_was_typed(reference: Reference) -> None:
    """Months, doubt with either comma and a note become papers; one month needs no last one."""
    march, may = month_of(1953, 3), month_of(1953, 5)
    assert desk.papers_of(reference, TYPED) == Papers(Paper.RECEIPT, march, may, 2.5, "Box")
    short = desk.papers_of(reference, {"kind": "photo", "first": "1953-03"})
    assert short == Papers(Paper.PHOTO, march, march, None, "")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"kind": ""}, "what the paper is: expected one of the kinds shown; got nothing"),
        ({"kind": "rumour"}, 'got "rumour"'),
        ({"first": "spring"}, "first month: expected a month"),
        ({"last": "1953-13"}, "last month: expected a month"),
        ({"last": "1953-01"}, "expected a month not before the first"),
        ({"first": "1939-01"}, "expected months within 1950–1959"),
        ({"doubt": "some"}, "doubt: expected months, 0 to 600"),
        ({"doubt": "601"}, "doubt: expected months, 0 to 600"),
        ({"note": "x" * 401}, "at most 400 signs; got 401 signs"),
    ],
)
def test_what_can_not_be_said(
    reference: Reference, change: Mapping[str, str], message: str
) -> None:
    """Each fault is told with what to do."""
    with pytest.raises(AnswerError) as caught:
        desk.papers_of(reference, TYPED | change)
    assert message in str(caught.value)


def test_all_faults_at_once(reference: Reference) -> None:
    """Whoever fills the form sees all that is wrong with it."""
    with pytest.raises(AnswerError) as caught:
        desk.papers_of(reference, {"doubt": "x"})
    assert len(caught.value.faults) == 3


def test_the_book_teaches(store: Store, reference: Reference) -> None:
    """A documented inspection is an example: its answers, the papers' months, never the claim."""
    saved = opened(store, reference, name="The Vicar")
    opened(store, reference)
    desk.say_papers(store, saved, TYPED, now=NOW)
    found = desk.examples_of_book(store, reference)
    (one,) = found.examples
    assert (one.first, one.last) == (month_of(1953, 3), month_of(1953, 5))
    assert one.doubt == pytest.approx((2.5**2 + 9 / 12 - 1 / 12) ** 0.5)
    assert one.name == f"The Vicar ({str(saved.id)[:8]})"
    assert one.answers["knobs"].seen == ("wood",)
    assert desk.documented_counts(store) == {"loom-one": 1}
    assert found.faults == ()


def test_one_month_without_a_doubt(store: Store, reference: Reference) -> None:
    """Of a month of which nothing is said the doubt is what a table's would be: four months."""
    papers = desk.papers_of(reference, {"kind": "photo", "first": "1953-03"})
    one = desk.example_of(reference, kit.document(), papers=papers, name="one")
    assert one.doubt == pytest.approx(4)


def test_what_points_of_today_can_not_take(store: Store, reference: Reference) -> None:
    """An inspection with a variant that the points have no more is told by its name."""
    saved = opened(store, reference, name="The Vicar")
    desk.say_papers(store, saved, TYPED, now=NOW)
    newer = read_reference_text(kit.REFERENCE.replace('id = "wood"', 'id = "bone"'))
    found = desk.examples_of_book(store, newer)
    assert (found.examples, found.faulty_rows) == ((), 1)
    assert found.faults[0].where.startswith("The Vicar (")


def test_another_reference(store: Store, reference: Reference) -> None:
    """Inspections of other references teach nothing here."""
    desk.say_papers(store, opened(store, reference), TYPED, now=NOW)
    other = read_reference_text(kit.REFERENCE.replace('id = "loom-one"', 'id = "loom-two"'))
    assert desk.examples_of_book(store, other) == Table((), (), 0)


def test_a_table_and_the_book_together(store: Store, reference: Reference) -> None:
    """Examples, faults and counts of both are one table."""
    desk.say_papers(store, opened(store, reference), TYPED, now=NOW)
    text = "instrument,month,knobs\none,1952-01,wood\ntwo,1952-01,tin\n"
    rows = desk.examples_in(reference, text.encode(), name="t.csv")
    found = desk.together(rows, desk.examples_of_book(store, reference))
    assert (len(found.examples), len(found.faults), found.faulty_rows) == (2, 1, 1)
