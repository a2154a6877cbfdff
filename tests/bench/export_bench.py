"""What an export takes: ``python -m tests.bench.export_bench [INSPECTIONS] [PHOTOS EACH]``.

A book of two thousand inspections of ten revisions with three photos each (noise, so that nothing
squeezes; 120 kB, as a phone sends them). Each step runs in a process of its own, whose largest memory
is what the system says of it; a book with no photos tells how much of that hangs on them.
"""

import multiprocessing
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

from quickcheck import paths
from quickcheck.desk import check_export, export_book
from quickcheck.reference import Reference, read_reference
from quickcheck.store import Photo, Store, open_store, session
from quickcheck.transfer import open_bundle, take

NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)
REVISIONS = 10
PHOTO_BYTES = 120_000


def fill(book: Path, count: int, photos: int) -> None:
    """Make the book; each revision answers one point more. Nobody is told that it was saved."""
    session._PRAGMAS = ("PRAGMA foreign_keys = ON", "PRAGMA synchronous = OFF")
    reference = read_reference(paths.DEMO / "references" / "hobbinsley-poplin")
    with open_store(book) as store:
        store.library.keep(reference)
        for number in range(count):
            one(store, reference, number, photos)


def one(store: Store, reference: Reference, number: int, photos: int) -> None:
    """Add one inspection."""
    at = NOW + timedelta(seconds=number)
    names = [os.urandom(32).hex() for _ in range(photos)]
    first, *_ = reference.points
    document: dict[str, Any] = {
        "reference": reference.id,
        "window": ["1953-03", "1953-05"],
        "name": f"Instrument {number}",
        "serial_text": f"{number:06d}",
        "answers": {},
        "photos": {first.id: names},
    }
    inspection = UUID(int=number)
    saved = store.book.open(inspection, reference, document, now=at)
    for point in reference.points[: REVISIONS - 1]:
        document["answers"][point.id] = {"not_seen": "no-time"}
        saved = store.book.save(inspection, document, revision=saved.revision, now=at)
    for name in names:
        content = b"\xff\xd8\xff" + os.urandom(PHOTO_BYTES)
        store.photos.keep(inspection, name, Photo("image/jpeg", content), now=at)


def export(book: Path, file: Path) -> None:
    """Write and prove."""
    with open_store(book) as store:
        export_book(store, file, now=NOW)


def check(_book: Path, file: Path) -> None:
    """Prove a copy."""
    check_export(file)


def import_(book: Path, file: Path) -> None:
    """Take it into a book that is empty."""
    with open_bundle(file) as sound, open_store(book.with_name("other.sqlite3")) as store:
        take(store, sound)


def again(book: Path, file: Path) -> None:
    """Take it once more, when all of it is there."""
    import_(book, file)


def nothing(_book: Path, _file: Path) -> None:
    """Start a process and import the program, for comparison."""


def measured(step: Callable[[Path, Path], None], book: Path, file: Path) -> tuple[float, ...]:
    """Return seconds, seconds of reckoning and the largest memory in MB, in a process of its own."""
    context = multiprocessing.get_context("spawn")
    with context.Pool(1) as pool:
        return pool.apply(_run, (step, book, file))


def _run(step: Callable[[Path, Path], None], book: Path, file: Path) -> tuple[float, ...]:
    start, reckoned = time.perf_counter(), time.process_time()
    step(book, file)
    took = time.perf_counter() - start, time.process_time() - reckoned
    return *took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def report(count: int, photos: int) -> None:
    """Fill a book, walk through the steps, print."""
    with tempfile.TemporaryDirectory() as folder:
        book, file = Path(folder) / "book.sqlite3", Path(folder) / "book.zip"
        start = time.perf_counter()
        fill(book, count, photos)
        size = book.stat().st_size / 1e6
        print(f"\n{count} inspections, {REVISIONS} revisions and {photos} photos each")
        print(f"book {size:.0f} MB, filled in {time.perf_counter() - start:.0f} s")
        print(f"{'':20}{'seconds':>9}{'of CPU':>9}{'MB, most':>10}")
        for step in (nothing, export, check, import_, again):
            seconds, reckoned, most = measured(step, book, file)
            print(
                f"{step.__name__.strip('_'):20}{seconds:9.1f}{reckoned:9.1f}{most:10.0f}",
                flush=True,
            )
        print(f"file {file.stat().st_size / 1e6:.0f} MB, {digest(file)[:16]}")
        unzipped = subprocess.run(["unzip", "-tq", file], check=False, capture_output=True)
        print("unzip -t:", unzipped.stdout.decode().strip())


def digest(file: Path) -> str:
    """Return the SHA-256 of a file."""
    with file.open("rb") as opened:
        found = sha256()
        while chunk := opened.read(1 << 20):
            found.update(chunk)
    return found.hexdigest()


def main(count: str = "2000", photos: str = "3") -> None:
    """With photos, and without."""
    report(int(count), int(photos))
    report(int(count), 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
