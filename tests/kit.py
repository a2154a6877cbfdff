"""What tests of several rooms share: a server of their own, a small reference, answers to it."""

import socket
import subprocess
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from tests.starting import Process, started

CHROMIUM = Path("/usr/bin/chromium")
_PATIENCE = 60.0  # seconds that a server may take to come up: two cores may be busy elsewhere
_LEAVE = 10.0  # seconds that it may take to go

REFERENCE = """
format = 1
id = "loom-one"
title = "Loom One (invented)"
covers = ["1950-01", "1959-12"]
edition = "2026-04"
author = "A test"
licence = "CC0-1.0"
about = "Invented, for tests: one point to pick, one to measure, one serial, one date code."

[source.ledger]
title = "Wage ledger (invented)"
kind = "document"

[[point]]
id = "knobs"
area = "hardware"
kind = "pick"
ask = "Which knobs?"
source = ["ledger"]
[[point.seen]]
id = "wood"
label = "Wood"
to = "1953-06"
[[point.seen]]
id = "horn"
label = "Horn"
from = "1953-07"

[[point]]
id = "neck-depth"
area = "neck"
kind = "measure"
ask = "How deep is the neck at the first fret?"
unit = "in"
span = [0.7, 1.1]
tolerance = 0.006
access = "handle"
source = ["ledger"]
[[point.seen]]
id = "club"
label = "Club"
mean = 0.94
spread = 0.02
to = "1953-12"
[[point.seen]]
id = "blade"
label = "Blade"
mean = 0.82
spread = 0.02
from = "1954-01"

[[point]]
id = "serial"
area = "serial"
kind = "serial"
ask = "Serial on the plate?"
pattern = "[0-9]{3,4}"
source = ["ledger"]
[[point.seen]]
id = "early"
first = 101
last = 999
to = "1953-12"
[[point.seen]]
id = "late"
first = 1000
last = 4000
from = "1954-01"

[[point]]
id = "volume-pot"
area = "electrics"
kind = "datecode"
ask = "Code on the volume pot?"
scheme = "year-week"
access = "open"
tools = ["screwdriver"]
source = ["ledger"]
"""
"""A small valid reference, as TOML."""

ANSWERS: Mapping[str, Any] = {
    "knobs": {"seen": "wood"},
    "neck-depth": {"value": 0.935, "unit": "in"},
    "serial": {"read": "420"},
}
"""Answers that all speak for the first years of it."""


def document(**more: Any) -> dict[str, Any]:
    """Return an answers document of the small reference, with more or other top-level keys."""
    return {
        "reference": "loom-one",
        "window": ["1952-03", "1952-08"],
        "access": "handle",
        "answers": dict(ANSWERS),
        **more,
    }


def write_reference(data: Path, text: str = REFERENCE, name: str = "loom-one.toml") -> Path:
    """Put a reference into a data folder, where `serve` finds it."""
    path = data / "references" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def free_port() -> int:
    """Return a port that nobody listens on at the moment."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


@dataclass(frozen=True)
class Reply:
    """What a server answered, after its redirects."""

    status: int
    url: str
    text: str
    headers: Mapping[str, str]


@dataclass
class Server:
    """The real program in a process of its own, on a data folder that outlives it.

    ``with Server(tmp_path) as server: server.get("/")``. Started again after `stop` (asked to
    leave) or `kill` (as when the battery goes), it has the same port and the same folder.
    """

    data: Path
    command: str = "demo"
    options: tuple[str, ...] = ()
    port: int = field(default_factory=free_port)
    process: Process | None = None
    tree: Path | None = None  # a checkout to run the command of, from nothing (`tests.starting`)

    @property
    def url(self) -> str:
        """The address, without a slash at its end."""
        return f"http://localhost:{self.port}"

    @property
    def log(self) -> Path:
        """The file that gets everything the program prints."""
        return self.data / "server.log"

    def start(self) -> Self:
        """Start it and wait until it says its address, which it does once the port is its own."""
        self.data.mkdir(parents=True, exist_ok=True)
        self.log.touch()
        said_before = self.log.stat().st_size
        words = [self.command, "--data", str(self.data), "--port", str(self.port), *self.options]
        self.process = started(words, self.log, self.tree)
        self._wait(said_before)
        return self

    def _wait(self, said_before: int) -> None:
        ends = time.monotonic() + _PATIENCE
        while self.process and time.monotonic() < ends:
            ended = self.process.poll() is not None
            said = self.log.read_bytes()[said_before:].decode("utf-8", "replace")
            if ended:
                self.process = None
                raise RuntimeError(f"the server ended: {said}")
            if f"http://localhost:{self.port}" in said:  # whatever it calls itself
                return
            time.sleep(0.05)
        self.kill()
        raise RuntimeError(f"the server did not come up in {_PATIENCE:g} s")

    def stop(self) -> None:
        """Ask it to leave and wait until it has."""
        if self.process:
            self.process.terminate()
            try:
                self.process.wait(_LEAVE)
            except subprocess.TimeoutExpired:
                self.kill()
        self.process = None

    def kill(self) -> None:
        """End it between two instructions, as a dead battery does."""
        if self.process:
            self.process.kill()
            self.process.wait()
        self.process = None

    def restart(self) -> Self:
        """Start it again on the same port and folder."""
        self.stop()
        return self.start()

    def __enter__(self) -> Self:
        """Start it."""
        return self.start()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        """End it, whatever happened."""
        self.stop()

    def get(self, path: str) -> Reply:
        """Fetch a page."""
        return _fetch(urllib.request.Request(self.url + path))

    def post(self, path: str, fields: Mapping[str, str] | list[tuple[str, str]]) -> Reply:
        """Send a form, as a page of the app would, and follow where that leads."""
        body = urllib.parse.urlencode(fields).encode()
        headers = {"Sec-Fetch-Site": "same-origin", "Origin": self.url}
        return _fetch(urllib.request.Request(self.url + path, body, headers))

    def upload(self, path: str, files: Mapping[str, str]) -> Reply:
        """Send a form whose fields are files, and follow where that leads."""
        part = 'Content-Disposition: form-data; name="{0}"; filename="{0}.csv"'
        parts = "".join(
            f"--part\r\n{part.format(name)}\r\n\r\n{content}\r\n" for name, content in files.items()
        )
        body = f"{parts}--part--\r\n".encode()
        kind = {"Content-Type": "multipart/form-data; boundary=part"}
        headers = {"Sec-Fetch-Site": "same-origin", "Origin": self.url, **kind}
        return _fetch(urllib.request.Request(self.url + path, body, headers))


# no proxy that the machine may be set to: the server is on this machine
_OPENER = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def _fetch(request: urllib.request.Request) -> Reply:
    try:
        with _OPENER.open(request, timeout=30) as got:
            text = got.read().decode("utf-8", "replace")
            return Reply(got.status, got.url, text, dict(got.headers))
    except urllib.error.HTTPError as error:
        with error:
            text = error.read().decode("utf-8", "replace")
            return Reply(error.code, error.url or "", text, dict(error.headers))
