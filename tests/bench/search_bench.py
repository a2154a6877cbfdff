"""How long the first page of a search takes, in books of growing size, in both databases.

``python tests/bench/search_bench.py [inspections …]``: makes a book by its own seed (the same rows in
every run; every name is invented), and asks `Book.list` for a page of 50 by each kind of word.
Without numbers 10^3 and 10^4 inspections, with ``QUICKCHECK_FULL=1`` 10^4, 10^5 and 10^6. PostgreSQL
is one of our own (`tests.postgres`), and is left out where it is not installed.
"""

import json
import os
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any
from uuid import UUID

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

import psycopg  # noqa: E402

from quickcheck.store import Store, index, open_store  # noqa: E402
from quickcheck.store.documents import search_words, write  # noqa: E402
from tests.postgres import programs, running  # noqa: E402
from tests.store.samples import reference  # noqa: E402

FULL = os.environ.get("QUICKCHECK_FULL") == "1"
SIZES = (10**4, 10**5, 10**6) if FULL else (10**3, 10**4)
TARGETS = {"sqlite": 100, "postgresql": 50}  # milliseconds, 95 of 100 first pages
ASKED = 40  # times, each kind
PAGE = 50
_START = datetime(2020, 1, 1, tzinfo=UTC)
_FIRST = (
    "Quiet",
    "Amber",
    "Loud",
    "Little",
    "Sunday",
    "Borrowed",
    "Rusty",
    "Patient",
    "Crooked",
    "Late",
)
_LAST = (
    *("Heron", "Ladle", "Vicar", "Kettle", "Anvil", "Thimble"),
    *("Otter", "Lantern", "Bramble", "Cousin", "Pulpit", "Spoon"),
)
Columns = dict[str, Any]


def rows(count: int) -> Iterator[tuple[Columns, Columns]]:
    """Yield inspections, each with its one revision, the first opened first."""
    known, dice = reference(), random.Random(count)
    for n in range(count):
        words = [dice.choice(_FIRST), dice.choice(_LAST)]
        words += ["Poplin"] if n % 2 else ["Tansy"]  # half of all
        words += [
            word for word, each in (("Gingham", 100), ("Marzipan", count // 10)) if n % each == 7
        ]
        words += ["Oldwick"] if n < count // 3 else []  # a third, none of them new
        found: Columns = {"name": " ".join(words), "serial_text": f"{dice.randrange(10**7):07}"}
        found["answers"] = {"pot": {"read": f"{dice.randrange(100, 999)}-{dice.randrange(100):02}"}}
        done, opened = write(found), _START + timedelta(minutes=3 * n)
        inspection = {
            "id": UUID(int=dice.getrandbits(128)),
            "edition_hash": known.hash,
            "current": 1,
            "opened": opened,
            "saved": opened,
            "name": found["name"],
            "serial": found["serial_text"],
            "words": search_words(found, known.title),
        }
        revision = {
            "inspection_id": inspection["id"],
            "number": 1,
            "kind": "answer",
            "saved": opened,
            "sha256": sha256(done.text.encode()).hexdigest(),
            "document": done.text,
        }
        yield inspection, revision


def fill(store: Store, count: int) -> None:
    """Put rows into an empty book, past the program: what it would say of each is not measured."""
    store.library.keep(reference())
    put = _fill_sqlite if store._database.is_sqlite else _fill_postgresql
    waiting = rows(count)
    while some := list(islice(waiting, 20_000)):
        for table, part in (("inspection", 0), ("revision", 1)):
            put(store, table, [each[part] for each in some])


def _fill_sqlite(store: Store, table: str, some: list[Columns]) -> None:
    names = list(some[0])
    marks = ", ".join("?" * len(names))
    with store._database.writing() as connection:
        driver: Any = connection.connection.driver_connection
        driver.executemany(
            f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})",  # noqa: S608
            [[_for_sqlite(value) for value in row.values()] for row in some],
        )


def _for_sqlite(value: object) -> object:
    if isinstance(value, UUID):
        return value.hex
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M:%S.%f")
    return value


def _fill_postgresql(store: Store, table: str, some: list[Columns]) -> None:
    with store._database.writing() as connection:
        driver: psycopg.Connection = connection.connection.driver_connection  # type: ignore[assignment]
        with (
            driver.cursor() as cursor,
            cursor.copy(f"COPY {table} ({', '.join(some[0])}) FROM STDIN") as copy,
        ):
            for row in some:
                copy.write_row(list(row.values()))


def without_index(store: Store) -> None:
    """Take the index away: it is made quicker when all rows are there."""
    with store._database.writing() as connection:
        here = ["DROP INDEX IF EXISTS finding_words"]
        for statement in index._UNMAKE if store._database.is_sqlite else here:
            connection.exec_driver_sql(statement)


def questions(count: int) -> Mapping[str, list[str]]:
    """Return words to search for, by their kind."""
    dice = random.Random(7)
    some = [row["serial"] for row, _ in islice(rows(count), 0, None, max(1, count // ASKED))]
    return {
        "nothing (the list)": [""],
        "a serial": some,
        "part of a serial": [serial[1:6] for serial in some],
        "a code that was read": [
            f"{dice.randrange(100, 999)}-{dice.randrange(100):02}" for _ in some
        ],
        "in half of all": ["poplin", "tansy"],
        "in all": ["invented"],
        "in a twelfth": [word.lower() for word in _LAST],
        "in a hundredth": ["gingham"],
        "in ten": ["marzipan"],
        "in none": ["zeppelin", "qwxyz", "poplix", "0000000000"],
        "two, both common": ["poplin vicar", "tansy otter"],
        "two, never together": ["poplin tansy"],
        "common and rare": ["poplin marzipan"],
        "one letter": ["p", "v", "o"],
        "one letter, in none": ["ø"],
        "two letters": ["po", "vi"],
        "two letters, in none": ["qq", "zx"],
        "in a third, all old": ["oldwick"],
    }


def ask(store: Store, count: int) -> dict[str, tuple[float, float]]:
    """Return the 50th and the 95th of 100 first pages of each kind, in milliseconds."""
    found = {}
    for kind, words in questions(count).items():
        times = []
        for n in range(ASKED + 2):
            began = time.perf_counter()
            store.book.list(PAGE, matching=words[n % len(words)])
            times.append((time.perf_counter() - began) * 1000)
        cut = statistics.quantiles(times[2:], n=100, method="inclusive")
        found[kind] = (cut[49], cut[94])
    return found


def measure(address: str, count: int) -> tuple[dict[str, tuple[float, float]], str]:
    """Make a book and ask it; return the times, and how it came to be."""
    with open_store(address, patience=600) as store:
        without_index(store)
        began = time.monotonic()
        fill(store, count)
        filled = time.monotonic()
    with open_store(address, patience=600) as store:
        indexed = time.monotonic()
        with store._database.engine.connect() as connection:
            connection.exec_driver_sql("ANALYZE")
            connection.commit()
        told = store.health()
        note = (
            f"{told['bytes'] / 1e6:.0f} MB, filled in {filled - began:.0f} s, "
            f"index in {indexed - filled:.0f} s"
        )
        return ask(store, count), note


def report(results: Mapping[int, dict[str, tuple[float, float]]], kind: str) -> None:
    """Print a line for each kind of question, and whether the largest book is quick enough."""
    sizes = list(results)
    print("".join([f"{'p50 / p95, ms':<24}", *(f"{size:>20,}" for size in sizes), "   growth p95"]))
    for question in results[sizes[0]]:
        cells = [results[size][question] for size in sizes]
        text = "".join(f"{f'{middle:.1f} / {late:.1f}':>20}" for middle, late in cells)
        print(f"{question:<24}{text}{cells[-1][1] / cells[0][1]:>12.1f}×")
    over = {what: late for what, (_, late) in results[sizes[-1]].items() if late > TARGETS[kind]}
    missed = ", ".join(f"{what} ({late:.1f})" for what, late in over.items())
    print(
        f"the aim at 1,000,000 is {TARGETS[kind]} ms; above it: {missed or 'nothing'}\n", flush=True
    )


def main() -> None:
    """Measure and print."""
    sizes = [int(float(word)) for word in sys.argv[1:]] or list(SIZES)
    print(json.dumps({"load": os.getloadavg(), "cores": os.cpu_count()}))
    with tempfile.TemporaryDirectory() as folder:
        results = {}
        for size in sizes:
            results[size], note = measure(f"sqlite:///{folder}/{size}.sqlite", size)
            print(f"SQLite, {size:,}: {note}", flush=True)
        report(results, "sqlite")
    if programs() is None:
        print("PostgreSQL is not installed")
        return
    with running() as cluster:
        results = {}
        for size in sizes:
            results[size], note = measure(cluster.new(), size)
            print(f"PostgreSQL, {size:,}: {note}", flush=True)
        report(results, "postgresql")


if __name__ == "__main__":
    main()
