"""A disk in memory whose power can be cut, for SQLite: what was not synced may be gone, or torn.

The rules are POSIX's and no more: a write may reach the platter any time until the file is synced,
whole, in part or not at all, and in any order; that a file was made or deleted is certain only once
its folder was synced. SQLite syncs the folder when a new journal is first synced, and after a
deletion if it asks for it (``synchronous = EXTRA``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from random import Random
from typing import Any, Final

import apsw

_POWERSAFE: Final = 0x1000  # SQLITE_IOCAP_POWERSAFE_OVERWRITE, which SQLite assumes of every disk
_NAMES: Final = count(1)


class PowerCutError(Exception):
    """The power went; nothing happens on this disk any more."""


@dataclass
class Blob:
    """One file: what a program reads, what is certain, and what was done since."""

    content: bytearray = field(default_factory=bytearray)
    certain: bytes = b""
    pending: list[tuple[int, bytes | None]] = field(default_factory=list)  # None: cut off there
    named: bool = False  # whether its name is certain

    def do(self, at: int, data: bytes | None) -> None:
        """Write, or cut off."""
        _apply(self.content, at, data)
        self.pending.append((at, data))

    def sync(self) -> None:
        """Make certain what was written."""
        self.certain, self.pending, self.named = bytes(self.content), [], True

    def survivor(self, rolled: Random) -> bytes:
        """Return what may be left of it."""
        left = bytearray(self.certain)
        in_order = rolled.random() < 0.5
        until = rolled.randint(0, len(self.pending))
        for index, (at, data) in enumerate(self.pending):
            if index < until if in_order else rolled.random() < 0.5:
                _apply(left, at, data)
            elif data and rolled.random() < 0.3:
                _apply(left, at, data[: rolled.randrange(len(data))])  # torn
        return bytes(left)


def _apply(content: bytearray, at: int, data: bytes | None) -> None:
    if data is None:
        del content[at:]
        return
    content.extend(bytes(max(0, at - len(content))))
    content[at : at + len(data)] = data


class Disk(apsw.VFS):
    """A folder of files; ``cut_after`` is how many writes, syncs and deletions it still does."""

    def __init__(self, files: Mapping[str, bytes], cut_after: int | None = None) -> None:
        self.name = f"disk{next(_NAMES)}"
        self.files = {
            name: Blob(bytearray(content), content, named=True) for name, content in files.items()
        }
        self.ghosts: dict[str, Blob] = {}  # deleted, and maybe there again after a cut
        self.cut_after = cut_after
        self.done = 0
        super().__init__(self.name, "")

    def step(self) -> None:
        """Count something that changes the disk; PowerCutError if the power is gone."""
        if self.cut_after is not None and self.done >= self.cut_after:
            raise PowerCutError
        self.done += 1

    def survivors(self, rolled: Random) -> dict[str, bytes]:
        """Return the files that are there when the power is back."""
        found = {name: blob.survivor(rolled) for name, blob in self.files.items() if blob.named}
        fresh = {name: blob for name, blob in self.files.items() if not blob.named}
        for name in sorted(fresh.keys() | self.ghosts.keys()):
            maybe = [blob for blob in (fresh.get(name), self.ghosts.get(name)) if blob]
            chosen = rolled.choice([*maybe, None])
            if chosen and name not in found:
                found[name] = chosen.survivor(rolled)
        return found

    def sync_folder(self) -> None:
        """Make certain which files there are."""
        self.ghosts.clear()
        for blob in self.files.values():
            blob.named = True

    def xOpen(self, name: Any, flags: list[int]) -> "_Handle":  # noqa: N802  # apsw's names
        """Open a file, made if it is not there; one without a name is for this handle only."""
        flags[1] = flags[0]
        found = name.filename() if isinstance(name, apsw.URIFilename) else name
        if found is None:
            return _Handle(self, Blob(named=True))
        return _Handle(self, self.files.setdefault(found, Blob()))

    def xDelete(self, name: str, folder_too: bool) -> None:  # noqa: N802
        """Delete a file."""
        self.step()
        gone = self.files.pop(name)
        if gone.named:
            self.ghosts[name] = gone
        if folder_too:
            self.sync_folder()

    def xAccess(self, name: str, _flags: int) -> bool:  # noqa: N802
        """Tell whether a file is there."""
        return name in self.files

    def xFullPathname(self, name: str) -> str:  # noqa: N802
        """Return a name as it is kept."""
        return name


class _Handle:
    """What SQLite holds of an open file."""

    def __init__(self, disk: Disk, blob: Blob) -> None:
        self.disk, self.blob = disk, blob

    def xRead(self, amount: int, at: int) -> bytes:  # noqa: N802
        return bytes(self.blob.content[at : at + amount])

    def xWrite(self, data: bytes, at: int) -> None:  # noqa: N802
        self.disk.step()
        self.blob.do(at, bytes(data))

    def xTruncate(self, size: int) -> None:  # noqa: N802
        self.disk.step()
        self.blob.do(size, None)

    def xSync(self, _flags: int) -> None:  # noqa: N802
        self.disk.step()
        is_new = not self.blob.named
        self.blob.sync()
        if is_new:
            self.disk.sync_folder()

    def xFileSize(self) -> int:  # noqa: N802
        return len(self.blob.content)

    def xLock(self, _level: int) -> None:  # noqa: N802
        """Nobody else is on this disk."""

    xUnlock = xLock  # noqa: N815

    def xCheckReservedLock(self) -> bool:  # noqa: N802
        return False

    def xFileControl(self, _op: int, _pointer: int) -> bool:  # noqa: N802
        return False

    def xSectorSize(self) -> int:  # noqa: N802
        return 4096

    def xDeviceCharacteristics(self) -> int:  # noqa: N802
        return _POWERSAFE

    def xClose(self) -> None:  # noqa: N802
        """Nothing is held."""
