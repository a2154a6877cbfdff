"""A PostgreSQL of the tests' own: in a temporary folder, reached by a socket in it, never Debian's.

``QUICKCHECK_TEST_DATABASE=postgresql`` runs the tests of the store, and those of the web that stand
on it, against one in place of a file. What is about the file itself asks for the fixture ``place``
and is left out then.
"""

import atexit
import os
import secrets
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import cache
from itertools import count
from pathlib import Path
from urllib.parse import quote

import psycopg

from quickcheck.store import THIS_BOOK, open_store
from quickcheck.store.tables import Row

ON_POSTGRESQL = os.environ.get("QUICKCHECK_TEST_DATABASE") == "postgresql"
_DEBIANS = Path("/usr/lib/postgresql")
_USER = "postgres"
_PATIENCE = 60.0  # seconds
_NO_ENVIRONMENT = {"PATH": os.environ.get("PATH", ""), "LC_ALL": "C.UTF-8"}


def programs() -> Path | None:
    """Return the folder of the server's programs, the newest."""
    found = sorted(_DEBIANS.glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]))
    here = found[-1] if found else shutil.which("initdb")
    return Path(here).resolve().parent if here else None


def _somebody() -> dict[str, object]:
    """Return who runs it, as arguments for a process: PostgreSQL refuses to run as root."""
    if os.geteuid():
        return {}
    import pwd  # noqa: PLC0415  # not everywhere

    return {"user": _USER, "group": pwd.getpwnam(_USER).pw_gid, "extra_groups": []}


@dataclass
class Cluster:
    """One server with as many databases as tests want."""

    folder: Path
    process: subprocess.Popen[bytes] | None = None
    names: Iterator[int] = field(default_factory=count)
    has_empty: bool = False
    spare: list[str] = field(default_factory=list)

    @classmethod
    def make(cls) -> "Cluster":
        """Make the files of a server; it is not started yet."""
        made = cls(Path(tempfile.mkdtemp(prefix="qcpg-")))
        if not os.geteuid():
            shutil.chown(made.folder, _USER, _USER)
        words = ("-D", made.data, "-U", _USER, "--auth=trust", "--encoding=UTF8", "--no-sync")
        made._run("initdb", *words, "--locale=C.UTF-8")
        return made

    @property
    def data(self) -> Path:
        """Where the server keeps its files."""
        return self.folder / "data"

    def _program(self, name: str) -> Path:
        found = programs()
        if found is None:
            raise RuntimeError("PostgreSQL is missing: install Debian's package postgresql")
        return found / name

    def _run(self, name: str, *words: str | Path) -> None:
        subprocess.run(
            [self._program(name), *words],
            check=True,
            capture_output=True,
            env=_NO_ENVIRONMENT,
            cwd=self.folder,
            **_somebody(),  # type: ignore[call-overload]
        )

    def start(self, *settings: str) -> None:
        """Start it and wait until it answers; files that a kill left behind may need a moment."""
        usual = ("listen_addresses=", f"unix_socket_directories={self.folder}")
        sizes = ("max_connections=120", "shared_buffers=256MB", "maintenance_work_mem=256MB")
        words = [word for each in (*usual, *sizes, *settings) for word in ("-c", each)]
        ends = time.monotonic() + _PATIENCE
        with (self.folder / "log").open("ab") as log:
            while time.monotonic() < ends:
                if self.process is None or self.process.poll() is not None:
                    self.process = subprocess.Popen(
                        [self._program("postgres"), "-D", self.data, *words],
                        stdin=subprocess.DEVNULL,
                        stdout=log,
                        stderr=log,
                        env=_NO_ENVIRONMENT,
                        cwd=self.folder,
                        **_somebody(),  # type: ignore[call-overload]
                    )
                with suppress(psycopg.OperationalError), self.connect():
                    return
                time.sleep(0.05)
        raise RuntimeError((self.folder / "log").read_text(errors="replace")[-2000:])

    def kill(self) -> None:
        """End it between two instructions; its children notice and end, too."""
        assert self.process
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        """End it at once, but in order."""
        if self.process:
            self.process.send_signal(signal.SIGINT)
            self.process.wait(_PATIENCE)
            self.process = None

    def remove(self) -> None:
        """End it and take its files away."""
        with suppress(subprocess.TimeoutExpired):
            self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    def url(self, database: str, user: str = _USER) -> str:
        """Return the address of a database."""
        return f"postgresql://{user}@/{database}?host={quote(str(self.folder), safe='')}"

    def connect(self, database: str = "postgres") -> psycopg.Connection:
        """Return a connection of another program's."""
        return psycopg.connect(
            host=str(self.folder), user=_USER, dbname=database, autocommit=True, connect_timeout=5
        )

    def new(self, template: str = "template0", more: str = "") -> str:
        """Make a database and return its address."""
        name = f"book_{next(self.names)}"
        with self.connect() as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {template} {more}")
        return self.url(name)

    def new_book(self) -> str:
        """Return the address of a database with an empty book in it."""
        if self.spare:
            return self.spare.pop()
        if not self.has_empty:
            with self.connect() as connection:
                connection.execute("CREATE DATABASE empty_book TEMPLATE template0")
            open_store(self.url("empty_book"), patience=60).close()
            self.has_empty = True
        return self.new("empty_book")

    def give_back(self, address: str) -> None:
        """Empty a database that held a book, for the next who wants one: that is quicker."""
        with psycopg.connect(address) as connection:
            connection.execute("SET session_replication_role = replica")  # no trigger refuses it
            for table in reversed(Row.metadata.sorted_tables):
                connection.execute(f"DELETE FROM {table.name}")  # noqa: S608
            for name in ("conflict_id", "parked_id", "start_number", "secret_try_id"):
                sequence = f"{name}_seq"
                connection.execute(f"ALTER SEQUENCE {sequence} RESTART")
            connection.execute(
                "INSERT INTO server (id, book, epoch) VALUES (1, %s, %s)",
                (secrets.token_hex(16), secrets.token_hex(16)),
            )
            connection.execute(
                "INSERT INTO book (id, name, made) VALUES (%s, 'This book', now())", (THIS_BOOK,)
            )
            connection.execute("INSERT INTO tally SELECT n, 0 FROM generate_series(0, 15) n")
        self.spare.append(address)


@cache
def shared() -> Cluster:
    """Return a server that runs until this process ends; what outlives a kill has its own."""
    cluster = Cluster.make()
    atexit.register(cluster.remove)
    cluster.start("fsync=off")
    return cluster


@contextmanager
def borrowed_book() -> Iterator[str]:
    """Lend the address of an empty book: of the server that all share, or in a file."""
    if not ON_POSTGRESQL:
        with tempfile.TemporaryDirectory() as folder:
            yield f"sqlite:///{folder}/book.sqlite"
        return
    address = shared().new_book()
    yield address
    shared().give_back(address)


@contextmanager
def running(*settings: str) -> Iterator[Cluster]:
    """Run a server until the block is left."""
    cluster = Cluster.make()
    try:
        cluster.start(*settings)
        yield cluster
    finally:
        cluster.remove()
