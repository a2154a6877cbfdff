"""What becomes of a document that a device sent, on one connection inside one transaction.

A phone writes for hours without a reply, so it says more than a page does: the last revision that
it has a receipt for, and the hashes of what it sent since. A document is taken if what it would lie
on is something that its writer has seen:

* it is what is there already, or was received before: the first receipt again;
* the current revision is the one that the device has a receipt for, or holds the same document;
* the current document is one that the device itself sent, and only the reply was lost.

In every other case somebody else wrote in between: both are kept, and a person decides.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from quickcheck.store import queries, revisions
from quickcheck.store.documents import Document, is_hash, storable
from quickcheck.store.records import Differing, Saved, Sent
from quickcheck.store.revisions import Draft
from quickcheck.store.sync_tables import ParkedRow


def take(connection: Connection, current: Saved, draft: Draft, *, sent: Sent) -> Saved | None:
    """Return the receipt, or None if the document came too late; it is kept in either case."""
    mine = draft.written.sha256
    if mine == current.sha256:
        return current
    before = _sent_before(connection, current, mine, base=sent.base)
    if before:
        return before
    if _has_seen(connection, current, sent):
        return revisions.put_on_top(connection, current, draft)
    revisions.keep_late(connection, current, draft, base=sent.base)
    return None


def _sent_before(connection: Connection, current: Saved, sha256: str, *, base: int) -> Saved | None:
    which = {"inspection": current.id, "base": revisions.within(base), "sha256": sha256}
    row = connection.execute(queries.SENT_BEFORE, which).one_or_none()
    return revisions.saved_of(row) if row else None


def _has_seen(connection: Connection, current: Saved, sent: Sent) -> bool:
    if sent.base == current.revision or current.sha256 in sent.sent:
        return True
    known = revisions.at(connection, current.id, revisions.within(sent.base))
    return known is not None and known.sha256 == current.sha256


def park(connection: Connection, draft: Draft, columns: Mapping[str, Any], *, current: int) -> None:
    """Keep a document that can't be taken; the same one is kept once."""
    same = {
        "inspection": columns["inspection_id"],
        "base": columns["base"],
        "sha256": draft.written.sha256,
    }
    if connection.scalar(queries.SAME_PARKED, same) is None:
        row = {**columns, **draft.columns, "current": current}
        if queries.added(connection, ParkedRow, row):
            queries.count(connection, columns["inspection_id"])


def announce(connection: Connection, saved: Saved, draft: Draft) -> None:
    """Note which photos a document speaks of, so that the missing ones can be asked for."""
    which = {"inspection": saved.id}
    known = {(row.point, row.sha256) for row in connection.execute(queries.ANNOUNCED, which)}
    new = [
        {"inspection_id": saved.id, "point": point, "sha256": sha256, "announced": draft.now}
        for point, sha256 in sorted(set(photos_of(draft.document)) - known)
    ]
    if new:
        connection.execute(queries.ANNOUNCE, new)


def photos_of(document: Document) -> Iterator[tuple[str, str]]:
    """Yield point and hash of each photo: ``{"photos": {"tuners": ["<sha256>", …]}}``."""
    photos = document.get("photos")
    for point, hashes in photos.items() if isinstance(photos, Mapping) else ():
        for sha256 in hashes if isinstance(hashes, Iterable) else ():
            if is_hash(sha256):
                yield storable(point), sha256


def note_difference(
    connection: Connection, saved: Saved, found: Differing, *, now: datetime
) -> None:
    """Keep that the phone judged this revision otherwise; once, however often it is sent."""
    which = {"inspection": saved.id, "revision": saved.revision}
    if connection.scalar(queries.IS_NOTED, which) is not None:
        return
    row = {
        "inspection_id": saved.id,
        "revision": saved.revision,
        "phone": found.phone,
        "server": found.server,
        "rules": found.rules,
        "noticed": now,
    }
    connection.execute(queries.ADD_DIFFERENCE, row)


def missing(connection: Connection, saved: Saved) -> tuple[str, ...]:
    """Return the photos that were announced and have not come."""
    return tuple(connection.scalars(queries.MISSING, {"inspection": saved.id}))
