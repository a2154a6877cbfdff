"""Where a server learns references: one at a time, in a process of its own, kept in memory only.

Nothing of it outlives the server: what was learned is downloaded, or kept as an edition.
"""

import contextlib
import json
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import IO, Any, Final, cast
from uuid import uuid4

from quickcheck.desk.learning import PointsFile, check_some
from quickcheck.errors import ConflictError, ExamplesError, Fault, NotFoundError, shown
from quickcheck.learn import Table

MOST_EXAMPLES: Final = 20_000
"""Rows of a table that a server takes; `quickcheck learn` has no such bound."""
_MOST_KEPT: Final = 6  # tables and what was learned from them, the last ones
_PATIENCE: Final = 600.0  # seconds
_HOME: Final = Path(__file__).parents[2]  # what holds the package
_ENDED: Final = Fault(
    "learning",
    "an end within ten minutes and 3 GB",
    "a process that ended before it was done",
    "Take fewer rows, or the command: quickcheck learn.",
)


class Stage(StrEnum):
    """How far a learning is."""

    ASKING = "asking"  # rows have faults: whether to leave them out
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """What the process gets: the points file's text with its pictures, and the examples."""

    text: str
    name: str
    pictures: Mapping[str, bytes]
    table: Table


@dataclass(frozen=True, slots=True)
class Result:
    """What was learned, as texts: the reference, the report as a page, the report for a page."""

    text: str
    report: str
    told: str


@dataclass(frozen=True, slots=True, eq=False)
class Learning:
    """One table, from when it came until something was learned from it."""

    id: str
    file: PointsFile
    table: Table
    stage: Stage
    share: float = 0.0  # done, from 0 to 1
    result: Result | None = None
    faults: tuple[Fault, ...] = ()  # why it failed


def result_of(learning: Learning) -> Result:
    """Return what was learned; NotFoundError as long as nothing is."""
    if learning.result is None:
        raise NotFoundError.of(
            "learning",
            expected="one that is done",
            came=learning.stage.value,
            remedy="Wait for it, or send the table again.",
        )
    return learning.result


class Workshop:
    """The learnings of a server."""

    def __init__(self, *, patience: float = _PATIENCE) -> None:
        self._patience = patience
        self._kept: dict[str, Learning] = {}
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._thread: threading.Thread | None = None

    def put(self, file: PointsFile, table: Table) -> Learning:
        """Take a table in; learning begins at once unless rows have faults."""
        _check_size(table)
        made = Learning(uuid4().hex, file, table, Stage.ASKING)
        if not table.faults:
            check_some(table)
            return self._start(made)
        with self._lock:
            self._keep(made)
        return made

    def start(self, name: str) -> Learning:
        """Learn without the rows that have faults; what has begun already goes on."""
        found = self.get(name)
        check_some(found.table)
        return self._start(found) if found.stage is Stage.ASKING else found

    def get(self, name: str) -> Learning:
        """Return a learning as it stands."""
        with self._lock:
            found = self._kept.get(name)
        if found is None:
            raise NotFoundError.of(
                "learning",
                expected=f"one of the last {_MOST_KEPT} since this server was started",
                came=shown(name),
                remedy="What was not kept is gone with it. Send the table again.",
            )
        return found

    def stop(self, name: str) -> Learning:
        """End a learning that runs."""
        with self._lock:
            found = self._kept.get(name)
            if found and found.stage is Stage.RUNNING:
                self._keep(replace(found, stage=Stage.STOPPED))
                if self._process:
                    self._process.kill()
        self.wait()
        return self.get(name)

    def wait(self) -> None:
        """Return when nothing runs any more."""
        if self._thread:
            self._thread.join()

    def _start(self, learning: Learning) -> Learning:
        with self._lock:
            if self._thread and self._thread.is_alive():
                raise ConflictError.of(
                    "learning",
                    expected="a server that is not learning already",
                    came="one that is",
                    remedy="One at a time: try again in a minute.",
                )
            begun = replace(learning, stage=Stage.RUNNING)
            self._keep(begun)
            self._thread = threading.Thread(target=self._run, args=(begun,), daemon=True)
            self._thread.start()
        return begun

    def _keep(self, learning: Learning) -> None:
        """Keep a learning in place of what it was; the oldest that does not run makes room."""
        self._kept[learning.id] = learning
        if len(self._kept) > _MOST_KEPT:
            idle = (name for name, one in self._kept.items() if one.stage is not Stage.RUNNING)
            del self._kept[next(idle)]

    def _run(self, learning: Learning) -> None:
        """Have it learned; whatever the process does, the learning comes to an end."""
        file = learning.file
        order = Order(file.text, file.reference.id, dict(file.reference.pictures), learning.table)
        with _process() as process:
            with self._lock:
                self._process = process
                found = self._kept.get(learning.id)
                if found is None or found.stage is not Stage.RUNNING:
                    process.kill()  # it was stopped before there was anything to stop
            end = threading.Timer(self._patience, process.kill)
            end.start()
            try:
                self._listen(learning.id, process, pickle.dumps(order))
            finally:
                end.cancel()
                process.kill()
        self._hear(learning.id, {"faults": None})  # nothing, where an end was told

    def _listen(self, name: str, process: "subprocess.Popen[bytes]", order: bytes) -> None:
        ear, mouth = cast(IO[bytes], process.stdin), cast(IO[bytes], process.stdout)
        with contextlib.suppress(OSError):  # it died at once: nothing will be said
            ear.write(order)
            ear.close()
        for line in mouth:
            self._hear(name, json.loads(line))

    def _hear(self, name: str, told: Mapping[str, Any]) -> None:
        """Note what the process says; after an end nothing is heard any more."""
        with self._lock:
            found = self._kept.get(name)
            if found is None or found.stage is not Stage.RUNNING:
                return
            if "share" in told:
                self._keep(replace(found, share=told["share"]))
            elif "text" in told:
                self._keep(replace(found, stage=Stage.DONE, share=1.0, result=Result(**told)))
            else:
                faults = tuple(Fault(**fault) for fault in told["faults"] or ()) or (_ENDED,)
                self._keep(replace(found, stage=Stage.FAILED, faults=faults))


def _check_size(table: Table) -> None:
    rows = len(table.examples) + table.faulty_rows
    if rows > MOST_EXAMPLES:
        raise ExamplesError.of(
            "the table",
            expected=f"at most {MOST_EXAMPLES} rows",
            came=str(rows),
            remedy="Take the command, which has no such bound: quickcheck learn.",
        )


def _process() -> "subprocess.Popen[bytes]":
    path = os.pathsep.join([str(_HOME), *filter(None, [os.environ.get("PYTHONPATH")])])
    return subprocess.Popen(  # our own program, what it learns from is on its input
        [sys.executable, "-m", "quickcheck.desk.learning_child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        # one thread of arithmetic: the others belong to those who wait for an answer
        env=os.environ | {"PYTHONPATH": path, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    )
