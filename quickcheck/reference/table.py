"""A plain table of what was fitted when, as notes and spreadsheets have it, into a reference's text.

One row a variant. What the table does not say is written as a guess with a remark beside it, so
that its author goes on in the text.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from quickcheck.errors import Fault, ReadingError, ReferenceFaultsError, shown
from quickcheck.readings import month_text, parse_month
from quickcheck.reference.records import AREAS, SOURCE_KINDS

COLUMNS: Final[Mapping[str, str]] = {
    "point": "what is looked at, in words; the same words on each row of it",
    "variant": "one way it can look, in words",
    "from": "first month or year in which it was fitted; empty: from before",
    "to": "last month or year; empty: to the end",
    "give": "months, half-width of the change-over",
    "share": "how much of the output had it, against the others",
    "source": "where that is known from",
    "note": "anything else",
}
"""The columns of a table, in any order; `point` and `variant` are needed, no others are read."""
_NEEDED: Final = ("point", "variant")
_YEAR: Final = re.compile(r"[0-9]{4}")
_MORE: Final = 24  # months
_NOTHING: Final = "No source given"

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Fitted:
    """One row, read."""

    variant: str
    first: int | None
    last: int | None
    give: float | None
    share: float | None
    source: str
    note: str


def text_of_table(rows: Sequence[Row], *, name: str, title: str) -> str:
    """Return the text of a reference that says what the rows say.

    ``rows`` have the names of `COLUMNS` as keys and text as values; ``name`` becomes the id.
    ReferenceFaultsError with every cell that can't be read, counted as a spreadsheet counts: the
    heading is row 1.
    """
    faults: list[Fault] = list(_wrong_columns(rows))
    points: dict[str, list[_Fitted]] = {}
    for number, row in enumerate(rows, 2):
        if any(cell.strip() for cell in row.values()):
            point, fitted = _row(row, number, faults)
            points.setdefault(point, []).append(fitted)
    all_rows = [each for rows in points.values() for each in rows]
    firsts = [each.first for each in all_rows if each.first is not None]
    lasts = [each.last for each in all_rows if each.last is not None]
    if not firsts and not lasts and not faults:
        wants = ("at least one month", "none", "Say from when to when something was fitted.")
        faults.append(Fault("table", *wants))
    if faults:
        raise ReferenceFaultsError(*faults)
    covers = _covers(firsts, lasts)
    return "\n".join([*_top(name, title, covers), *_sources(points), *_points(points)]) + "\n"


def _covers(firsts: Sequence[int], lasts: Sequence[int]) -> tuple[int, int]:
    """Return whole years that hold every edge, two more where what came before or after has none."""
    low, high = min([*firsts, *lasts]), max([*firsts, *lasts])
    low -= 0 if low in firsts else _MORE
    high += 0 if high in lasts else _MORE
    return low // 12 * 12, high // 12 * 12 + 11


def _wrong_columns(rows: Sequence[Row]) -> Iterable[Fault]:
    found = set(rows[0]) if rows else set()
    for column in _NEEDED:
        if column not in found:
            given = ", ".join(sorted(found)) or "no rows"
            yield Fault("row 1", f'a column "{column}"', given, f"Known: {', '.join(COLUMNS)}.")
    for column in sorted(found - set(COLUMNS)):
        remedy = f"Rename it or take it out. Known: {', '.join(COLUMNS)}."
        yield Fault("row 1", "a column of a timeline", shown(column), remedy)


def _row(row: Row, number: int, faults: list[Fault]) -> tuple[str, _Fitted]:
    cells = {column: row.get(column, "").strip() for column in COLUMNS}
    for column in _NEEDED:
        if not slug(cells[column]):
            where = f'row {number}, column "{column}"'
            faults.append(Fault(where, "a word or two", shown(cells[column]), "Name it."))
    first = _month(cells, "from", number=number, faults=faults)
    last = _month(cells, "to", number=number, faults=faults)
    if first is not None and last is not None and first > last:
        came = f"{month_text(first)} to {month_text(last)}"
        faults.append(Fault(f"row {number}", "from before to", came, "Mend one of the two."))
    give = _number(cells, "give", number=number, faults=faults)
    share = _number(cells, "share", number=number, faults=faults)
    fitted = _Fitted(cells["variant"], first, last, give, share, cells["source"], cells["note"])
    return cells["point"], fitted


def _month(cells: Row, column: str, *, number: int, faults: list[Fault]) -> int | None:
    text = cells[column]
    if not text:
        return None
    if _YEAR.fullmatch(text):
        text += "-01" if column == "from" else "-12"
    try:
        return parse_month(text)
    except ReadingError:
        expected = "a year or a month like 1956-09, or nothing"
        remedy = "Write circa and doubt as months in the column give."
        where = f'row {number}, column "{column}"'
        faults.append(Fault(where, expected, shown(cells[column]), remedy))
        return None


def _number(cells: Row, column: str, *, number: int, faults: list[Fault]) -> float | None:
    text = cells[column]
    if not text:
        return None
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = -1
    if not 0 <= found <= 600 or (column == "share" and found == 0):
        low = "above" if column == "share" else "from"
        where = f'row {number}, column "{column}"'
        faults.append(Fault(where, f"a number {low} 0 to 600", shown(text), "Mend it."))
    return found


def delimiter(text: str) -> str:
    """Return what stands between the cells of a text: spreadsheets write commas, semicolons or tabs."""
    head = text.split("\n", 1)[0]
    return max((",", ";", "\t"), key=head.count)


def slug(words: str) -> str:
    """Return words as an id: small letters and digits, hyphens for what is between."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower())[:64].strip("-")


def quoted(text: str) -> str:
    """Return a text as TOML writes it (toml.io, basic strings: escaped as JSON's, and DEL)."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _top(name: str, title: str, covers: tuple[int, int]) -> list[str]:
    return [
        "format = 1",
        f"id = {quoted(slug(name))}",
        f"title = {quoted(title)}",
        f'covers = ["{month_text(covers[0])}", "{month_text(covers[1])}"]',
        'edition = "1"  # your own label; raise it when you publish the next',
        'author = "…"  # who answers for it',
        'licence = "…"  # under which others may use it, like CC0-1.0',
        'about = "…"  # what it covers, and what it does not',
        "",
    ]


def _sources(points: Mapping[str, Sequence[_Fitted]]) -> list[str]:
    fitted = (each for rows in points.values() for each in rows)
    titles = {_source_id(row): row.source or _NOTHING for row in fitted}
    lines = []
    for name, title in sorted(titles.items()):
        lines += [f"[source.{name}]", f"title = {quoted(title[:200])}"]
        lines += [f'kind = "memory"  # or: {", ".join(SOURCE_KINDS[:-1])}', ""]
    return lines


def _source_id(row: _Fitted) -> str:
    return slug(row.source or _NOTHING) or "source"


def _points(points: Mapping[str, Sequence[_Fitted]]) -> list[str]:
    lines = []
    for point, rows in points.items():
        lines += ["[[point]]", f"id = {quoted(slug(point))}", f"name = {quoted(point[:60])}"]
        lines += [f'area = "hardware"  # or: {", ".join(AREAS)}', 'kind = "pick"']
        lines += [f"ask = {quoted(f'{point[:190]}?')}", ""]
        for row in rows:
            lines += [*_variant(row), ""]
    return lines


def _variant(row: _Fitted) -> list[str]:
    given = {
        "from": quoted(month_text(row.first)) if row.first is not None else "",
        "to": quoted(month_text(row.last)) if row.last is not None else "",
        "give": f"{row.give:g}" if row.give is not None else "",
        "share": f"{row.share:g}" if row.share is not None else "",
        "source": f"[{quoted(_source_id(row))}]",
        "note": quoted(row.note) if row.note else "",
    }
    head = ["[[point.seen]]", f"id = {quoted(slug(row.variant))}"]
    head.append(f"label = {quoted(row.variant[:200])}")
    return [f"  {line}" for line in [*head, *(f"{k} = {v}" for k, v in given.items() if v)]]


BLANK: Final[Sequence[Row]] = (
    {"point": "Headstock marking", "variant": "The earlier", "to": "1956-09", "give": "3"},
    {"point": "Headstock marking", "variant": "The later", "from": "1956-10", "give": "3"},
)
"""What a new reference begins with: one change-over, to be written over."""
