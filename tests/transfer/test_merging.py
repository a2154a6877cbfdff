"""What becomes of an inspection that comes into a book that has it already, or has none."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.desk import export_book
from quickcheck.store import CarriedInspection, Fate, Kind, Sent, Store, open_store
from quickcheck.store.carried import CarriedDifference, CarriedLate, CarriedRevision
from quickcheck.store.documents import write
from quickcheck.store.merging import plan
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
    return CarriedInspection(ONE, edition, NOW, revisions, (), (), (), ())


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
    for laptop in (*laptops[::-1], *laptops):
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
    # Two books, each with a phone of its own; but every document of theirs is here already.
    assert taken.inspections == {Fate.SAME: 4}
    assert (taken.devices, taken.photos, taken.editions) == (1, 0, 0)
    assert (len(taken.seals.keys), taken.seals.cards) == (3, 4)
    assert taken.seals.clashes == ()
