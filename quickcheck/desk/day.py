"""The day's sheet: what each device began, what arrived, what is open; and finishing the day."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from quickcheck.desk.exporting import Exported, export_book
from quickcheck.errors import ConflictError, StoreError, shown
from quickcheck.store import Counted, Device, Store

QUIET: Final = timedelta(minutes=10)  # a phone that is near tells every half minute
_MANY: Final = 3


@dataclass(frozen=True, slots=True)
class Line:
    """A device of the day, with its count where it told one or sent something."""

    device: Device
    counted: Counted | None
    now: datetime

    @property
    def unsent(self) -> int:
        """What waits there, as it told last: answers, changes and photos."""
        return self.device.unsent or 0

    @property
    def is_quiet(self) -> bool:
        """Whether it was not heard of for so long that it may have something more."""
        return self.now - self.device.last_seen > QUIET

    @property
    def open_ends(self) -> tuple[str, ...]:
        """Return why the day is not finished as far as this device goes."""
        name, seen = self.device.name, f"{self.device.last_seen.astimezone():%H:%M}"
        missing = self.counted.missing if self.counted else 0
        found = (
            (self.unsent, f"{name}: {self.unsent} not sent yet, heard of at {seen}."),
            (missing > 0, f"{name}: {missing} begun there, and neither here nor waiting there."),
            (
                missing < 0,
                f"{name}: its storage was cleared. What waited on it then, nobody knows.",
            ),
            (not self.unsent and self.is_quiet, f"{name}: not heard of since {seen}."),
        )
        return tuple(text for is_so, text in found if is_so)


@dataclass(frozen=True, slots=True)
class DaySheet:
    """The day at one moment."""

    now: datetime
    since: datetime
    lines: tuple[Line, ...]  # the devices seen since, the one seen last first
    inspections: int
    issued: int
    recalled: int
    undecided: int
    free: int | None  # bytes on the disk; None where the book is not on this machine's

    @property
    def adds_up(self) -> bool:
        """Whether all that was begun is here, waits, or was thrown away by its own person."""
        return not any(line.counted and line.counted.missing for line in self.lines)

    @property
    def open_ends(self) -> tuple[str, ...]:
        """Return what stands against finishing the day, in words."""
        found = [text for line in self.lines for text in line.open_ends]
        if self.undecided:
            found.append(f"Of {self.undecided} inspections two versions are kept: choose one.")
        return tuple(found)


def day_sheet(store: Store, now: datetime) -> DaySheet:
    """Return the sheet of the day that ``now`` is in, by this machine's own midnight."""
    since = now.astimezone().replace(hour=0, minute=0, second=0, microsecond=0)
    counted = {each.device: each for each in store.tallies.counted()}
    lines = tuple(
        Line(device, counted.get(device.id), now)
        for device in store.devices.list()
        if device.last_seen >= since and not device.revoked
    )
    cards = store.tallies.cards(since)
    return DaySheet(
        now=now,
        since=since,
        lines=lines,
        inspections=store.tallies.begun(since),
        issued=cards.issued,
        recalled=cards.recalled,
        undecided=len(store.book.undecided()),
        free=store.room(),
    )


def finish_day(store: Store, folder: Path, *, now: datetime, anyway: bool) -> Exported:
    """Export everything into a new file of ``folder`` and prove it; the book stays as it is.

    ConflictError while something is open, unless that is wanted ``anyway``; StoreError where the
    folder can't be made, ExportError where the file is not what was written.
    """
    ends = day_sheet(store, now).open_ends
    if ends and not anyway:
        more = len(ends) - _MANY
        came = " ".join(ends[:_MANY]) + (f" And {more} more" if more > 0 else "")
        raise ConflictError.of(
            "the day",
            expected="nothing that waits, and every device of the day heard of",
            came=came.rstrip("."),
            remedy="Bring these devices near and open the app there; or tick that you asked for "
            "them and finish all the same.",
        )
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError.of(
            folder.name,
            expected="a folder that can be written",
            came=shown(error.strerror),
            remedy="Make room, or see to the rights of the data folder.",
        ) from None
    return export_book(store, folder, now=now)
