"""A browser that is kept open: started, started again when it ends, ended with the server."""

import http.client
import json
import os
import signal
import subprocess
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from quickcheck.cli.browsers import CHROMIUM_PREFERENCES, Browser, Kind, merged, user_js

AGAIN: Final = 5
"""Starts after the first within `WITHIN`; a browser that ends more often has a reason to."""
WITHIN: Final = 60.0  # seconds
_PATIENCE: Final = 60.0  # seconds that the server may take to answer
_TRY: Final = 0.1  # seconds between two questions
_LEAVE: Final = 5.0  # seconds that a browser has to write down what it keeps
_HELPERS_LEAVE: Final = 3.0  # seconds
_ON_WINDOWS: Final = os.name == "nt"


def answers(port: int, *, patience: float = _PATIENCE) -> bool:
    """Wait until the server on this machine says that it is well; False if it never does."""
    ends = time.monotonic() + patience
    while time.monotonic() < ends:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=patience)
        with suppress(OSError, http.client.HTTPException):
            line.request("GET", "/health?json", headers={"Host": f"localhost:{port}"})
            if line.getresponse().status == http.client.OK:
                line.close()
                return True
        line.close()
        time.sleep(_TRY)
    return False


def prepare(browser: Browser, profile: Path) -> None:
    """Put our preferences into a profile, which is made if it is not there; OSError if it can't be."""
    profile.mkdir(mode=0o700, parents=True, exist_ok=True)
    if browser.kind is Kind.FIREFOX:
        _write(profile / "user.js", user_js())
        return
    file = profile / "Default" / "Preferences"
    file.parent.mkdir(mode=0o700, exist_ok=True)
    found: Any = {}
    with suppress(OSError, ValueError):
        found = json.loads(file.read_text(encoding="utf-8"))
    _unlock(profile)
    kept = merged(found if isinstance(found, dict) else {}, CHROMIUM_PREFERENCES)
    _write(file, json.dumps(kept))


def _unlock(profile: Path) -> None:
    """Take away the lock of a Chromium that is gone.

    Chromium does so itself, unless the machine has another name by now, as laptops get in halls:
    then it shows a question and no page.
    """
    lock = profile / "SingletonLock"
    with suppress(OSError, ValueError):
        number = int(lock.readlink().name.rpartition("-")[2])
        try:
            os.kill(number, 0)
        except ProcessLookupError:
            lock.unlink()


def _write(file: Path, text: str) -> None:
    draft = file.with_name(f"{file.name}.new")
    draft.write_text(text, encoding="utf-8")
    draft.replace(file)


@dataclass
class KeptOpen:
    """A browser in the care of a thread, for as long as the block lasts.

    ``words()`` are what to start, asked for at each start. ``say`` tells a person what happened,
    ``wait`` comes first and says whether to start at all.
    """

    words: Callable[[], Sequence[str]]
    say: Callable[[str], None]
    wait: Callable[[], bool]
    process: subprocess.Popen[bytes] | None = None
    starts: deque[float] = field(default_factory=deque)
    _ended: threading.Event = field(default_factory=threading.Event)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _thread: threading.Thread | None = None

    def __enter__(self) -> Self:
        """Begin to wait, and then to start it."""
        self._thread = threading.Thread(target=self._keep, name="kiosk", daemon=True)
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End it, and all that it started."""
        self._ended.set()
        with self._lock:
            process = self.process
        if process:
            _end(process)
        if self._thread:
            self._thread.join(_LEAVE)

    def _keep(self) -> None:
        if not self.wait():
            self.say("The server does not answer, so no browser was started.")
            return
        while self._may_start():
            process = self._start()
            if process is None:
                return
            code = process.wait()
            if not self._ended.is_set():
                self.say(f"The browser ended ({code}). It is started again.")

    def _may_start(self) -> bool:
        if self._ended.is_set():
            return False
        now = time.monotonic()
        while self.starts and now - self.starts[0] > WITHIN:
            self.starts.popleft()
        if len(self.starts) > AGAIN:
            self.say(
                f"The browser ended {len(self.starts)} times within a minute and is not started "
                "again. Is another window of it open? The server goes on; end with Ctrl-C."
            )
            return False
        self.starts.append(now)
        return True

    def _start(self) -> subprocess.Popen[bytes] | None:
        words = list(self.words())
        with self._lock:
            if self._ended.is_set():
                return None
            try:
                self.process = subprocess.Popen(  # noqa: S603  # a browser, by its own words, no shell
                    words,
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    # Ctrl-C is for us alone: it is we who end the browser, in order.
                    start_new_session=not _ON_WINDOWS,
                    creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
                )
            except OSError as error:
                self.say(f"{words[0]} can't be started: {error.strerror}.")
                return None
        return self.process


def _end(process: subprocess.Popen[bytes]) -> None:
    """Ask a browser to leave, then make it and its helpers.

    It has gone when its helpers have: one of them writes the cookies after the others.
    """
    process.terminate()
    with suppress(subprocess.TimeoutExpired):
        process.wait(_LEAVE)
    if _ON_WINDOWS:
        process.kill()
        return
    with suppress(ProcessLookupError, PermissionError):
        ends = time.monotonic() + _HELPERS_LEAVE
        while time.monotonic() < ends:
            os.killpg(process.pid, 0)
            time.sleep(0.05)
        os.killpg(process.pid, signal.SIGKILL)
