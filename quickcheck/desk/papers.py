"""Papers: an inspection of the book marked as documented, and what the book teaches."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime

from quickcheck.engine import read_sheet
from quickcheck.errors import AnswerError, Fault, QuickcheckError, ReadingError, shown
from quickcheck.learn import MOST_DOUBT, Example, Table, doubt_of
from quickcheck.readings import parse_month, run_words
from quickcheck.reference import Reference
from quickcheck.store import Paper, Papers, Saved, Store, Word

_LONGEST_NOTE = 400


def say_papers(store: Store, saved: Saved, typed: Mapping[str, str], *, now: datetime) -> Word:
    """Say what an inspection's papers give, as typed; AnswerError has all that is wrong with it.

    ``typed`` has ``kind``, ``first``, ``last`` ("": one month), ``doubt`` ("": not said), ``note``.
    """
    papers = papers_of(store.library.get(saved.reference_hash), typed)
    return store.documented.say(saved.id, papers, now=now)


def papers_of(reference: Reference, typed: Mapping[str, str]) -> Papers:
    """Return what was typed as papers."""
    faults: list[Fault] = []
    kind = typed.get("kind", "")
    if kind not in set(Paper):
        expected, came = "one of the kinds shown", shown(kind) if kind else "nothing"
        faults.append(Fault("what the paper is", expected, came, "Choose one."))
    first = _month(typed, "first", faults)
    last = _month(typed, "last", faults) if typed.get("last", "").strip() else first
    doubt = _doubt(typed.get("doubt", ""), faults)
    note = typed.get("note", "").strip()
    if len(note) > _LONGEST_NOTE:
        came = f"{len(note)} signs"
        faults.append(Fault("note", f"at most {_LONGEST_NOTE} signs", came, "Shorten it."))
    if first is not None and last is not None:
        faults += _run_faults(reference, first, last)
    if faults or first is None or last is None:
        raise AnswerError(*faults)
    return Papers(Paper(kind), first, last, doubt, note)


def _month(typed: Mapping[str, str], which: str, faults: list[Fault]) -> int | None:
    try:
        return parse_month(typed.get(which, ""), where=f"{which} month")
    except ReadingError as error:
        faults += error.faults
        return None


def _doubt(text: str, faults: list[Fault]) -> float | None:
    if not text.strip():
        return None
    try:
        doubt = float(text.replace(",", "."))
    except ValueError:
        doubt = -1.0
    if not 0 <= doubt <= MOST_DOUBT:
        expected = f"months, 0 to {MOST_DOUBT:g}"
        faults.append(Fault("doubt", expected, shown(text), "Write a number, like 4, or nothing."))
    return doubt


def _run_faults(reference: Reference, first: int, last: int) -> Iterator[Fault]:
    if first > last:
        came = run_words(last, first)
        yield Fault("last month", "a month not before the first", came, "Turn them round.")
    elif not reference.covers[0] <= first <= last <= reference.covers[1]:
        expected = f"months within {run_words(*reference.covers)}, which the reference knows"
        came = run_words(first, last)
        yield Fault("months", expected, came, "Mend them, or take another reference.")


def documented_counts(store: Store) -> Mapping[str, int]:
    """Return how many inspections are documented, by the id of their reference."""
    return Counter(saved.reference_id for saved, _ in _documented(store))


def examples_of_book(store: Store, reference: Reference) -> Table:
    """Return the documented inspections of a reference as examples, with the faults of others."""
    examples, faults, faulty = [], list[Fault](), 0
    for saved, papers in _documented(store):
        if saved.reference_id != reference.id:
            continue
        name = name_of(saved)
        try:
            examples.append(example_of(reference, saved.document, papers=papers, name=name))
        except QuickcheckError as error:
            faulty += 1
            faults += [replace(fault, where=f"{name}, {fault.where}") for fault in error.faults]
    return Table(tuple(examples), tuple(faults), faulty)


def _documented(store: Store) -> Iterator[tuple[Saved, Papers]]:
    for word in store.documented.all():
        if word.papers:
            yield store.book.get(word.inspection), word.papers


def name_of(saved: Saved) -> str:
    """Return what an inspection goes by in a list of examples: nobody else has that name."""
    return f"{saved.name or saved.serial or saved.title} ({str(saved.id)[:8]})"


def example_of(
    reference: Reference, document: Mapping[str, object], *, papers: Papers, name: str
) -> Example:
    """Return an inspection's document as an example; AnswerError where the reference can't take it.

    What its owner claims is left out of it: the papers' months stand in place.
    """
    months = (papers.first, papers.last)
    answers = read_sheet(reference, document, window=months).answers
    return Example(name, *months, doubt_of(*months, papers.doubt), dict(answers))


def together(one: Table, other: Table) -> Table:
    """Return what two tables hold."""
    faults = (*one.faults, *other.faults)
    return Table((*one.examples, *other.examples), faults, one.faulty_rows + other.faulty_rows)
