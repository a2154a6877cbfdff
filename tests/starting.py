"""The program in processes of their own, forked from one that has loaded it.

Tests start some hundreds of servers, and most of what a start takes is to load the same libraries.
Where a system can't fork, and for another checkout, each is started from nothing. That the command
itself does so is for `tests.cli.test_serving`.
"""

import multiprocessing
import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

_LOADED = [
    *("quickcheck.cli", "alembic.command", "flask", "wtforms", "waitress", "brotli", "qrcode"),
    *("PIL.Image", "logging.config"),
]
"""Not `quickcheck.web`: its squeezer of scripts has threads, and these outlive no fork."""


class Process(Protocol):
    """What a test does with a process, whichever way it came to be."""

    @property
    def pid(self) -> int:
        """Its number."""

    def poll(self) -> int | None:
        """Return how it ended; None while it runs."""

    def wait(self, timeout: float | None = None) -> int:
        """Wait until it ends; return how. TimeoutExpired when it takes longer."""

    def send_signal(self, number: int, /) -> None:
        """Send it a signal."""

    def terminate(self) -> None:
        """Ask it to leave."""

    def kill(self) -> None:
        """End it between two instructions."""


def started(words: Sequence[str], log: Path, tree: Path | None = None) -> Process:
    """Run the program with these words; ``log`` gets whatever it prints."""
    if tree is None and "forkserver" in multiprocessing.get_all_start_methods():
        return _Forked(words, log)
    with log.open("ab") as printed:
        return subprocess.Popen(
            [sys.executable, "-m", "quickcheck", *words],
            stdin=subprocess.DEVNULL,
            stdout=printed,
            stderr=subprocess.STDOUT,
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
            cwd=tree,
        )


class _Forked:
    def __init__(self, words: Sequence[str], log: Path) -> None:
        context: Any = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(_LOADED)
        given = (list(words), str(log), str(Path.cwd()), dict(os.environ))
        self._process = context.Process(target=_run, args=given, daemon=True)
        self._process.start()

    @property
    def pid(self) -> int:
        return int(self._process.pid)

    def poll(self) -> int | None:
        found = self._process.exitcode
        return None if found is None else int(found)

    def wait(self, timeout: float | None = None) -> int:
        self._process.join(timeout)
        found = self.poll()
        if found is None:
            raise subprocess.TimeoutExpired("quickcheck", timeout or 0)
        return found

    def send_signal(self, number: int, /) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


def _run(words: list[str], log: str, folder: str, environment: Mapping[str, str]) -> None:
    """Be the program: its words, its folder, its environment, and where it prints to."""
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    printed = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    for stream in (1, 2):
        os.dup2(printed, stream)
    os.close(printed)
    for each in (sys.stdout, sys.stderr):
        each.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    sys.argv = ["quickcheck", *words]
    from quickcheck.__main__ import start  # noqa: PLC0415  # loaded long before this process began

    start()
