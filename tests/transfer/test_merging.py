"""What becomes of an inspection that comes into a book that has it already, or has none."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.desk import export_book
from quickcheck.store import (
    THIS_BOOK,
    BookTaken,
    CarriedInspection,
    Fate,
    Kind,
    Scope,
    Sent,
    Show,
    Store,
    open_store,
)
from quickcheck.store.carried import CarriedDifference, CarriedLate, CarriedRevision, CarriedWord
from quickcheck.store.documents import write
from quickcheck.store.incoming_access import free_name
from quickcheck.store.merging import further_words, plan
from quickcheck.transfer import Taken, open_bundle, take
from tests.store.samples import document, reference
from tests.transfer.filled import NOW, at, rows

ONE = UUID(int=9)
Two = tuple[Store, Store]
Carry = Callable[[Store, Store], Taken]


def revision(number: int, name: str) -> CarriedRevision:
    text = write(document(name=name))
    return CarriedRevision(number, None, "answer", NOW, text.sha256, text.text, None)


def history(names: str, edition: str = "e") -> CarriedInspection:
    """Return an inspection with a revision for each letter."""
    revisions = tuple(revision(n, name) for n, name in enumerate(names, start=1))
    return CarriedInspection(ONE, edition, NOW, THIS_BOOK, None, revisions, (), (), (), (), ())


HISTORIES = st.text("abc", min_size=1, max_size=6).map(history)


@given(HISTORIES, HISTORIES)
def test_nothing_is_lost_and_nothing_overwritten(
    ours: CarriedInspection, theirs: CarriedInspection
) -> None:
    """After a merge our revisions stand as they stood, and every document of theirs is in the book."""
    planned = plan(ours.revisions, "e", theirs)
    after = ours.revisions + planned.revisions
    assert [one.number for one in after] == list(range(1, len(after) + 1))
    kept = {one.sha256 for one in after} | {one.sha256 for one in planned.late}
    assert kept == {one.sha256 for one in (*ours.revisions, *theirs.revisions)}
    assert not (planned.revisions and planned.late)
    assert all(0 <= late.base < late.current == len(ours.revisions) for late in planned.late)


@given(HISTORIES, HISTORIES)
def test_a_second_time_brings_no_other_revision(
    ours: CarriedInspection, theirs: CarriedInspection
) -> None:
    """What was on top goes on top once; what stands beside is what stood beside the first time."""
    first = plan(ours.revisions, "e", theirs)
    again = plan(ours.revisions + first.revisions, "e", theirs)
    assert again.revisions == ()
    assert again.late == first.late


def test_late_ones_are_moved_to_the_revision_that_both_have() -> None:
    """Their late document and what a phone judged otherwise keep to numbers that are ours too."""
    text = write(document(name="late"))
    late = [CarriedLate(b, c, NOW, text.sha256, text.text, None) for b, c in ((0, 1), (2, 3))]
    told = tuple(CarriedDifference(n, "{}", "{}", 1, NOW) for n in (1, 3))
    theirs = replace(history("abb"), late=tuple(late), differences=told)
    planned = plan(history("acc").revisions, "e", theirs)
    assert planned.fate is Fate.BESIDE
    assert [(one.base, one.current) for one in planned.late[:2]] == [(0, 1), (1, 3)]
    assert [one.revision for one in planned.differences] == [1]


def words(told: list[tuple[str, int]]) -> tuple[CarriedWord, ...]:
    """Return words about papers, each with a note and the minute in which it was said."""
    return tuple(
        CarriedWord(n, n - 1, "ledger", 1, 1, None, note, at(minute))
        for n, (note, minute) in enumerate(told, start=1)
    )


WORDS = st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 9)), max_size=5).map(words)


@given(WORDS, WORDS)
def test_no_word_about_papers_is_lost(
    ours: tuple[CarriedWord, ...], theirs: tuple[CarriedWord, ...]
) -> None:
    """Ours stay as they are, theirs are all there, each can be undone, and again adds nothing."""
    after = ours + further_words(ours, theirs)
    assert [one.number for one in after] == list(range(1, len(after) + 1))
    assert all(one.back is not None and one.back < one.number for one in after)
    told = {(one.note, one.said) for one in after}
    assert told == {(one.note, one.said) for one in (*ours, *theirs)}
    assert further_words(after, theirs) == ()


def test_of_papers_the_last_word_stands() -> None:
    """Whichever book takes the other's: both end with what was said last."""
    early, late = words([("a", 0), ("b", 1)]), words([("a", 0), ("c", 2)])
    for ours, theirs in ((early, late), (late, early)):
        after = ours + further_words(ours, theirs)
        assert after[-1].note == "c"
        assert further_words(theirs + further_words(theirs, after), after) == ()


@pytest.mark.parametrize(
    ("taken", "called"),
    [
        ((), "Balcony"),
        (("balcony",), "Balcony (2)"),
        (("balcony", "balcony (2)"), "Balcony (3)"),
    ],
)
def test_a_name_that_is_free(taken: tuple[str, ...], called: str) -> None:
    """It is the name itself, or the first number that nobody has."""
    assert free_name("Balcony", taken) == called


def test_a_long_name_that_is_taken() -> None:
    """The number has its place at the end, within what a name may have."""
    assert free_name("x" * 80, {"x" * 80}) == "x" * 76 + " (2)"


@pytest.fixture(name="two")
def _two(tmp_path: Path, other: Store) -> Iterator[Two]:
    """Return two books that began alike: one inspection of two revisions, taken along."""
    with open_store(tmp_path / "laptop.sqlite3") as laptop:
        laptop.library.keep(reference(), now=NOW)
        laptop.book.open(ONE, reference(), document(name="A"), now=NOW)
        laptop.book.save(ONE, document(name="B"), revision=1, now=at(1))
        carried = export_book(laptop, tmp_path / "first.zip", now=NOW).path
        with open_bundle(carried) as sound:
            take(other, sound)
        yield laptop, other


@pytest.fixture(name="carry")
def _carry(tmp_path: Path) -> Carry:
    """Return what takes one book into another."""

    def carry(source: Store, target: Store) -> Taken:
        with open_bundle(export_book(source, tmp_path, now=NOW).path) as sound:
            return take(target, sound)

    return carry


def names(store: Store) -> list[tuple[str, str]]:
    return [(one.key, one.document["name"]) for one in store.book.history(ONE)]


def test_the_same_adds_nothing(two: Two, carry: Carry) -> None:
    """It is here already."""
    laptop, home = two
    taken = carry(laptop, home)
    assert taken.inspections == {Fate.SAME: 1}
    assert not taken.changed


def test_theirs_goes_on(two: Two, carry: Carry) -> None:
    """What they saved since goes on top, an undo still takes it off, and the list finds it."""
    laptop, home = two
    laptop.book.save(ONE, document(name="C", serial_text="777"), revision=2, now=at(2))
    taken = carry(laptop, home)
    assert taken.inspections == {Fate.GROWN: 1}
    assert home.book.get(ONE) == laptop.book.get(ONE)
    assert [one.id for one in home.book.list(matching="777")] == [ONE]
    assert home.book.undo(ONE, at(3)).name == "B"
    assert carry(laptop, home).inspections == {Fate.SAME: 1}


def test_ours_goes_on(two: Two, carry: Carry) -> None:
    """What we saved since stays."""
    laptop, home = two
    home.book.save(ONE, document(name="C"), revision=2, now=at(2))
    before = home.book.get(ONE)
    assert carry(laptop, home).inspections == {Fate.SAME: 1}
    assert home.book.get(ONE) == before


def test_both_went_on(two: Two, carry: Carry) -> None:
    """Ours stands, theirs are kept beside it, the book says so, and a person's choice lasts."""
    laptop, home = two
    laptop.book.save(ONE, document(name="C"), revision=2, now=at(2))
    laptop.book.save(ONE, document(name="D"), revision=3, now=at(3))
    home.book.save(ONE, document(name="E"), revision=2, now=at(4))
    taken = carry(laptop, home)
    assert (taken.inspections, taken.beside) == ({Fate.BESIDE: 1}, (ONE,))
    assert names(home) == [
        ("revision-1", "A"),
        ("revision-2", "B"),
        ("revision-3", "E"),
        ("late-1", "C"),
        ("late-2", "D"),
    ]
    assert home.book.undecided() == {ONE}
    assert carry(laptop, home).inspections == {Fate.SAME: 1}
    home.book.bring_back(ONE, document(name="D"), revision=3, now=at(5))
    assert carry(laptop, home).inspections == {Fate.SAME: 1}
    assert home.book.undecided() == frozenset()
    assert carry(home, laptop).inspections == {Fate.BESIDE: 1}  # back on the laptop: E beside D
    assert laptop.book.get(ONE).name == "D"


def test_another_edition(two: Two, carry: Carry, tmp_path: Path) -> None:
    """Theirs are parked, as when a device sends such a one; again adds nothing."""
    _, home = two
    with open_store(tmp_path / "third.sqlite3") as third:
        newer = reference("2026-12", stroke=3)
        third.library.keep(newer, now=NOW)
        third.book.open(ONE, newer, document(name="Z"), now=NOW)
        assert carry(third, home).inspections == {Fate.BESIDE: 1}
        assert carry(third, home).inspections == {Fate.SAME: 1}
    parked = home.book.history(ONE)[-1]
    assert (parked.kind, parked.reason) == (Kind.PARKED, "another edition")
    assert parked.document["name"] == "Z"


def test_parked_here_and_opened_there(two: Two, carry: Carry, tmp_path: Path) -> None:
    """What was only parked here is opened by what comes, and the other way about; all is kept."""
    laptop, _ = two
    with open_store(tmp_path / "third.sqlite3") as third:
        third.book.park(ONE, Sent(document(name="P"), 0), edition_hash="f" * 64, reason="", now=NOW)
        assert carry(third, laptop).inspections == {Fate.GROWN: 1}
        assert carry(laptop, third).inspections == {Fate.NEW: 1}
        assert sorted(name for _, name in names(third)) == ["A", "B", "P"]
        assert carry(laptop, third).inspections == {Fate.SAME: 1}


def test_five_laptops(tmp_path: Path, carry: Carry, other: Store) -> None:
    """All of each is there in the end, in whatever order and however often they are taken."""
    laptops = []
    for n in range(5):
        laptop = open_store(tmp_path / f"laptop-{n}.sqlite3")
        laptop.library.keep(reference(), now=NOW)
        laptop.book.open(UUID(int=100 + n), reference(), document(name=f"{n}"), now=at(n))
        laptop.devices.welcome(at(n))
        laptops.append(laptop)
    for laptop in (*laptops[::-1], *laptops[:2]):
        carry(laptop, other)
        laptop.close()
    assert [one.name for one in other.book.list()] == ["4", "3", "2", "1", "0"]
    assert other.outgoing.counts()["devices"] == 5


def test_what_is_here_already_is_not_touched(
    book: Store, place: Path, exported: Path, tmp_path: Path
) -> None:
    """A full book that takes an export of a like one keeps every row that it had."""
    before = rows(place)
    with open_bundle(exported) as sound:
        taken = take(book, sound)
    after = rows(place)
    assert all(before[table] <= after[table] for table in before)
    # Two of each, with devices of their own; but every document of theirs is here already.
    assert taken.inspections == {Fate.SAME: 5}
    assert (taken.devices, taken.photos, taken.editions) == (2, 0, 0)
    assert taken.books == (BookTaken("Balcony", "Balcony (2)"),)
    assert not taken.show
    assert (len(taken.seals.keys), taken.seals.cards) == (3, 4)
    assert taken.seals.clashes == ()


def test_books_of_one_identity_are_one(other: Store, tmp_path: Path, carry: Carry) -> None:
    """A book keeps its name here, whatever it is called there since; one that is new has its own."""
    with open_store(tmp_path / "hall.sqlite3") as hall:
        hall.access.name_book(THIS_BOOK, "Hall")
        balcony = hall.access.new_book("Balcony", NOW)
        first = carry(hall, other)  # into an instance that nobody used
        assert [(book.name, book.called) for book in first.books] == [("Balcony", "Balcony")]
        assert other.access.books() == hall.access.books()
        hall.access.name_book(balcony.id, "Gallery")
        assert not carry(hall, other).changed
    assert [book.name for book in other.access.books()] == ["Hall", "Balcony"]


def test_a_name_that_two_books_have(other: Store, tmp_path: Path, carry: Carry) -> None:
    """Both are kept, the one that comes under a name with a number, once."""
    other.access.new_book("Balcony", NOW)
    with open_store(tmp_path / "hall.sqlite3") as hall:
        book = hall.access.new_book("balcony", at(1))
        hall.library.keep(reference(), now=NOW)
        hall.within(Scope(book.id)).book.open(ONE, reference(), document(name="A"), now=NOW)
        assert carry(hall, other).books == (BookTaken("balcony", "balcony (2)"),)
        assert carry(hall, other).books == ()
    assert [each.name for each in other.access.books()] == ["This book", "Balcony", "balcony (2)"]
    assert [one.id for one in other.within(Scope(book.id)).book.list()] == [ONE]
    assert not other.within(Scope(THIS_BOOK)).book.list()


def test_an_inspection_stays_in_the_book_that_it_is_in_here(
    other: Store, tmp_path: Path, carry: Carry
) -> None:
    """Also what is parked for it: whoever could see it still can."""
    with open_store(tmp_path / "hall.sqlite3") as hall:
        for store, edition in ((other, reference()), (hall, reference("2026-12", stroke=3))):
            store.library.keep(edition, now=NOW)
            book = store.access.new_book("Balcony", NOW)
            mine = store.within(Scope(book.id)).book
            mine.open(ONE, edition, document(name="A"), now=NOW)
        (ours,) = (
            scoped
            for each in other.access.books()
            if (scoped := other.within(Scope(each.id))).book.list()
        )
        assert carry(hall, other).inspections == {Fate.BESIDE: 1}
        assert [entry.kind for entry in ours.book.history(ONE)][-1] is Kind.PARKED


def test_the_show_that_is_here_stays(book: Store, other: Store, carry: Carry) -> None:
    """So do a device and its count; the same again brings nothing."""
    here = Show("Market", NOW.date(), NOW.date(), "http://localhost:8000")
    other.show.put(here, NOW)
    taken = carry(book, other)
    assert not taken.show
    assert other.show.get() == here
    assert [line.tally for line in other.tallies.counted() if line.tally] == [
        line.tally for line in book.tallies.counted() if line.tally
    ]
    assert not carry(book, other).changed
