"""What the book hands out, as frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from functools import cached_property
from typing import Any
from uuid import UUID

from quickcheck.store.documents import read, text_at


class Kind(StrEnum):
    """How a document came into the book."""

    ANSWER = "answer"
    UNDO = "undo"
    IMPORT = "import"
    BACK = "back"  # a version that a person brought back, or let stand, when two were kept
    LATE = "late"  # written on a revision that was no longer current: kept, but no revision
    PARKED = "parked"  # could not be taken as it was: kept, but no revision


@dataclass(frozen=True)
class Saved:
    """An inspection at one revision; with its hash, the receipt for a document."""

    id: UUID
    revision: int
    back: int | None  # the revision that an undo would bring back
    reference_hash: str
    reference_id: str
    title: str  # of the reference
    opened: datetime
    saved: datetime
    sha256: str  # of the text, 64 hex digits
    text: str  # the document's canonical JSON

    @cached_property
    def document(self) -> dict[str, Any]:
        """The answers document, read from its text when it is first asked for."""
        return read(self.text)

    @property
    def undoable(self) -> bool:
        """Whether an undo would change anything."""
        return self.back is not None

    @property
    def name(self) -> str:
        """What the dealer calls the instrument."""
        return text_at(self.document, "name")

    @property
    def serial(self) -> str:
        """The serial number as the owner gave it."""
        return text_at(self.document, "serial_text")


@dataclass(frozen=True)
class Entry:
    """One document in the history of an inspection.

    ``number`` is None for one that is no revision. ``back`` is the revision that the document lies
    on: what an undo from it brings back, or, where it came too late, what its writer had seen.
    """

    key: str  # names it within its inspection, as in "revision-3", "late-12", "parked-5"
    number: int | None
    back: int | None
    kind: Kind
    saved: datetime
    sha256: str
    text: str
    device: UUID | None  # who sent it; None if it was written on a page of the server
    reason: str = ""  # why it was parked

    @cached_property
    def document(self) -> dict[str, Any]:
        """The document, read from its text when it is first asked for."""
        return read(self.text)


class Outcome(StrEnum):
    """What became of a document that a device sent."""

    TAKEN = "taken"
    LATE = "late"
    PARKED = "parked"


@dataclass(frozen=True, slots=True)
class Sent:
    """A document as a device sent it, and what it says of what went before."""

    document: Mapping[str, Any]
    base: int  # the last revision that the device has a receipt for; 0: none
    sent: frozenset[str] = frozenset()  # hashes of those it sent since, whose receipt never came
    device: UUID | None = None


@dataclass(frozen=True, slots=True)
class Differing:
    """Two judgements of one revision: what the phone says and what we say, as JSON."""

    phone: str
    server: str
    rules: int


@dataclass(frozen=True, slots=True)
class Difference:
    """A kept `Differing`, with the revision that it is about."""

    inspection: UUID
    revision: int
    found: Differing
    noticed: datetime


@dataclass(frozen=True, slots=True)
class Received:
    """What became of a document, all of one moment; ``saved`` is None unless it was taken."""

    outcome: Outcome
    saved: Saved | None
    current: Saved | None  # None if no such inspection was ever opened
    missing: tuple[str, ...]  # photos that were announced and have not come


def in_utc(moment: datetime) -> datetime:
    """Return a moment in UTC; one without a time zone is a fault of the program."""
    if moment.tzinfo is None:
        message = "a moment to keep must know its time zone"
        raise ValueError(message)
    return moment.astimezone(UTC)
