"""TLS for phones in the hall: bytes come in sealed, and go on in the clear inside this machine.

Waitress speaks no TLS. This relay ends it, in a thread with an event loop of its own, and hands the
bytes on to waitress, which reads a whole request before one of its threads hears of it; so a slow
phone holds up nobody, neither while it shakes hands nor while it sends. Nothing of HTTP is read or
written here, so there is no header that a phone could make us believe.
"""

import asyncio
import logging
import ssl
import threading
from collections.abc import Coroutine
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from quickcheck.errors import StoreError, shown

_log = logging.getLogger(__name__)
_PIECE: Final = 64 * 1024  # bytes that are under way in each direction of a connection
_HANDSHAKE: Final = 10.0  # seconds
_GOODBYE: Final = 2.0  # seconds that a phone has to answer our end of TLS
MOST: Final = 200
"""Connections at once: some thirty phones with the six that a browser opens."""
_OF_ONE: Final = 40  # of them from one address, so that no single phone takes all


def context_of(certificate: Path, private_key: Path) -> ssl.SSLContext:
    """Return what a connection is sealed with; StoreError if the two files are no pair."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.options |= ssl.OP_NO_COMPRESSION | ssl.OP_NO_RENEGOTIATION
    context.set_alpn_protocols(["http/1.1"])
    try:
        # The password is never asked for: a terminal is not where a server waits.
        context.load_cert_chain(certificate, private_key, password=_no_password)
    except (OSError, ValueError) as error:
        raise StoreError.of(
            str(certificate),
            expected=f"a certificate in PEM, and its key in {private_key.name} without a password",
            came=shown(str(error)),
            remedy="Name the two files that belong together; quickcheck tls make makes a pair.",
        ) from None
    return context


def _no_password() -> str:
    raise ValueError("the key has a password")


@dataclass
class Relay:
    """A TLS door at ``address``; each connection goes on to ``inside``, a port of this machine.

    ``phones`` says, by the port that it goes on from, which address a connection came from.
    """

    address: tuple[str, int]
    inside: int
    context: ssl.SSLContext
    phones: dict[int, str] = field(default_factory=dict)
    _loop: asyncio.AbstractEventLoop = field(default_factory=asyncio.new_event_loop)
    _tasks: dict[asyncio.Task[None], str] = field(default_factory=dict)  # with the phone's address
    _server: asyncio.Server | None = None
    _thread: threading.Thread | None = None

    def __enter__(self) -> Self:
        """Take the port and begin; OSError when the port can't be had."""
        self._thread = threading.Thread(target=self._loop.run_forever, name="tls", daemon=True)
        self._thread.start()
        try:
            self._run(self._open())
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take no more, and cut what is open."""
        self._run(self._close())
        self._end()

    def _run(self, work: Coroutine[Any, Any, None]) -> None:
        asyncio.run_coroutine_threadsafe(work, self._loop).result()

    def _end(self) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        if self._thread:
            self._thread.join()
        self._loop.close()

    async def _open(self) -> None:
        self._loop.set_exception_handler(_note)
        host, port = self.address
        self._server = await asyncio.start_server(
            self._serve,
            host,
            port,
            limit=_PIECE,
            backlog=256,
            ssl=self.context,
            ssl_handshake_timeout=_HANDSHAKE,
            ssl_shutdown_timeout=_GOODBYE,
        )

    async def _close(self) -> None:
        if self._server:
            self._server.close()
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _serve(self, phone: asyncio.StreamReader, back: asyncio.StreamWriter) -> None:
        task, (address, *_) = asyncio.current_task(), back.get_extra_info("peername") or [""]
        if task is None or self._is_full(address):
            back.transport.abort()
            return
        self._tasks[task] = address
        try:
            await self._carry(phone, back, address)
        except (OSError, asyncio.CancelledError):
            back.transport.abort()  # the phone went away, or we are closing
        finally:
            del self._tasks[task]

    def _is_full(self, address: str) -> bool:
        of_one = sum(each == address for each in self._tasks.values())
        return len(self._tasks) >= MOST or of_one >= _OF_ONE

    async def _carry(
        self, phone: asyncio.StreamReader, back: asyncio.StreamWriter, address: str
    ) -> None:
        """Carry both ways until our server ends the connection or the phone is gone."""
        inner, on = await asyncio.open_connection("127.0.0.1", self.inside, limit=_PIECE)
        port = on.get_extra_info("sockname")[1]
        self.phones[port] = address  # before the first byte goes on
        sending = asyncio.ensure_future(_pump(phone, on))
        try:
            await _pump(inner, back)
        finally:
            sending.cancel()
            on.transport.abort()
            with suppress(OSError, asyncio.CancelledError):
                await sending
            del self.phones[port]
        back.close()


async def _pump(source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
    """Hand on what comes, no faster than it is taken; then say that nothing more will come."""
    while piece := await source.read(_PIECE):
        target.write(piece)
        await target.drain()
    if target.can_write_eof():
        target.write_eof()


def _note(_loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
    # Port scans and phones that do not trust our certificate end in the middle of a handshake.
    _log.debug("a connection was not made: %s", context.get("exception") or context["message"])
