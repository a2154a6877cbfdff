"""A show's day in minutes: twenty phones and five kiosks save while the network and the server fail.

``python tests/bench/soak_bench.py [saves]``: on SQLite, then on PostgreSQL with two servers. Phones
are behind a network that harms one request in twelve, by seven kinds of fault at random; kiosks ask
the server itself. A server is killed eight times on the way, once an hour of the day. A ledger
outside the app notes every "saved"; at the end each line of it must be in the book, once. The time
of an acknowledgement is from sending a document to its receipt, of those that got one.
"""

import os
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from statistics import quantiles

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

import psycopg  # noqa: E402

from tests.faults.figures import SEED, bound  # noqa: E402
from tests.faults.ledger import KEPT, Kept, Ledger, kept_of, read_book  # noqa: E402
from tests.faults.phone import Phone  # noqa: E402
from tests.faults.proxy import PASS, Asked, Fault, Plan, Proxy, reply  # noqa: E402
from tests.kit import Server, write_reference  # noqa: E402
from tests.postgres import programs, running  # noqa: E402

PHONES, KIOSKS, HOURS = 20, 5, 8
SAVES = 20_000 if os.environ.get("QUICKCHECK_FULL") == "1" else 2_000
HARMED = 1 / 12
AN_INSPECTION = 20  # saves of one; then the next person comes
ADDRESS = "QUICKCHECK_DATABASE_URL"


@dataclass
class Day:
    """What is counted on the way; threads may write."""

    ledger: Ledger = field(default_factory=Ledger)
    times: list[float] = field(default_factory=list)  # seconds to a receipt
    saves: int = 0
    faults: int = 0
    turn: threading.Lock = field(default_factory=threading.Lock)

    def saved(self, seconds: float) -> None:
        """Note a receipt."""
        with self.turn:
            self.times.append(seconds)
            self.saves += 1


def harming(day: Day, dice: Random) -> Plan:
    """Return a network's plan: most requests pass."""
    busy = reply(503, b"busy", "text/plain")

    def plan(_asked: Asked) -> Fault:
        if dice.random() >= HARMED:
            return PASS
        with day.turn:
            day.faults += 1
        return dice.choice(
            (
                *(Fault(kind) for kind in ("drop-request", "drop-reply", "reset")),
                Fault("duplicate", times=3),
                Fault("cut-upload", at=dice.random()),
                Fault("cut-reply", at=dice.random()),
                Fault("replace", reply=busy, reaches=dice.random() < 0.5),
            )
        )

    return plan


def carry(phone: Phone, day: Day, wanted: int, dice: Random) -> None:
    """Inspect one instrument after the other until so many saves are acknowledged."""
    one, done = phone.begin(), 0
    while done < wanted:
        began = time.monotonic()
        if phone.send(one) == "sent":
            day.saved(time.monotonic() - began)
            done += 1
            one = phone.begin() if done % AN_INSPECTION == 0 else one
            if phone.drafts[one].had:
                phone.write(one)
        else:
            time.sleep(dice.uniform(0.05, 0.3))  # a person goes on meanwhile


def killing(servers: list[Server], day: Day, wanted: int) -> None:
    """Kill a server once an hour of the day and start it again."""
    for hour in range(1, HOURS + 1):
        while day.saves < wanted * hour / (HOURS + 1):
            time.sleep(0.05)
        server = servers[hour % len(servers)]
        server.kill()
        server.start()
        with day.turn:
            day.faults += 1


def spend(servers: list[Server], wanted: int) -> tuple[Day, list[Phone]]:
    """Let a day go by; return what was counted, and the phones with what is on them."""
    day, each = Day(), -(-wanted // (PHONES + KIOSKS))
    with ExitStack() as stack:
        plans = [harming(day, Random(SEED + n)) for n in range(len(servers))]
        lines = [
            stack.enter_context(Proxy(server.port, plan))
            for server, plan in zip(servers, plans, strict=True)
        ]
        ports = [lines[n % len(lines)].port for n in range(PHONES)]
        ports += [servers[n % len(servers)].port for n in range(KIOSKS)]
        phones = [Phone(port, day.ledger, patience=30) for port in ports]
        work = [
            threading.Thread(target=carry, args=(phone, day, each, Random(SEED * 99 + n)))
            for n, phone in enumerate(phones)
        ]
        work.append(threading.Thread(target=killing, args=(servers, day, wanted)))
        for thread in work:
            thread.start()
        for thread in work:
            thread.join()
        for line in lines:
            line.plan = lambda _asked: PASS
        for phone in phones:
            phone.drain()
    return day, phones


def report(name: str, day: Day, phones: list[Phone], kept: Mapping[str, Kept]) -> None:
    """Hold the ledger against the book, and print."""
    account = day.ledger.settle(kept, [phone.unsent for phone in phones])
    at = quantiles(day.times, n=100)
    print(
        f"{name}: {day.saves} saves acknowledged, {day.faults} faults; {account.lost} lost of "
        f"{account.lines}{bound(account.lost, account.lines)}, {account.doubled} doubled; "
        f"acknowledged after p50 {1000 * at[49]:.0f}, p95 {1000 * at[94]:.0f} ms",
        flush=True,
    )


@contextmanager
def servers_on(folder: Path, count: int, address: str = "") -> Iterator[list[Server]]:
    """Start servers on one book."""
    write_reference(folder)
    if address:
        os.environ[ADDRESS] = address
    try:
        with ExitStack() as stack:
            yield [stack.enter_context(Server(folder, "serve")) for _ in range(count)]
    finally:
        os.environ.pop(ADDRESS, None)


def read_postgresql(address: str) -> dict[str, Kept]:
    """Return all that a book in PostgreSQL holds, asked for without the program."""
    with psycopg.connect(address) as connection:
        rows = connection.execute(KEPT).fetchall()
    return kept_of((str(one), number, digest, text) for one, number, digest, text in rows)


def main() -> None:
    """Measure and print."""
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else SAVES
    print(f"{PHONES} phones, {KIOSKS} kiosks, seed {SEED}; cores {os.cpu_count()}")
    with tempfile.TemporaryDirectory() as name, servers_on(Path(name), 1) as servers:
        day, phones = spend(servers, wanted)
        report("SQLite, one server", day, phones, read_book(Path(name)))
    if programs() is None:
        print("PostgreSQL is not installed")
        return
    with running() as cluster, tempfile.TemporaryDirectory() as name:
        address = cluster.new_book()
        with servers_on(Path(name), 2, address) as servers:
            day, phones = spend(servers, wanted)
            report("PostgreSQL, two servers", day, phones, read_postgresql(address))


if __name__ == "__main__":
    main()
