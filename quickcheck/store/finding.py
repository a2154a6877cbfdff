"""Finding inspections by words, the last one opened first, in a book of a million.

A word is looked for anywhere; one of a single letter or two at the beginning of words, as anything
else would find nearly all. Two ways lead to a page of hits, and neither is good for all words:

* walking down the list and looking at each: at once for a common word, for ever for a rare one;
* the index of triples of letters: at once for a rare word, for ever where half of all are hits, as
  they come in no order.

So a page is looked for in at most three legs: the `_WALK` inspections opened last (which is all
there is in a small book); then by the index, if there are no more than `_MOST_HITS`; and where there
are more, which are all old, down the rest of the list. What a person may see narrows each leg.

Where there is no index (see `quickcheck.store.index`) it is walked: slower, the same hits.
"""

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, func, select, tuple_

from quickcheck.store import index
from quickcheck.store.documents import folded, storable
from quickcheck.store.tables import InspectionRow

_WALK: Final = 8000
_MOST_HITS: Final = 8000

Scope = Sequence[ColumnElement[bool]]
Place = tuple[Any, UUID]  # moment of opening, id: where in the list an inspection stands

_PLACE: Final = (InspectionRow.opened, InspectionRow.id)
_NEWEST_FIRST: Final = (InspectionRow.opened.desc(), InspectionRow.id.desc())


def find(
    connection: Connection, matching: str, limit: int, *, after: Place | None, scope: Scope = ()
) -> list[UUID]:
    """Return the ids of one page of inspections, the last one opened first."""
    words = folded(storable(matching)).split()
    patterns = [InspectionRow.words.contains(_pattern(word), autoescape=True) for word in words]
    hits = [*scope, *patterns]
    if not words:
        return _walk(connection, hits, limit, after=after)
    end = _place(connection, scope, after=after, steps=_WALK)
    if end is None:
        return _walk(connection, hits, limit, after=after)
    found = _walk(connection, hits, limit, after=after, until=end)
    if len(found) == limit:
        return found
    more = limit - len(found)
    rest = _by_index(connection, words, hits, limit=more, after=end)
    if rest is None:
        rest = _walk(connection, hits, more, after=end)
    return found + rest


def _pattern(word: str) -> str:
    """Return what stands in the words of a hit: see `quickcheck.store.documents.spaced`."""
    return word if len(word) >= index.TRIPLE else f"  {word}"


def _walk(
    connection: Connection,
    hits: Scope,
    limit: int,
    *,
    after: Place | None,
    until: Place | None = None,
) -> list[UUID]:
    query = select(InspectionRow.id).where(*hits).order_by(*_NEWEST_FIRST).limit(limit)
    if after is not None:
        query = query.where(tuple_(*_PLACE) < after)
    if until is not None:
        query = query.where(tuple_(*_PLACE) >= until)
    return list(connection.scalars(query))


def place_of(connection: Connection, inspection: UUID) -> Place | None:
    """Return where in the list an inspection stands."""
    row = connection.execute(select(*_PLACE).where(InspectionRow.id == inspection)).one_or_none()
    return row and (row.opened, row.id)


def _place(
    connection: Connection, scope: Scope, *, after: Place | None, steps: int
) -> Place | None:
    """Return the place of the inspection some steps down the list, None if it is not that long."""
    query = select(*_PLACE).where(*scope).order_by(*_NEWEST_FIRST).offset(steps - 1).limit(1)
    if after is not None:
        query = query.where(tuple_(*_PLACE) < after)
    row = connection.execute(query).one_or_none()
    return row and (row.opened, row.id)


def _by_index(
    connection: Connection, words: Sequence[str], hits: Scope, *, limit: int, after: Place
) -> list[UUID] | None:
    """Return the first hits after a place; None if there are too many, or no index of use."""
    query = select(*_PLACE).where(*hits, tuple_(*_PLACE) < after)
    patterns = [_pattern(word) for word in words]
    chosen = index.narrowed(connection, query, patterns, most=_MOST_HITS)
    if chosen is None:
        return None
    found = chosen.limit(_MOST_HITS + 1).cte("hits")
    count = select(func.count()).select_from(found).scalar_subquery().label("how_many")
    page = select(found.c.id, count).order_by(found.c.opened.desc(), found.c.id.desc())
    rows = connection.execute(page.limit(limit)).all()
    return None if rows and rows[0].how_many > _MOST_HITS else [row.id for row in rows]
