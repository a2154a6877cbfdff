"""How many answers a second are saved by one, two and four server processes on one PostgreSQL.

``python tests/bench/saves_bench.py [seconds]``: starts `quickcheck serve` once, twice, four times on
one database, lets two stations for each save answers as fast as the replies come, and prints the
ratios. What one machine can show is bounded by its cores, which servers, stations and PostgreSQL
share; the same with the inspections' rows alone, without any web, is printed beside it.
"""

import http.client
import multiprocessing
import os
import re
import sys
import tempfile
import threading
import time
import urllib.parse
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from quickcheck.store import open_store  # noqa: E402
from tests import kit  # noqa: E402
from tests.kit import Server  # noqa: E402
from tests.postgres import programs, running  # noqa: E402
from tests.store.samples import document, reference  # noqa: E402

PROCESSES = (1, 2, 4)
STATIONS = 2  # for each server
SECONDS = 20.0 if os.environ.get("QUICKCHECK_FULL") == "1" else 4.0
CLAIM = {"reference": "loom-one", "year": "1953", "part": "early", "access": "open"}
PAGE = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"}


def station(port: int, seconds: float) -> int:
    """Save answers over one line; return how many were acknowledged."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def send(path: str, form: dict[str, str]) -> tuple[int, str]:
        line.request("POST", path, urllib.parse.urlencode(form), PAGE | {"HX-Request": "true"})
        got = line.getresponse()
        got.read()
        return got.status, got.getheader("Location", "")

    status, where = send("/", CLAIM)
    if status != 303 or not re.match(r"/inspect/", where):
        raise RuntimeError(f"{status} {where}")
    ends, saved = time.monotonic() + seconds, 0
    while time.monotonic() < ends:
        form = {"_point": "knobs", "knobs": "horn" if saved % 2 else "wood"}
        status, _ = send(f"{where.split('?')[0]}/answer", form)
        if status != 200:
            raise RuntimeError(f"an answer got {status}")
        saved += 1
    line.close()
    return saved


def by_servers(address: str, count: int, seconds: float) -> float:
    """Return the saves a second through some servers."""
    os.environ["QUICKCHECK_DATABASE_URL"] = address
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        kit.write_reference(folder)
        servers = [stack.enter_context(Server(folder, command="serve")) for _ in range(count)]
        work = [(server.port, seconds) for server in servers for _ in range(STATIONS)]
        with multiprocessing.get_context("spawn").Pool(len(work)) as pool:
            pool.starmap(station, [(port, 0.3) for port, _ in work], chunksize=1)  # warm
            return sum(pool.starmap(station, work, chunksize=1)) / seconds


def writer(address: str, seconds: float) -> int:
    """Save through the store alone, by two threads on an inspection each."""
    counts: list[int] = []
    with open_store(address, patience=60) as store:
        store.library.keep(reference())

        def work() -> None:
            now = datetime.now(UTC)
            saved = store.book.open(uuid4(), reference(), document(), now=now)
            ends, done = time.monotonic() + seconds, 0
            while time.monotonic() < ends:
                more = document(n=done)
                saved = store.book.save(saved.id, more, revision=saved.revision, now=now)
                done += 1
            counts.append(done)

        threads = [threading.Thread(target=work) for _ in range(STATIONS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return sum(counts)


def by_writers(address: str, count: int, seconds: float) -> float:
    """Return the saves a second by some processes without any web."""
    with multiprocessing.get_context("spawn").Pool(count) as pool:
        pool.starmap(writer, [(address, 0.3)] * count, chunksize=1)
        return sum(pool.starmap(writer, [(address, seconds)] * count, chunksize=1)) / seconds


def main() -> None:
    """Measure and print."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    if programs() is None:
        print("PostgreSQL is not installed")
        return
    print(f"cores {os.cpu_count()}, load before {os.getloadavg()[0]:.1f}; {seconds:g} s each")
    with running() as cluster:
        for name, measure in (("servers", by_servers), ("the store alone", by_writers)):
            found = [measure(cluster.new_book(), count, seconds) for count in PROCESSES]
            text = ", ".join(
                f"{count}: {rate:.0f}/s = {rate / found[0]:.2f}×"
                for count, rate in zip(PROCESSES, found, strict=True)
            )
            print(f"{name}, processes {text}", flush=True)


if __name__ == "__main__":
    main()
