"""How long an answer takes to be saved while eight stations save at once.

``python tests/bench/server_bench.py [inspections per station]``: starts the demo on a waitress of
its own in a folder of its own, lets eight processes save whole inspections as fast as the replies
come, and prints what the server and what the stations measured. A view that does nothing, on the
same kind of server under the same eight stations, is the yardstick for the throughput.

The server's figure is taken around the whole application, from its call to the last byte, by a
wrapper that only this bench puts there: waiting in waitress's queue for one of its threads is in
the stations' figure alone. While eight stations keep four threads busy, each thread also waits for
the others (one interpreter, one writer); that is part of the server's figure. "Its work" is the
processor time of the thread alone, without any waiting: what a busy machine leaves comparable.
"""

import contextlib
import http.client
import multiprocessing
import os
import platform
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

import flask  # noqa: E402
import waitress  # noqa: E402

from quickcheck.web.serving import THREADS  # noqa: E402
from tests.browser.walking import SITTING  # noqa: E402
from tests.kit import free_port  # noqa: E402
from tests.web.answers_as_fields import fields  # noqa: E402

STATIONS = 8
ANSWERS = 20
TARGET = 15.0  # milliseconds, 95 of 100 answers, on two cores
PAGE = {"Sec-Fetch-Site": "same-origin", "HX-Request": "true"}
FORM = {"Content-Type": "application/x-www-form-urlencoded", **PAGE}

Reply = tuple[int, str, str]


class Clocked:
    """A WSGI application with a clock around it; each saved answer is a line of a file."""

    def __init__(self, app: Callable[..., Iterable[bytes]], path: Path) -> None:
        self.app = app
        self.lines = path.open("a", buffering=1, encoding="ascii")

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterator[bytes]:
        """Answer a request and note how long that took."""
        began, worked = time.perf_counter(), time.thread_time()
        parts = list(self.app(environ, start))
        took, work = time.perf_counter() - began, time.thread_time() - worked
        if environ["REQUEST_METHOD"] == "POST" and environ["PATH_INFO"].endswith("/answer"):
            self.lines.write(f"{took * 1000:.4f} {work * 1000:.4f}\n")
        return iter(parts)


def serve_clocked(data: Path, port: int) -> None:
    """Serve the demo as the command does, with a clock around the application."""
    create, times = waitress.create_server, data / "times"
    waitress.create_server = lambda app, **more: create(Clocked(app, times), **more)
    sys.argv = ["quickcheck", "demo", "--data", str(data), "--port", str(port)]
    from quickcheck.__main__ import start  # noqa: PLC0415 – the wrapper must be there first

    start()


def serve_nothing(port: int) -> None:
    """Serve one view that says "ok", on a server set up like the real one."""
    app = flask.Flask("nothing")
    app.post("/inspect/x/answer")(lambda: "ok")
    waitress.create_server(app, host="127.0.0.1", port=port, threads=THREADS).run()


@contextlib.contextmanager
def started(what: str, data: Path) -> Iterator[int]:
    """Run one of the two servers below in a process of its own; yield its port."""
    data.mkdir(parents=True)
    port = free_port()
    with (data / "log").open("wb") as log:
        words = [sys.executable, __file__, what, str(data), str(port)]
        process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
    try:
        while process.poll() is None:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.05)
        else:
            raise RuntimeError((data / "log").read_text(errors="replace"))
        yield port
    finally:
        process.terminate()
        process.wait()


def send(line: http.client.HTTPConnection, path: str, form: object) -> Reply:
    """Send a form over a line that stays open and return status, place and text."""
    line.request("POST", path, urllib.parse.urlencode(form), FORM)  # type: ignore[arg-type]
    got = line.getresponse()
    return got.status, got.getheader("Location", ""), got.read().decode()


def begin(line: http.client.HTTPConnection) -> str:
    """Open an inspection and return its path."""
    claim = {"reference": "hobbinsley-poplin", "year": "1953", "part": "early", "access": "open"}
    status, where, text = send(line, "/", claim)
    if status != 303:
        raise RuntimeError(text)
    return where


def forms() -> list[list[tuple[str, str]]]:
    """Return the twenty answers of an inspection, as forms."""
    from quickcheck.reference import read_reference  # noqa: PLC0415 – a station needs no engine
    from tests.browser.walking import POPLIN  # noqa: PLC0415

    points = read_reference(POPLIN).points
    seen = [point for point in points if "not_seen" not in SITTING[point.id]]
    return [fields(point, SITTING[point.id]) for point in seen[:ANSWERS]]


def station(port: int, paths: list[str], sent: list[list[tuple[str, str]]]) -> list[float]:
    """Save one inspection after the other; return how long each answer took, in milliseconds."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    times = []
    for path in paths:
        where = path or begin(line)
        for form in sent:
            began = time.perf_counter()
            status, _, text = send(line, f"{where}/answer", form)
            times.append((time.perf_counter() - began) * 1000)
            if status != 200:
                raise RuntimeError(text)
    line.close()
    return times


def all_stations(port: int, path: str, rounds: int) -> tuple[list[float], float]:
    """Let all stations save at once; return every time and how long all of it took, in seconds."""
    sent = forms()
    with multiprocessing.get_context("spawn").Pool(STATIONS) as pool:
        pool.starmap(station, [(port, [path], sent[:1])] * STATIONS)  # warm: caches, imports
        began = time.perf_counter()
        found = pool.starmap(station, [(port, [path] * rounds, sent)] * STATIONS, chunksize=1)
        took = time.perf_counter() - began
    return [one for times in found for one in times], took


def percentiles(times: Sequence[float]) -> tuple[float, float, float]:
    """Return the middle, the 95th of 100 and the largest."""
    cut = statistics.quantiles(times, n=100, method="inclusive")
    return cut[49], cut[94], max(times)


def check_stored(data: Path, rounds: int) -> None:
    """Check that what was measured was also stored: every answer is a revision of its own."""
    with sqlite3.connect(data / "demo" / "book.sqlite3") as book:
        newest = "SELECT max(number) FROM revision GROUP BY inspection_id"
        full = sum(number == ANSWERS + 1 for (number,) in book.execute(newest))
    if full < STATIONS * rounds:
        raise RuntimeError(f"{full} whole inspections are stored of {STATIONS * rounds}")


def main() -> None:
    """Measure and print."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "demo"
        with started("clocked", data) as port:
            stations, took = all_stations(port, "", rounds)
        lines = (data / "times").read_text(encoding="ascii").splitlines()[STATIONS:]
        served, worked = zip(*(map(float, line.split()) for line in lines), strict=True)
        check_stored(data, rounds)
        with started("nothing", Path(folder) / "nothing") as port:
            nothing, briefly = all_stations(port, "/inspect/x", rounds)
    report(
        {"server": served, "its work": worked, "station": stations},
        rate=len(stations) / took,
        yardstick=len(nothing) / briefly,
    )


def report(measured: Mapping[str, Sequence[float]], *, rate: float, yardstick: float) -> None:
    """Print what was measured, on what."""
    print(
        f"{STATIONS} stations, {len(measured['station'])} answers of whole inspections of"
        f" {ANSWERS}; demo on waitress, {THREADS} threads, SQLite (journal DELETE, synchronous EXTRA)"
    )
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, load"
        f" {os.getloadavg()[0]:.1f} at the end, Python {platform.python_version()},"
        f" SQLite {sqlite3.sqlite_version}; stations and server share the cores"
    )
    for who, times in measured.items():
        middle, high, most = percentiles(times)
        print(f"{who:9}p50 {middle:7.2f} ms   p95 {high:7.2f} ms   longest {most:7.2f} ms")
    print(
        f"rate     {rate:.0f} answers/s, {rate / yardstick:.2f} of an empty view"
        f" ({yardstick:.0f}/s)"
    )
    high = percentiles(measured["server"])[1]
    print(f"target   server p95 below {TARGET:g} ms: {'met' if high < TARGET else 'MISSED'}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["clocked"]:
        serve_clocked(Path(sys.argv[2]), int(sys.argv[3]))
    elif sys.argv[1:2] == ["nothing"]:
        serve_nothing(int(sys.argv[3]))
    else:
        main()
