"""A table of documented instruments, as a spreadsheet saves it: text in, examples and faults out.

One row an instrument. Columns: ``instrument``; ``month``, or ``from`` and ``to``; ``doubt``; then
one column a point, headed by its id, and where it matters one headed ``<id>:state``. A column whose
head begins with ``#`` is a remark. Every fault is told with its row as the spreadsheet counts.
"""

import csv
import difflib
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from quickcheck.engine import Answer, check_answer
from quickcheck.errors import ExamplesError, Fault, QuickcheckError, shown
from quickcheck.learn.constants import LEARNING
from quickcheck.learn.records import Example
from quickcheck.readings import parse_month, run_words
from quickcheck.reference import Kind, Point, Reference, delimiter

_ABOUT: Final = ("instrument", "month", "from", "to", "doubt")
_STATE: Final = ":state"
_NOTHING: Final = ("", "-", "–")
_FIELD: Final = {Kind.PICK: "seen", Kind.SIGN: "seen", Kind.MEASURE: "value"}
MOST_DOUBT: Final = 600.0
"""Months; more is no date."""
_WHOLE_MONTH: Final = 1 / 12  # variance of a time somewhere in a month


@dataclass(frozen=True, slots=True)
class Table:
    """What a table held: the rows without fault, and the faults of the others, by row."""

    examples: tuple[Example, ...]
    faults: tuple[Fault, ...]
    faulty_rows: int


@dataclass
class _Reading:
    """The table while it is read; equal cells are checked once."""

    reference: Reference
    known: dict[tuple[str, str, str], Answer | tuple[Fault, ...]] = field(default_factory=dict)

    def answer(self, point: Point, cell: str, state: str) -> Answer | tuple[Fault, ...]:
        key = (point.id, cell, state)
        if key not in self.known:
            try:
                self.known[key] = check_answer(point, _given(point, cell, state))
            except QuickcheckError as error:
                self.known[key] = error.faults
        return self.known[key]


def read_table(reference: Reference, text: str, *, name: str) -> Table:
    """Return what a table says of the points of a reference.

    Raises ExamplesError where its head can't be used: then no row could be read.
    """
    rows = list(csv.reader(io.StringIO(text), delimiter=delimiter(text)))
    head = [cell.strip() for cell in rows[0]] if rows else []
    faults = [*_head_faults(reference, head, name)]
    if faults:
        raise ExamplesError(*faults)
    reading, names = _Reading(reference), dict[str, int]()
    examples, wrong, faulty = [], list[Fault](), 0
    for number, cells in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in cells):
            continue
        row = _row(head, cells)
        found = [*_row_faults(row, names, number=number), *_too_long(head, cells)]
        example = _example(reading, row, found)
        names.setdefault(row["instrument"], number)
        if found or example is None:
            faulty += 1
            wrong += [_placed(fault, name, number) for fault in found]
        else:
            examples.append(example)
    return Table(tuple(examples), tuple(wrong), faulty)


def _row(head: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    row = dict.fromkeys(_ABOUT, "") | dict.fromkeys(head, "")
    row |= {column: cell.strip() for column, cell in zip(head, cells, strict=False)}
    return row


# The head


def _head_faults(reference: Reference, head: Sequence[str], name: str) -> Iterator[Fault]:
    columns = [*_ABOUT, *reference.by_id, *(f"{point}{_STATE}" for point in reference.by_id)]
    seen: set[str] = set()
    for at, column in enumerate(head, 1):
        if column.startswith("#") or not column:
            continue
        where = f'{name}, row 1, column {at} "{column}"'
        if column in seen:
            yield Fault(where, "each head once", f"{shown(column)} again", "Rename one of the two.")
        elif column not in columns:
            near = difflib.get_close_matches(column, columns, n=1)
            remedy = f'Did you mean "{near[0]}"?' if near else 'Put "#" before a remark\'s head.'
            yield Fault(
                where, "a point's id, or one of " + ", ".join(_ABOUT), shown(column), remedy
            )
        seen.add(column)
    dated = "month" in seen or {"from", "to"} <= seen
    if "instrument" not in seen or not dated:
        yield Fault(
            f"{name}, row 1",
            'a head with "instrument" and "month", or "from" and "to"',
            shown(", ".join(head[:8])) if head else "an empty file",
            "Put these heads into the first row.",
        )


# One row


def _placed(fault: Fault, name: str, number: int) -> Fault:
    return Fault(f"{name}, row {number}, {fault.where}", fault.expected, fault.came, fault.remedy)


def _fault(column: str, *say: str) -> Fault:
    """Return a fault at a column: what was expected, what came, what to do."""
    expected, came, remedy = say
    return Fault(f'column "{column}"', expected, came, remedy)


def _row_faults(
    row: Mapping[str, str], names: Mapping[str, int], *, number: int
) -> Iterator[Fault]:
    called = row["instrument"]
    if not called:
        yield _fault("instrument", "a name", "nothing", f'Call it "row {number}", or as you like.')
    elif called in names:
        came = f"{shown(called)}, as in row {names[called]}"
        yield _fault("instrument", "an instrument once", came, "Leave one out, or rename it.")


def _too_long(head: Sequence[str], cells: Sequence[str]) -> Iterator[Fault]:
    more = [cell for cell in cells[len(head) :] if cell.strip()]
    if more:
        came = f"{len(cells)}, the last {shown(more[-1])}"
        yield Fault("its cells", f"{len(head)} cells", came, "Put text with commas into quotes.")


def _example(reading: _Reading, row: Mapping[str, str], found: list[Fault]) -> Example | None:
    """Return the example of a row; what is wrong with it is added to ``found``."""
    months = _months(reading.reference, row, found)
    doubt = _doubt(row, months or (0, 0), found)
    answers = {}
    for point in reading.reference.points:
        cell, state = row.get(point.id, ""), row.get(f"{point.id}{_STATE}", "")
        cell, state = ("" if one in _NOTHING else one for one in (cell, state))
        if cell or state:
            answer = reading.answer(point, cell, state)
            if isinstance(answer, Answer):
                answers[point.id] = answer
            else:
                found += [_of_cell(point, fault) for fault in answer]
    return None if months is None else Example(row["instrument"], *months, doubt, answers)


def _of_cell(point: Point, fault: Fault) -> Fault:
    column = f"{point.id}{_STATE}" if fault.where.endswith(".state") else point.id
    return _fault(column, fault.expected, fault.came, fault.remedy)


def _given(point: Point, cell: str, state: str) -> dict[str, object]:
    """Return a cell as an answer; a variant may be written by its label."""
    given: dict[str, object] = {"state": state} if state else {}
    if not cell:
        return given
    if point.kind is Kind.SIGN:
        return given | {"seen": [_variant(point, one.strip()) for one in cell.split("+")]}
    value = _variant(point, cell) if point.kind is Kind.PICK else cell
    return given | {_FIELD.get(point.kind, "read"): value}


def _variant(point: Point, cell: str) -> str:
    labels = {variant.label.casefold(): variant.id for variant in point.seen}
    known = {variant.id for variant in point.seen}
    return cell if cell in known else labels.get(cell.casefold(), cell)


def _months(
    reference: Reference, row: Mapping[str, str], found: list[Fault]
) -> tuple[int, int] | None:
    columns = ("from", "to") if row["from"] or row["to"] else ("month", "month")
    months = []
    for column in columns:
        try:
            months.append(parse_month(row[column], where=f'column "{column}"'))
        except QuickcheckError as error:
            found += [fault for fault in error.faults if fault not in found]
    if len(months) < 2:
        return None
    first, last = months
    covered = reference.covers[0] <= first and last <= reference.covers[1]
    if row["month"] and columns[0] == "from":
        found.append(_fault("month", 'nothing beside "from" and "to"', row["month"], "Keep one."))
    if first > last:
        found.append(_fault("to", "a month not before the first", row["to"], "Turn them round."))
    elif not covered:
        expected = f"months within {run_words(*reference.covers)}"
        came = run_words(first, last)
        found.append(_fault(columns[0], expected, came, "Mend it, or widen what is covered."))
    return first, last


def _doubt(row: Mapping[str, str], months: tuple[int, int], found: list[Fault]) -> float:
    """Return the standard deviation of the middle, in months; what is wrong is added to ``found``."""
    text = row["doubt"].replace(",", ".")
    if text in _NOTHING:
        return doubt_of(*months, None)
    try:
        own = float(text)
    except ValueError:
        own = -1.0
    if not 0 <= own <= MOST_DOUBT:
        expected = f"months, 0 to {MOST_DOUBT:g}"
        found.append(_fault("doubt", expected, shown(row["doubt"]), "Write a number, like 4."))
    return doubt_of(*months, max(own, 0.0))


def doubt_of(first: int, last: int, own: float | None) -> float:
    """Return the standard deviation of the middle of a run, with what was said beside it.

    One month of which nothing is said has the usual doubt; of a longer run, the run is the doubt.
    """
    of_run = max((last - first + 1) ** 2 / 12 - _WHOLE_MONTH, 0.0)
    if own is None:
        own = 0.0 if last > first else LEARNING.doubt
    return float((own**2 + of_run) ** 0.5)
