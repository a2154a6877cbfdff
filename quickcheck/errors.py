"""Everything that can be wrong, in one tree.

::

    QuickcheckError
    ├── ReadingError        a marking, number or unit that can't be read         422, exit 3
    ├── ReferenceFaultsError a reference file with faults: all of them at once     422, exit 4
    ├── AnswerError         a claim or an answer that the reference has no place for  422, exit 5
    ├── CardError           a card text that is not exactly one of ours           400, exit 6
    ├── NotFoundError       no such reference, inspection, edition                404, exit 7
    ├── ConflictError       someone else saved first; both are kept               409, exit 8
    ├── StoreError          the book can't be read or written                     503, exit 9
    ├── SendingError        what a device sent is not in the form agreed on       400, exit 10
    ├── PhotoError          a photo that is none, is too large or is damaged      422, exit 11
    ├── ExamplesError       a table of documented instruments with faults         422, exit 12
    ├── SecretError         a passphrase or a PIN that is none, or is too easy    422, exit 13
    ├── WaitError           too many wrong tries: not yet                         429, exit 14
    ├── SetupError          what a server or a show is set up with can't be so    422, exit 15
    └── ExportError         a file that is no export of a book, or a damaged one  422, exit 16

Each says where the fault is, what was expected, what came and what to do next. ``status`` and
``exit_code`` are hints for the shells; nothing below them knows HTTP or a process.
Any other exception that leaves a room is a bug.
"""

from dataclasses import dataclass
from typing import ClassVar, Self

_LONGEST_ECHO = 80


def shown(value: object) -> str:
    """Return what came, short enough to repeat in a message and on one line."""
    text = value if isinstance(value, str) else repr(value)
    text = " ".join(text.split())
    return f'"{text[: _LONGEST_ECHO - 1]}…"' if len(text) > _LONGEST_ECHO else f'"{text}"'


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: where, what was expected, what came, what to do."""

    where: str
    expected: str
    came: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: expected {self.expected}; got {self.came}. {self.remedy}"


class QuickcheckError(Exception):
    """Base of the tree; carries one or more faults."""

    status: ClassVar[int] = 500
    exit_code: ClassVar[int] = 1

    def __init__(self, *faults: Fault) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults

    @classmethod
    def of(cls, where: str, *, expected: str, came: str, remedy: str) -> Self:
        """Return an error with the one fault that these words describe."""
        return cls(Fault(where, expected, came, remedy))


class ReadingError(QuickcheckError):
    """A marking, a number or a unit that can't be read."""

    status = 422
    exit_code = 3


class ReferenceFaultsError(QuickcheckError):
    """A reference file with faults; nothing of it was loaded."""

    status = 422
    exit_code = 4


class AnswerError(QuickcheckError):
    """A claim or an answer that the reference has no place for."""

    status = 422
    exit_code = 5


class CardError(QuickcheckError):
    """A card text that is not exactly what this software would have made."""

    status = 400
    exit_code = 6


class NotFoundError(QuickcheckError):
    """Nothing is kept under that name."""

    status = 404
    exit_code = 7


class ConflictError(QuickcheckError):
    """Somebody saved in between; both versions are kept."""

    status = 409
    exit_code = 8


class StoreError(QuickcheckError):
    """The book can't be read or written."""

    status = 503
    exit_code = 9


class SendingError(QuickcheckError):
    """What a device sent is not in the form that was agreed on; nothing was kept."""

    status = 400
    exit_code = 10


class PhotoError(QuickcheckError):
    """A photo that is none of the kinds we take, is too large, or is damaged."""

    status = 422
    exit_code = 11


class ExamplesError(QuickcheckError):
    """A table of documented instruments with faults; nothing was learned from it."""

    status = 422
    exit_code = 12


class SecretError(QuickcheckError):
    """A passphrase or a PIN that can't be taken; what it was is never repeated."""

    status = 422
    exit_code = 13


class WaitError(QuickcheckError):
    """Too many wrong tries at a passphrase or a PIN: the next one has to wait."""

    status = 429
    exit_code = 14


class ExportError(QuickcheckError):
    """A file that is not exactly an export of a book; nothing of it was taken in."""

    status = 422
    exit_code = 16


class SetupError(QuickcheckError):
    """What a server or a show is to be set up with can't be so, or something is still missing."""

    status = 422
    exit_code = 15
