"""A kiosk on a screen that nobody sees: Xvfb's, or none at all where that is not installed."""

import json
import os
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.kit import free_port

XVFB = shutil.which("Xvfb")
PATIENCE = 90.0  # seconds that a browser may take to show a page: two cores may be busy elsewhere
_PROGRAM = """#!/bin/sh
echo $$ >> "{log}"
exec "{browser}" {more} "$@"
"""


@contextmanager
def screen() -> Iterator[str]:
    """Yield the display of a screen of 1280 × 800; "" where there can be none."""
    if XVFB is None:
        yield ""
        return
    read, write = os.pipe()
    words = [XVFB, "-displayfd", str(write), "-screen", "0", "1280x800x24", "-nolisten", "tcp"]
    with subprocess.Popen(words, pass_fds=[write], stderr=subprocess.DEVNULL) as process:
        os.close(write)
        try:
            with os.fdopen(read) as said:
                yield f":{said.readline().strip()}"
        finally:
            process.terminate()


@dataclass(frozen=True)
class Program:
    """A Chromium that notes each of its starts and lets a test look into it."""

    path: Path
    log: Path
    port: int

    def ids(self) -> list[int]:
        """Return the process of each start."""
        return [int(line) for line in self.log.read_text().split()] if self.log.exists() else []

    def pages(self) -> list[dict[str, Any]]:
        """Return what it shows: the browser's own list of its pages."""
        with suppress(OSError, ValueError):
            opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
            with opener.open(f"http://127.0.0.1:{self.port}/json/list", timeout=5) as got:
                return [page for page in json.loads(got.read()) if page["type"] == "page"]
        return []

    def shown(self, start: str, title: str) -> dict[str, Any]:
        """Wait until it shows one page, at an address that begins so and with that title."""
        ends, found = time.monotonic() + PATIENCE, []
        while time.monotonic() < ends:
            found = self.pages()
            if len(found) == 1 and found[0]["url"].startswith(start) and title in found[0]["title"]:
                return found[0]
            time.sleep(0.1)
        raise AssertionError(f"{start} is not shown, but {found}")


def program(folder: Path, browser: Path, *, has_screen: bool) -> Program:
    """Return a Chromium's stand-in: itself, with the switches that only a test needs."""
    path, log, port = folder / "chromium-here", folder / "starts", free_port()
    # A sandbox can't be had inside a container or as root, and only our own pages are opened.
    more = f"--no-sandbox --disable-dev-shm-usage --disable-gpu --remote-debugging-port={port}"
    if not has_screen:
        more += " --headless=new"
    path.write_text(_PROGRAM.format(log=log, browser=browser, more=more), encoding="utf-8")
    path.chmod(0o755)
    return Program(path, log, port)


def is_listening(port: int) -> bool:
    """Whether something still listens there."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0
