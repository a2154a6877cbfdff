"""How long a tap takes to be saved by the door on this machine, and by the one with TLS.

``python tests/bench/doors_bench.py``: the demo with both doors in a process of its own. One phone
answers twenty points as fast as replies come, by each door; then 25 phones tap by the one with TLS
every two seconds; then the same beside ninety slow ones that never end their handshake, their header
or their body. Times are those of the phones, memory is the server's after each.
"""

import contextlib
import http.client
import platform
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from quickcheck.store import TlsFiles  # noqa: E402
from tests.bench.server_bench import begin, forms, percentiles, send  # noqa: E402
from tests.kit import free_port  # noqa: E402

PHONES = 25
EVERY = 2.0  # seconds between two taps of a phone
HEAD = b"POST / HTTP/1.1\r\nHost: localhost\r\n"


def serve(folder: Path, port: int, tls_port: int) -> None:
    """Serve the demo by both doors."""
    from quickcheck.cli import serving  # noqa: PLC0415 – only the server's process needs them
    from quickcheck.desk import Doors, Lan, Tls  # noqa: PLC0415
    from quickcheck.web import serve_app  # noqa: PLC0415

    files = TlsFiles(folder / "tls")
    tls = Tls(files.certificate, files.private_key, ("localhost",))
    doors = Doors(port, Lan("127.0.0.1", tls_port, tls))
    with serving.open_book(folder) as store:
        shop = serving._demo_shop(folder, store)
        serve_app(
            store,
            shop.shelf,
            keys=shop.keys,
            doors=doors,
            started=lambda: print("open", flush=True),
        )


@dataclass(frozen=True)
class Doors:
    """The running server."""

    port: int
    tls_port: int
    context: ssl.SSLContext
    process: int

    def line(self, *, tls: bool) -> http.client.HTTPConnection:
        """Return a line by one of the doors."""
        if tls:
            port = self.tls_port
            return http.client.HTTPSConnection("localhost", port, timeout=60, context=self.context)
        return http.client.HTTPConnection("localhost", self.port, timeout=60)

    def memory(self) -> float:
        """Return what the server holds in memory, in MB."""
        with contextlib.suppress(OSError):
            status = Path(f"/proc/{self.process}/status").read_text(encoding="ascii")
            return int(status.split("VmRSS:")[1].split()[0]) / 1024
        return float("nan")


@contextlib.contextmanager
def opened(folder: Path) -> Iterator[Doors]:
    """Run the server."""
    files = TlsFiles(folder / "tls")
    files.make(["localhost"], datetime.now(UTC))
    port, tls_port = free_port(), free_port()
    words = [sys.executable, __file__, "serve", str(folder), str(port), str(tls_port)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as process:
        try:
            assert process.stdout
            if process.stdout.readline() != b"open\n":
                raise RuntimeError("the server did not come up")
            context = ssl.create_default_context(cafile=str(files.authority))
            yield Doors(port, tls_port, context, process.pid)
        finally:
            process.terminate()


def phone(doors: Doors, *, tls: bool, every: float, late: float) -> list[float]:
    """Answer twenty points; return how long each took, in milliseconds."""
    time.sleep(late)
    line = doors.line(tls=tls)
    where, times = begin(line), []
    for form in forms():
        began = time.perf_counter()
        status, _, text = send(line, f"{where}/answer", form)
        times.append((time.perf_counter() - began) * 1000)
        if status != 200:
            raise RuntimeError(text)
        time.sleep(every)
    line.close()
    return times


def hall(doors: Doors) -> list[float]:
    """Let all phones tap, each at its own moment."""
    with ThreadPoolExecutor(PHONES) as pool:
        late = [EVERY * number / PHONES for number in range(PHONES)]
        done = pool.map(lambda each: phone(doors, tls=True, every=EVERY, late=each), late)
        return [one for times in done for one in times]


@contextlib.contextmanager
def slow_ones(doors: Doors) -> Iterator[None]:
    """Open ninety connections of three phones that send a byte now and then, and never end."""
    ended = threading.Event()
    with contextlib.ExitStack() as stack:
        dripping = []
        for number in range(90):
            source = (f"127.0.0.{2 + number % 3}", 0)
            raw = socket.create_connection(("127.0.0.1", doors.tls_port), 10, source)
            stack.callback(raw.close)
            if number % 3:
                sealed = stack.enter_context(
                    doors.context.wrap_socket(raw, server_hostname="localhost")
                )
                more = b"Content-Length: 100000\r\n\r\n" if number % 3 == 2 else b""
                sealed.sendall(HEAD + more)
                dripping.append(sealed)

        def drip() -> None:
            while not ended.wait(1):
                for each in dripping:
                    with contextlib.suppress(OSError):
                        each.send(b"x")

        thread = threading.Thread(target=drip)
        thread.start()
        yield
        ended.set()
        thread.join()


def report(what: str, doors: Doors, measure: Callable[[], list[float]]) -> None:
    """Measure and print a line."""
    times = measure()
    middle, high, most = percentiles(times)
    print(
        f"{what:34} p50 {middle:6.1f} ms   p95 {high:6.1f} ms   longest {most:7.1f} ms"
        f"   {doors.memory():.0f} MB"
    )


def main() -> None:
    """Measure and print."""
    print(f"{platform.system()} {platform.machine()}, Python {platform.python_version()}")
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder)) as doors:
        for tls in (False, True, False, True):
            what = "by TLS, one phone" if tls else "on this machine, one browser"
            report(what, doors, lambda tls=tls: phone(doors, tls=tls, every=0, late=0))
        report(f"by TLS, {PHONES} phones, a tap in {EVERY:g} s", doors, lambda: hall(doors))
        with slow_ones(doors):
            report("the same beside 90 slow ones", doors, lambda: hall(doors))


if __name__ == "__main__":
    if sys.argv[1:2] == ["serve"]:
        serve(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
    else:
        main()
