"""A process that is killed while it takes an export into a book."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

import quickcheck
from quickcheck.store import open_store
from quickcheck.transfer import open_bundle, take
from tests.transfer.filled import rows

_IMPORTER = Path(__file__).with_name("importer.py")
pytestmark = pytest.mark.usefixtures("place")  # a file
_FULL = os.environ.get("QUICKCHECK_FULL") == "1"


def kill_at_step(book: Path, file: Path, step: int, wait: float) -> None:
    """Take the file, and kill whoever does it some time after it has begun a step."""
    root = str(Path(quickcheck.__file__).parent.parent)
    command = [sys.executable, str(_IMPORTER), str(book), str(file), "0.01"]
    with subprocess.Popen(
        command, env={**os.environ, "PYTHONPATH": root}, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        for _ in range(step):
            process.stdout.readline()
        time.sleep(wait)
        process.kill()


@pytest.fixture(name="whole", scope="session")
def _whole(exported: Path, tmp_path_factory: pytest.TempPathFactory) -> object:
    """Return the rows that one run gives."""
    place = tmp_path_factory.mktemp("whole") / "book.sqlite3"
    with open_bundle(exported) as sound, open_store(place) as store:
        take(store, sound)
    return rows(place)


@pytest.mark.parametrize("step", range(1, 60) if _FULL else (3, 6))
def test_killed_and_taken_again(exported: Path, whole: object, tmp_path: Path, step: int) -> None:
    """After SIGKILL, wherever it came, the same file once more gives what one run gives."""
    place = tmp_path / "book.sqlite3"
    kill_at_step(place, exported, step=1 + step % 8, wait=0.004 * (step % 5))
    with open_bundle(exported) as sound, open_store(place) as store:
        take(store, sound)
        assert store.check() == ()
    assert rows(place) == whole


def test_killed_twice(exported: Path, whole: object, tmp_path: Path) -> None:
    """Also if the second run is killed, further on."""
    place = tmp_path / "book.sqlite3"
    kill_at_step(place, exported, step=2, wait=0)
    kill_at_step(place, exported, step=5, wait=0)
    with open_bundle(exported) as sound, open_store(place) as store:
        taken = take(store, sound)
    assert taken.changed
    assert rows(place) == whole
