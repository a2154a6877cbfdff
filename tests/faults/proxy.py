"""A network that can be told how to fail: it stands between a client and the real server.

``with Proxy(server.port) as proxy: proxy.plan = lambda asked: Fault("drop-reply")``. Every request
is read whole before the plan is asked, and gets a connection of its own to the server, so that what
happens to it is known exactly. The proxy runs in a thread with an event loop of its own.
"""

import asyncio
import socket
import struct
import threading
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from time import sleep
from types import TracebackType
from typing import Self

_LONGEST = 30.0  # seconds that the server may take
_GONE = (OSError, asyncio.IncompleteReadError, TimeoutError)
HTML = b"<!doctype html><title>Welcome</title><h1>Accept the terms of this network</h1>"


@dataclass(frozen=True)
class Asked:
    """A request as it came: what it is for, its raw head, its body."""

    method: str
    path: str
    head: bytes
    body: bytes

    @property
    def is_document(self) -> bool:
        """Whether it carries an inspection."""
        return self.method == "PUT" and "/photos/" not in self.path

    def raw(self, body: bytes | None = None) -> bytes:
        """Return it as it goes to the server; with another body, honestly measured, if given."""
        lines = [
            line
            for line in self.head.split(b"\r\n")
            if not line.lower().startswith((b"connection:", b"content-length:"))
        ]
        sent = self.body if body is None else body
        lines += [b"Connection: close"]
        if self.method not in {"GET", "HEAD"}:
            lines += [b"Content-Length: %d" % len(sent)]
        return b"\r\n".join([*lines, b"", b""]) + sent


@dataclass(frozen=True)
class Fault:
    """What becomes of one request.

    ``pass`` · ``drop-request`` · ``drop-reply`` (after the server is done) · ``reset`` ·
    ``duplicate`` (``times`` in parallel) · ``delay`` (by ``wait`` seconds, sent even if the client
    has gone) · ``cut-upload`` (breaks off at ``at``) · ``short-upload`` (ends at ``at`` and claims
    that this is all) · ``cut-reply`` (breaks off at ``at``) · ``slow`` · ``replace`` (the client
    gets ``reply``; the server gets the request first if ``reaches``). ``at`` is a share of the
    bytes, 0 to 1.
    """

    kind: str = "pass"
    at: float = 0.5
    wait: float = 0.0
    times: int = 2
    reply: bytes = b""
    reaches: bool = False


PASS = Fault()
Plan = Callable[[Asked], Fault]


def reply(status: int, body: bytes = HTML, kind: str = "text/html", *more: str) -> bytes:
    """Return a whole reply such as a hotel's network or a worn-out gateway gives."""
    lines = [f"HTTP/1.1 {status} Other", f"Content-Type: {kind}", f"Content-Length: {len(body)}"]
    return "\r\n".join([*lines, "Connection: close", *more, "", ""]).encode() + body


@dataclass
class Proxy:
    """The network to one server; ``plan`` may be set at any time, `replies` counts the server's."""

    upstream: int
    plan: Plan = field(default=lambda _asked: PASS)
    down: bool = False
    port: int = 0
    replies: int = 0
    _loop: asyncio.AbstractEventLoop = field(default_factory=asyncio.new_event_loop)
    _lines: set[asyncio.StreamWriter] = field(default_factory=set)  # all that were ever open

    @property
    def url(self) -> str:
        """The address, without a slash at its end."""
        return f"http://localhost:{self.port}"

    def __enter__(self) -> Self:
        up = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(up,), daemon=True)
        self._thread.start()
        assert up.wait(10)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)

    def _run(self, up: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        listening = asyncio.start_server(self._accept, "127.0.0.1", self.port)
        server = self._loop.run_until_complete(listening)
        self.port = server.sockets[0].getsockname()[1]
        up.set()
        self._loop.run_forever()
        self._loop.run_until_complete(self._hang_up(server))
        self._loop.close()

    def flap(self, waits: Iterable[float]) -> None:
        """Go down and come back, each for as many seconds as the next wait says."""
        for wait in waits:
            self.down = True
            sleep(wait)
            self.down = False
            sleep(wait)

    async def _hang_up(self, server: asyncio.Server) -> None:
        """End every connection; what was just accepted is let in first, or nobody would close it."""
        for turn in range(10):
            await asyncio.sleep(0.01)
            if turn == 4:  # a server that is closed leaves what it accepted lying about
                server.close()
            for writer in self._lines:
                writer.transport.abort()  # whoever reads from it hears that it is gone
        tasks = asyncio.all_tasks() - {asyncio.current_task()}
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await asyncio.sleep(0.01)

    async def _accept(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._lines.add(writer)
        with suppress(*_GONE, asyncio.CancelledError):
            if self.down:
                _reset(writer)
            elif asked := await _read(reader):
                await self._suffer(asked, self.plan(asked), writer)
        writer.close()

    async def _suffer(self, asked: Asked, fault: Fault, writer: asyncio.StreamWriter) -> None:
        got = await self._got(asked, fault)
        if self.down or not got or fault.kind == "drop-reply":
            _reset(writer)
            return
        writer.write(got[: int(fault.at * len(got))] if fault.kind == "cut-reply" else got)
        await writer.drain()

    async def _got(self, asked: Asked, fault: Fault) -> bytes:
        """Return what comes back over this network; nothing if it breaks off."""
        part = asked.body[: int(fault.at * len(asked.body))]
        got = b""
        match fault.kind:
            case "reset" | "drop-request":
                pass
            case "delay":
                got = await asyncio.shield(self._later(asked, fault.wait))
            case "duplicate":
                each = (self._fetch(asked.raw()) for _ in range(fault.times))
                got = (await asyncio.gather(*each))[-1]
            case "cut-upload":
                await self._fetch(asked.raw().removesuffix(asked.body) + part, ends=True)
            case "short-upload":
                got = await self._fetch(asked.raw(part))
            case "replace":
                if fault.reaches:
                    await self._fetch(asked.raw())
                got = fault.reply
            case _:
                got = await self._fetch(asked.raw(), slowly=fault.wait)
        return got

    async def _later(self, asked: Asked, wait: float) -> bytes:
        await asyncio.sleep(wait)
        return await self._fetch(asked.raw())

    async def _fetch(self, content: bytes, *, slowly: float = 0, ends: bool = False) -> bytes:
        """Return the server's whole reply, empty if there is none."""
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", self.upstream)
        except OSError:
            return b""
        self._lines.add(writer)
        try:
            for piece in _pieces(content, 40 if slowly else 1):
                writer.write(piece)
                await writer.drain()
                await asyncio.sleep(slowly / 40)
            if ends:
                return b""
            got = await asyncio.wait_for(reader.read(), _LONGEST)
        except _GONE:
            return b""
        finally:
            writer.close()
        self.replies += 1
        return got


def _pieces(content: bytes, count: int) -> list[bytes]:
    size = max(1, -(-len(content) // count))
    return [content[at : at + size] for at in range(0, len(content), size)]


async def _read(reader: asyncio.StreamReader) -> Asked | None:
    raw = await reader.readuntil(b"\r\n\r\n")
    head = raw[:-4]
    first, *lines = head.split(b"\r\n")
    method, path, _ = first.decode("latin-1").split(" ", 2)
    named = dict(line.lower().split(b":", 1) for line in lines)
    size = int(named.get(b"content-length", b"0"))
    return Asked(method, path, head, await reader.readexactly(size))


def _reset(writer: asyncio.StreamWriter) -> None:
    """Break the connection off as a mast that is out of sight does: with a reset, not an end."""
    found = writer.get_extra_info("socket")
    if found is not None:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    writer.transport.abort()
