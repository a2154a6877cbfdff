"""Any sequence of saves, undoes and late documents, against a plain list."""

import itertools
import os
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from quickcheck.errors import ConflictError
from quickcheck.store import Kind, open_store
from tests.postgres import ON_POSTGRESQL, borrowed_book
from tests.store.samples import document, reference

letters = st.sampled_from("ABCD")


class Sequences(RuleBasedStateMachine):
    """The model: `stack` is what undo walks down, `log` everything that was ever received."""

    def __init__(self) -> None:
        super().__init__()
        self.books = ExitStack()
        self.store = open_store(self.books.enter_context(borrowed_book()))
        if self.store._database.is_sqlite:  # the disk's own pace has nothing to do with the rules
            with self.store._database.reading() as connection:
                connection.exec_driver_sql("PRAGMA journal_mode = MEMORY")
        self.store.library.keep(reference())
        self.id, self.ticks = uuid4(), itertools.count()
        self.store.book.open(self.id, reference(), document(n="A"), now=self.now())
        self.stack, self.number = ["A"], 1
        self.log: list[tuple[int | None, Kind, str]] = [(1, Kind.ANSWER, "A")]
        self.late: set[tuple[int, str]] = set()

    def now(self) -> datetime:
        return datetime(2026, 4, 11, tzinfo=UTC) + timedelta(seconds=next(self.ticks))

    def teardown(self) -> None:
        self.store.close()
        self.books.close()

    def pushed(self, letter: str) -> None:
        if letter != self.stack[-1]:
            self.stack.append(letter)
            self.logged(Kind.ANSWER)

    def logged(self, kind: Kind) -> None:
        self.number += 1
        self.log.append((self.number, kind, self.stack[-1]))

    @rule(letter=letters)
    def save(self, letter: str) -> None:
        self.store.book.save(self.id, document(n=letter), revision=self.number, now=self.now())
        self.pushed(letter)

    @rule(letter=letters)
    def amend(self, letter: str) -> None:
        self.store.book.amend(self.id, lambda answers: answers.update(n=letter), now=self.now())
        self.pushed(letter)

    @rule()
    def undo(self) -> None:
        self.store.book.undo(self.id, self.now())
        if len(self.stack) > 1:
            self.stack.pop()
            self.logged(Kind.UNDO)

    @precondition(lambda self: self.number > 1)
    @rule(letter=letters, data=st.data())
    def save_late(self, letter: str, data: st.DataObject) -> None:
        base = data.draw(st.integers(0, self.number - 1))
        after = next(text for number, _, text in self.log if number == base + 1)
        if after == letter:  # sent again
            saved = self.store.book.save(self.id, document(n=letter), revision=base, now=self.now())
            assert (saved.revision, saved.document["n"]) == (base + 1, letter)
            return
        with pytest.raises(ConflictError, match="Both are kept"):
            self.store.book.save(self.id, document(n=letter), revision=base, now=self.now())
        if (base, letter) not in self.late:
            self.late.add((base, letter))
            self.log.append((None, Kind.LATE, letter))

    @invariant()
    def the_current_document_is_the_top_of_the_stack(self) -> None:
        saved = self.store.book.get(self.id)
        assert (saved.revision, saved.document["n"]) == (self.number, self.stack[-1])
        assert saved.undoable == (len(self.stack) > 1)

    @invariant()
    def the_history_holds_everything_in_order(self) -> None:
        entries = self.store.book.history(self.id)
        assert [(e.number, e.kind, e.document["n"]) for e in entries] == self.log
        assert all(before.saved < after.saved for before, after in itertools.pairwise(entries))


TestSequences = Sequences.TestCase
TestSequences.settings = settings(
    max_examples=400 if os.environ.get("QUICKCHECK_FULL") else 6 if ON_POSTGRESQL else 12,
    stateful_step_count=20,
    deadline=None,
)
