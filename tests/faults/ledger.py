"""The oracle: what somebody was told is saved, written down outside the app, and held against it.

It reads the book's file by itself, with its own SQL and its own hashing, so that an error of the
store can't hide itself.
"""

import json
import sqlite3
from collections import Counter
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from threading import Lock
from typing import Any

KEPT = """
  SELECT inspection_id, number, sha256, document FROM revision
  UNION ALL SELECT inspection_id, NULL, sha256, document FROM conflict
  UNION ALL SELECT inspection_id, NULL, sha256, document FROM parked
"""


def text_of(document: Mapping[str, Any]) -> str:
    """Return the canonical text of a document whose keys are ASCII and whose numbers are plain."""
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def hash_of(document: Mapping[str, Any]) -> str:
    """Return the hash of that text."""
    return sha256(text_of(document).encode()).hexdigest()


@dataclass(frozen=True)
class Line:
    """One thing that was said: ``revision`` None is "saved on this device", else a receipt."""

    inspection: str
    sha256: str
    revision: int | None


@dataclass(frozen=True)
class Kept:
    """What a server holds of one inspection: revisions by number, and every hash, late ones too."""

    revisions: Mapping[int, str]
    hashes: Counter[str]
    current: Mapping[str, Any]


@dataclass(frozen=True)
class Account:
    """What came out: how many lines, how many of them are gone, how much is there twice."""

    lines: int
    lost: int
    doubled: int

    def __add__(self, other: "Account") -> "Account":
        return Account(
            self.lines + other.lines, self.lost + other.lost, self.doubled + other.doubled
        )


NOTHING = Account(0, 0, 0)


@dataclass
class Ledger:
    """Lines as they were said; threads may write."""

    lines: list[Line] = field(default_factory=list)
    _turn: Lock = field(default_factory=Lock)

    def note(self, inspection: str, sha256: str, revision: int | None = None) -> None:
        """Write down that somebody was told so."""
        with self._turn:
            self.lines.append(Line(inspection, sha256, revision))

    def settle(self, kept: Mapping[str, Kept], stores: Iterable[Mapping[str, str]] = ()) -> Account:
        """Hold every line against the server and the devices' stores ({inspection: hash}).

        Every document of a run is another one, so that a hash which is there twice was doubled. Of
        what was saved on a device the last is what counts: it holds all that was before.
        """
        on_devices = {(one, text) for store in stores for one, text in store.items()}
        last = {line.inspection: line for line in self.lines if line.revision is None}
        receipts = {line for line in self.lines if line.revision is not None}
        lost = sum(not _has(kept.get(line.inspection), line) for line in receipts)
        lost += sum(
            (line.inspection, line.sha256) not in on_devices
            and not _has(kept.get(line.inspection), line)
            for line in last.values()
        )
        doubled = sum(
            count - 1 for each in kept.values() for count in each.hashes.values() if count > 1
        )
        strangers = kept.keys() - {line.inspection for line in self.lines}
        return Account(len(receipts) + len(last), lost, doubled + len(strangers))


def _has(kept: Kept | None, line: Line) -> bool:
    if kept is None:
        return False
    if line.revision is None:
        return kept.hashes[line.sha256] > 0
    return kept.revisions.get(line.revision) == line.sha256


def read_book(data: Path) -> dict[str, Kept]:
    """Return all that a server's book holds; AssertionError if a text is not that of its hash."""
    with closing(sqlite3.connect(data / "book.sqlite3", timeout=20)) as book:
        kept = kept_of(book.execute(KEPT))
        assert book.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    return kept


def kept_of(rows: Iterable[tuple[str, int | None, str, str]]) -> dict[str, Kept]:
    """Return what is kept of each inspection: id, number of the revision, hash, text."""
    found: dict[str, list[tuple[int | None, str, str]]] = {}
    for one, number, digest, text in rows:
        assert sha256(text.encode()).hexdigest() == digest, f"{one}: a damaged text"
        found.setdefault(_dashed(one), []).append((number, digest, text))
    return {one: _kept(each) for one, each in found.items()}


def _kept(rows: list[tuple[int | None, str, str]]) -> Kept:
    revisions = {number: (digest, text) for number, digest, text in rows if number is not None}
    assert sorted(revisions) == list(range(1, len(revisions) + 1)), "a gap in the revisions"
    current = json.loads(revisions[max(revisions)][1]) if revisions else {}
    hashes = Counter(digest for _, digest, _ in rows)
    return Kept({number: digest for number, (digest, _) in revisions.items()}, hashes, current)


def _dashed(plain: str) -> str:
    hexed = plain.replace("-", "")
    return "-".join(hexed[a:b] for a, b in pairwise((0, 8, 12, 16, 20, 32)))
