"""An export proved: taken into an empty book, which is then held against it, member by member."""

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from quickcheck.errors import ExportError, StoreError
from quickcheck.store import open_store
from quickcheck.transfer.bundle import Bundle, open_bundle
from quickcheck.transfer.manifest import Manifest
from quickcheck.transfer.members import SHEET, Member, Tally, members
from quickcheck.transfer.taking import take

_ROOM = 2  # times the file: the book in the making, and its journal


def prove(path: Path) -> Manifest:
    """Read an export from the disk, take it into an empty book, and compare; return its manifest.

    ExportError if the file is not sound, or if the book that comes of it would be exported otherwise.
    """
    _forget(path)
    with open_bundle(path) as bundle, _scratch(path) as folder:
        try:
            _compare(bundle, folder)
        except StoreError as error:
            raise ExportError(*error.faults) from error
        return bundle.manifest


def _compare(bundle: Bundle, folder: Path) -> None:
    with open_store(folder / "book.sqlite3") as store:
        taken = take(store, bundle)
        extent, tally = store.outgoing.extent(), Tally()
        came = {
            each.name: hashlib.sha256(each.content).hexdigest()
            for each in members(store.outgoing, extent, tally)
            if isinstance(each, Member)
        }
    wanted = {name: digest for name, (_, digest) in bundle.manifest.members.items()}
    del wanted[SHEET]  # made from the rest, for viewing
    differing = sorted(name for name, _ in wanted.items() ^ came.items())
    counts = dict(bundle.manifest.counts)
    if differing or taken.seals.clashes or counts != extent.counts or counts != tally.counts:
        raise ExportError.of(
            differing[0] if differing else "counts",
            expected="a book that is the same after it was taken into an empty one",
            came=f"{len(differing)} members that differ; {extent.counts}",
            remedy="The file is no good. Keep a copy of the whole data folder, and report this.",
        )


@contextmanager
def _scratch(path: Path) -> Iterator[Path]:
    """Hand out an empty folder where there is room: among the system's, else beside the file."""
    usual = Path(tempfile.gettempdir())
    roomy = shutil.disk_usage(usual).free > _ROOM * path.stat().st_size
    with tempfile.TemporaryDirectory(
        prefix=".quickcheck-proof-", dir=usual if roomy else path.parent
    ) as folder:
        yield Path(folder)


def _forget(path: Path) -> None:
    """Let the next reader read the disk and not the memory, where the system can be told so."""
    if hasattr(os, "posix_fadvise") and path.is_file():
        with path.open("rb") as file:
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
