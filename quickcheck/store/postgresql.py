"""What is PostgreSQL's own: how it is connected to, what it must promise, how writers wait.

Two writers are in at once, each under READ COMMITTED. So whatever is read to decide a write is held
first, by ``FOR UPDATE`` on the row that the decision is about, and what may be inserted twice is
inserted with ``ON CONFLICT DO NOTHING``, which waits for the other writer and then says who was
first. Rows are taken in one order: the inspection or the key, then what is inserted, and the tally
last; so that nobody waits in a circle. Readers see one moment (REPEATABLE READ) and hold up nobody.
"""

from collections.abc import Mapping
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, text

from quickcheck.errors import StoreError

READING: Final = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"

_CONNECTIONS: Final = 8
_HOLD_STEPS: Final = text("SELECT pg_advisory_xact_lock(7310742206)")  # a number of our own
_DURABLE: Final = (
    "SELECT set_config('synchronous_commit', 'on', false)"
    " WHERE current_setting('synchronous_commit') = 'off'"
)
_SETTINGS: Final = ("server_encoding", "server_version", "fsync", "full_page_writes")


def engine(url: URL, *, patience: float) -> Engine:
    """Return an engine for a database, not yet connected; ImportError without the driver.

    A connection that died is replaced before it is used (``pool_pre_ping``). Waiting for somebody
    else's row ends after ``patience`` seconds.
    """
    if url.drivername == "postgresql":
        url = url.set(drivername="postgresql+psycopg")
    made = create_engine(
        url,
        pool_size=_CONNECTIONS,
        max_overflow=_CONNECTIONS,
        pool_timeout=max(patience, 1.0),
        pool_pre_ping=True,
        hide_parameters=True,  # as for a file: what an owner said has no place in a log
        connect_args=_arguments(url, patience),
    )
    wait = f"SET lock_timeout = {max(1, round(patience * 1000))}"

    def prepare(connection: Any, _record: object) -> None:
        connection.autocommit = True  # outside of any transaction, so that it stays
        for statement in (wait, "SET timezone = 'UTC'", _DURABLE):
            connection.execute(statement)
        connection.autocommit = False

    event.listen(made, "connect", prepare)
    return made


def _arguments(url: URL, patience: float) -> dict[str, object]:
    """Return what the address leaves open: a server that is not there must not hang a request."""
    usual: dict[str, object] = {
        "connect_timeout": max(2, round(patience)),
        "keepalives_idle": 30,
        "tcp_user_timeout": 30_000,  # milliseconds
        "application_name": "quickcheck",
        "prepare_threshold": None,  # a pooler in between may not know what was prepared
    }
    return {name: value for name, value in usual.items() if name not in url.query}


def hold_steps(connection: Connection) -> None:
    """Let one program at a time bring the tables up to date."""
    if connection.dialect.name == "postgresql":
        connection.execute(_HOLD_STEPS)


def check(connection: Connection, place: str) -> None:
    """Refuse a database that can't hold every text."""
    if connection.dialect.name != "postgresql":
        return
    encoding = str(connection.scalar(text("SELECT current_setting('server_encoding')")))
    if encoding != "UTF8":
        raise StoreError.of(
            place,
            expected="a database in UTF8",
            came=encoding,
            remedy="Make one: CREATE DATABASE … ENCODING 'UTF8' TEMPLATE template0.",
        )


def settings(connection: Connection) -> Mapping[str, str]:
    """Return what the server is, and what it promises."""
    named = ", ".join(f"current_setting('{name}') AS {name}" for name in _SETTINGS)
    found = connection.execute(
        text(f"SELECT {named}, pg_database_size(current_database()) AS bytes")
    )
    return dict(found.mappings().one())
