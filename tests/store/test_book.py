"""The book: revisions on top of one another, and what comes too late."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from uuid import UUID, uuid4

import pytest

from quickcheck.errors import AnswerError, ConflictError, NotFoundError
from quickcheck.store import Kind, Saved, Store, open_store
from tests.store.samples import document, reference

Begin = Callable[..., Saved]
Tick = Callable[[], datetime]
NOON = datetime(2026, 4, 11, 12, tzinfo=UTC)


def test_an_opened_inspection_comes_back_as_it_went_in(store: Store, address: str) -> None:
    """What was opened is there after the program was started anew."""
    inspection = uuid4()
    opened = store.book.open(
        inspection, reference(), document(name="Old Seventy-Seven", serial_text=" 77 "), now=NOON
    )
    store.close()
    with open_store(address) as again:
        saved = again.book.get(inspection)
    assert saved == opened
    assert saved.document == document(name="Old Seventy-Seven", serial_text=" 77 ")
    assert (saved.id, saved.revision, saved.undoable) == (inspection, 1, False)
    assert (saved.name, saved.serial) == ("Old Seventy-Seven", "77")
    assert (saved.reference_hash, saved.reference_id) == (reference().hash, reference().id)
    assert saved.title == reference().title


def test_a_document_gets_the_hash_of_its_canonical_text(begin: Begin) -> None:
    """The order of keys makes no other document; the receipt's hash can be made by anyone."""
    first = begin(b=1, a="ä")
    assert first.text.startswith('{"a":"ä","answers":{"plate-screws":{"seen":"cross"}},"b":1')
    assert first.sha256 == begin(a="ä", b=1).sha256 != begin(a="ä", b=2).sha256


def test_moments_keep_their_place_on_the_time_line(store: Store) -> None:
    """A time of another zone comes back as the same moment, in UTC, to the microsecond."""
    inspection, summer = uuid4(), timezone(timedelta(hours=1))
    now = datetime(2026, 4, 11, 13, 5, 6, 789012, tzinfo=summer)
    store.book.open(inspection, reference(), document(), now=now)
    saved = store.book.get(inspection)
    assert saved.opened == saved.saved == now
    assert saved.opened.tzinfo is UTC


def test_a_moment_without_a_zone_is_a_bug(store: Store) -> None:
    """A naive time would be read as local time on one machine and as UTC on another."""
    with pytest.raises(ValueError, match="time zone"):
        store.book.open(uuid4(), reference(), document(), now=datetime(2026, 4, 11))  # noqa: DTZ001


def test_save_puts_a_revision_on_top(store: Store, begin: Begin, tick: Tick) -> None:
    """Each saved document is the next revision; the one before stays in the history."""
    first = begin()
    second = store.book.save(first.id, document(n=2), revision=1, now=tick(), kind=Kind.IMPORT)
    assert (second.revision, second.back, second.undoable) == (2, 1, True)
    assert second == store.book.get(first.id)
    assert second.saved > second.opened == first.opened
    told = [(e.number, e.back, e.kind, e.document) for e in store.book.history(first.id)]
    assert told == [(1, None, "answer", document()), (2, 1, "import", document(n=2))]


def test_saving_what_is_there_makes_no_revision(store: Store, begin: Begin, tick: Tick) -> None:
    """A form sent twice leaves no step that an undo would seem to ignore."""
    first = begin()
    assert store.book.save(first.id, document(), revision=1, now=tick()) == first
    assert len(store.book.history(first.id)) == 1


def test_a_repeat_gets_its_first_receipt(store: Store, begin: Begin, tick: Tick) -> None:
    """Sent again because the reply was lost, a document is neither doubled nor in conflict."""
    first = begin()
    receipt = store.book.save(first.id, document(n=2), revision=1, now=tick())
    assert store.book.save(first.id, document(n=2), revision=1, now=tick()) == receipt
    store.book.save(first.id, document(n=3), revision=2, now=tick())
    late = store.book.save(first.id, document(n=2), revision=1, now=tick())
    assert (late.revision, late.sha256, late.saved) == (2, receipt.sha256, receipt.saved)
    assert [entry.number for entry in store.book.history(first.id)] == [1, 2, 3]


def test_opening_again_gets_the_first_receipt(store: Store, begin: Begin) -> None:
    """An inspection whose opening is sent twice is one inspection."""
    first = begin()
    assert begin(first.id) == first
    assert len(store.book.list()) == 1


def test_opening_again_with_another_document_is_a_conflict(store: Store, begin: Begin) -> None:
    """Two devices that take one id for two inspections lose neither document."""
    first = begin()
    with pytest.raises(ConflictError, match="Both are kept"):
        begin(first.id, name="another")
    assert store.book.get(first.id) == first
    assert [e.document for e in store.book.history(first.id)] == [
        document(),
        document(name="another"),
    ]


@pytest.mark.parametrize(("base", "kept"), [(1, 1), (0, 0), (-5, -1), (9, 9), (2**80, 2**31 - 1)])
def test_a_stale_save_is_refused_and_both_are_kept(
    store: Store, begin: Begin, tick: Tick, base: int, kept: int
) -> None:
    """A document on any revision but the current one goes to the history, and the current stays."""
    first = begin()
    current = store.book.save(first.id, document(n=2), revision=1, now=tick())
    with pytest.raises(ConflictError, match=f"revision 2, the current one; got .* revision {base}"):
        store.book.save(first.id, document(late=True), revision=base, now=tick())
    assert store.book.get(first.id) == current
    late = store.book.history(first.id)[-1]
    assert (late.number, late.back, late.kind) == (None, kept, Kind.LATE)
    assert late.document == document(late=True)


def test_the_same_late_document_is_kept_once(store: Store, begin: Begin, tick: Tick) -> None:
    """A device that tries again and again doesn't fill the history."""
    first = begin()
    store.book.save(first.id, document(n=2), revision=1, now=tick())
    for _ in range(3):
        with pytest.raises(ConflictError):
            store.book.save(first.id, document(late=True), revision=1, now=tick())
    assert len(store.book.history(first.id)) == 3


def test_late_documents_stand_after_the_revision_they_missed(
    store: Store, begin: Begin, tick: Tick
) -> None:
    """The history is in the order of the revisions, with late documents where they came in."""
    first = begin()
    store.book.save(first.id, document(n=2), revision=1, now=tick())
    with pytest.raises(ConflictError):
        store.book.save(first.id, document(n="late"), revision=1, now=tick())
    store.book.save(first.id, document(n=3), revision=2, now=tick())
    entries = store.book.history(first.id)
    assert [(e.number, e.document.get("n")) for e in entries] == [
        (1, None), (2, 2), (None, "late"), (3, 3),
    ]  # fmt: skip


def test_undo_walks_back_like_a_stack(store: Store, begin: Begin, tick: Tick) -> None:
    """Undo after undo goes back to the first document; a save then lies on what came back."""
    first = begin(n="A")
    for number, name in ((1, "B"), (2, "C")):
        store.book.save(first.id, document(n=name), revision=number, now=tick())
    steps = [store.book.undo(first.id, tick()) for _ in range(3)]
    assert [(s.revision, s.document["n"], s.back) for s in steps] == [
        (4, "B", 1), (5, "A", None), (5, "A", None),
    ]  # fmt: skip
    assert store.book.save(first.id, document(n="D"), revision=5, now=tick()).back == 5
    assert store.book.undo(first.id, tick()).document["n"] == "A"
    entries = store.book.history(first.id)
    assert "".join(entry.document["n"] for entry in entries) == "ABCBADA"
    assert [entry.kind for entry in entries[3:]] == ["undo", "undo", "answer", "undo"]


def test_amend_works_on_what_is_there(store: Store, begin: Begin, tick: Tick) -> None:
    """A change is put on the current document, whoever saved it."""
    first = begin()
    store.book.save(first.id, document(other="hand"), revision=1, now=tick())

    def change(answers: dict[str, Any]) -> None:
        answers["answers"]["plate-screws"]["sure"] = False

    saved = store.book.amend(first.id, change, now=tick())
    assert saved.revision == 3
    assert saved.document["other"] == "hand"
    assert saved.document["answers"]["plate-screws"] == {"seen": "cross", "sure": False}
    assert saved == store.book.get(first.id)
    assert store.book.amend(first.id, change, now=tick()) == saved


def test_an_amendment_that_fails_leaves_everything(store: Store, begin: Begin, tick: Tick) -> None:
    """A change that is refused half-way saves nothing, and the book can be written again."""
    first = begin()

    def refuse(answers: dict[str, Any]) -> None:
        answers.clear()
        raise AnswerError.of("answers", expected="sense", came="none", remedy="Look again.")

    with pytest.raises(AnswerError, match="Look again"):
        store.book.amend(first.id, refuse, now=tick())
    assert store.book.get(first.id) == first
    assert store.book.save(first.id, document(n=2), revision=1, now=tick()).revision == 2


@pytest.mark.parametrize(
    "value",
    [
        pytest.param(float("nan"), id="nan"),
        pytest.param(float("inf"), id="infinite"),
        pytest.param({1, 2}, id="set"),
        pytest.param(b"bytes", id="bytes"),
        pytest.param("\ud800", id="half a character"),
        pytest.param(10**5000, id="endless number"),
        pytest.param({1: 1, "1": 2}, id="keys of two kinds"),
    ],
)
def test_only_plain_json_is_saved(store: Store, begin: Begin, tick: Tick, value: object) -> None:
    """What JSON can't carry is refused as a fault of the answers, and nothing is saved."""
    first = begin()
    with pytest.raises(AnswerError, match="document: expected plain JSON"):
        store.book.save(first.id, document(value=value), revision=1, now=tick())
    assert store.book.get(first.id) == first


def test_a_bottomless_document_is_refused(begin: Begin) -> None:
    """Lists in lists without end are a fault of the answers, not of the program."""
    deep: list[object] = []
    deep.append(deep)
    with pytest.raises(AnswerError, match="plain JSON"):
        begin(deep=deep)


def test_an_unknown_inspection_is_not_found(store: Store, tick: Tick) -> None:
    """Every way to an inspection says that there is none of that id."""
    nobody = UUID(int=0)
    calls: tuple[Callable[[], object], ...] = (
        lambda: store.book.get(nobody),
        lambda: store.book.save(nobody, document(), revision=1, now=tick()),
        lambda: store.book.amend(nobody, lambda _: None, now=tick()),
        lambda: store.book.undo(nobody, tick()),
        lambda: store.book.history(nobody),
    )
    for call in calls:
        with pytest.raises(NotFoundError, match=str(nobody)):
            call()


def test_an_inspection_needs_its_edition(store: Store) -> None:
    """An inspection that could never be judged again is not opened."""
    stranger = reference("2027-01")
    with pytest.raises(NotFoundError, match="Keep it first"):
        store.book.open(uuid4(), stranger, document(), now=NOON)
    assert store.book.list() == ()


def test_the_list_is_paged_last_opened_first(store: Store, begin: Begin) -> None:
    """Pages follow on one another without gap or double, whatever is saved in between."""
    opened = [begin(n=n) for n in range(7)]
    pages, last = [], None
    while page := store.book.list(3, last):
        store.book.save(page[0].id, document(n="x"), revision=1, now=NOON)
        pages.append(page)
        last = page[-1].id
    assert [len(page) for page in pages] == [3, 3, 1]
    met = [saved.id for page in pages for saved in page]
    assert met == [saved.id for saved in reversed(opened)]
    assert store.book.list(before=uuid4()) == ()
    assert store.book.list(-1) == ()


def test_inspections_of_one_moment_have_an_order(store: Store) -> None:
    """An import opens many at once; paging through them still meets each once."""
    for n in range(5):
        store.book.open(uuid4(), reference(), document(n=n), now=NOON)
    seen, last = [], None
    while page := store.book.list(2, last):
        seen += [saved.id for saved in page]
        last = page[-1].id
    assert len(seen) == len(set(seen)) == 5


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("vicar", 1),
        ("VICAR poplin", 1),
        ("1388", 1),
        ("52-47", 1),
        ("hobbinsley", 2),
        ("vicar aunt", 0),
        ("100%", 1),
        ("_", 0),
        ("ﬁnd ÖHR", 1),
        ("\ud800vicar", 0),
        ("nul?", 1),
        ("'; DROP TABLE inspection; --", 0),
        ("%' OR '1'='1", 0),
        ("", 2),
    ],
)
def test_inspections_are_found_by_words(store: Store, begin: Begin, words: str, found: int) -> None:
    """Name, serial, codes read and title are searched, each word anywhere, case aside."""
    begin(name="The Vicar", serial_text="1388", answers={"pot": {"read": "52-47"}, "odd": "x"})
    begin(name="100% find, Öhr, nul\0", answers=[])
    assert len(store.book.list(matching=words)) == found
