"""The server: waitress on this machine, and before it the doors that were asked for."""

import select
import socket
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from typing import Any, Final

import waitress

from quickcheck.desk import Doors, Lan, Shelf, Tls
from quickcheck.errors import StoreError, shown
from quickcheck.store import LARGEST_PHOTO, KeyFiles, Store
from quickcheck.web.app import create_app
from quickcheck.web.context import Settings
from quickcheck.web.log import written
from quickcheck.web.relay import MOST, Relay, context_of

Wsgi = Callable[..., Iterable[bytes]]
THREADS = 2
"""Few: an answer takes milliseconds of one interpreter and there is one writer, so that more threads
only make each wait for the others; two, so that one photo does not hold up the answers."""
_CONNECTIONS: Final = MOST + 50
_FILES: Final = 2048  # that we may have open: three for each connection, and the book
_UNKNOWN: Final = "0.0.0.0"  # noqa: S104  # of nobody: a phone that is gone already
_TRUSTED: Final = frozenset({"x-forwarded-for", "x-forwarded-proto"})
"""All that is believed of a proxy, and of nobody else. Other such headers change nothing; they are
left to be seen, as they tell that a request was handed on."""


def serve_app(
    store: Store,
    shelf: Shelf,
    *,
    keys: KeyFiles,
    doors: Doors,
    started: Callable[[], None],
) -> None:
    """Serve until interrupted; ``started`` is called once the ports are ours.

    StoreError when a port is taken, or the certificate and its key are none.
    """
    beside = keys.folder.parent / "exports"
    found = Settings(
        store, shelf, base_url=doors.home, hosts=doors.hosts, keys=keys, exports=beside
    )
    app = create_app(found)
    with written(sys.stderr), opened(app, doors) as server:
        started()
        server.run()


@contextmanager
def opened(app: Wsgi, doors: Doors) -> Iterator[Any]:
    """Open all doors of an application; yield the server that ``run`` lets in by them."""
    _allow_files()
    with ExitStack() as stack:
        sockets = [stack.enter_context(_listening("127.0.0.1", doors.port))]
        inside, phones = 0, dict[int, str]()
        if doors.lan:
            # What comes sealed goes on over a port that the system chooses, on this machine only.
            address = ("127.0.0.1", 0) if doors.lan.tls else (doors.lan.address, doors.lan.port)
            sockets.append(stack.enter_context(_listening(*address)))
            inside = sockets[-1].getsockname()[1] if doors.lan.tls else 0
        server = _waitress(_told_of_phones(app, inside, phones), sockets, doors)
        stack.callback(server.close)
        if doors.lan and doors.lan.tls:
            stack.enter_context(_relay(doors.lan, doors.lan.tls, inside=inside, phones=phones))
        yield server


def _waitress(app: Wsgi, sockets: list[socket.socket], doors: Doors) -> Any:
    trusted: dict[str, Any] = {}
    if doors.proxy:
        trusted = {
            "trusted_proxy": doors.proxy.address,
            "trusted_proxy_count": doors.proxy.hops,
            "trusted_proxy_headers": set(_TRUSTED),
        }
    return waitress.create_server(
        app,
        sockets=sockets,
        threads=THREADS,
        connection_limit=_CONNECTIONS,
        asyncore_use_poll=hasattr(select, "poll"),
        max_request_body_size=2 * LARGEST_PHOTO,
        clear_untrusted_proxy_headers=False,
        **trusted,
    )


def _told_of_phones(app: Wsgi, inside: int, phones: Mapping[int, str]) -> Wsgi:
    """Return the application, told of what comes in behind the relay that it came by https.

    And from where: to waitress it seems to come from this very machine, which has more rights.
    """

    def called(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        if inside and environ["SERVER_PORT"] == str(inside):
            environ["wsgi.url_scheme"] = "https"
            environ["REMOTE_ADDR"] = phones.get(int(environ["REMOTE_PORT"]), _UNKNOWN)
        return app(environ, start_response)

    return called


def _listening(host: str, port: int) -> socket.socket:
    """Take a port."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    taken = socket.socket(family, socket.SOCK_STREAM)
    # On Windows "reuse" lets two programs have one port.
    option = getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR)
    try:
        with _port_needed(host, port):
            taken.setsockopt(socket.SOL_SOCKET, option, 1)
            taken.bind((host, port))
            taken.listen(256)
    except BaseException:
        taken.close()
        raise
    return taken


@contextmanager
def _relay(lan: Lan, tls: Tls, *, inside: int, phones: dict[int, str]) -> Iterator[Relay]:
    context = context_of(tls.certificate, tls.private_key)
    relay = Relay((lan.address, lan.port), inside, context, phones)
    with ExitStack() as stack:
        with _port_needed(lan.address, lan.port):
            stack.enter_context(relay)
        yield relay


@contextmanager
def _port_needed(host: str, port: int) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise StoreError.of(
            f"port {port} at {host}",
            expected="a port that is free, at an address of this machine",
            came=shown(error.strerror or str(error)),
            remedy="Stop what listens there, or choose another with --port or --lan-port.",
        ) from None


def _allow_files() -> None:
    """Let this process have as many connections open as it takes; some systems begin with 256."""
    with suppress(ImportError, OSError, ValueError):
        import resource  # noqa: PLC0415  # Windows has none, and no such limit

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = _FILES if hard == resource.RLIM_INFINITY else min(_FILES, hard)
        if soft != resource.RLIM_INFINITY and soft < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
