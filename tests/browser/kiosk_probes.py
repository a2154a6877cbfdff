"""Forty ways to see something of the person before, each told as the text or bytes it comes upon.

A probe looks as somebody does who sits down next and is curious, knows the addresses, and may open
the browser's own tools and files.
"""

import json
import re
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Error, Page

from quickcheck.card import data_of, head
from quickcheck.errors import QuickcheckError
from quickcheck.store import Role
from tests.browser.kiosk import Kiosk, mine
from tests.browser.walking import Shop

SERIAL: Final = "QX4471ZB"
NAME: Final = "Aunt Zebedine"
WORDS: Final = "out of the flooded cellar"
NOTE: Final = "hairline crack beside knob"
HALF: Final = "half a thought about"
TEXTS: Final = (SERIAL, NAME, WORDS, NOTE, HALF)
_SETTLED: Final = 250  # milliseconds: what shows late, shows in these

_EVERYTHING: Final = """() => {
  const values = [...document.querySelectorAll('input, textarea, select')].map((e) => e.value);
  return [document.title, location.href, document.documentElement.outerHTML,
          document.body?.innerText ?? '', ...values].join('\\n');
}"""
_CACHES: Final = """async () => {
  const found = [];
  for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) {
    const reply = await (await caches.open(name)).match(request, { ignoreVary: true });
    found.push(name, request.url, await reply.text());
  }
  return found.join('\\n');
}"""
_DATABASES: Final = """async () => {
  const plain = (value) => JSON.stringify(value, (_, each) => each instanceof ArrayBuffer
    ? String.fromCharCode(...new Uint8Array(each).slice(0, 20000)) : each);
  const found = [];
  for (const { name } of await indexedDB.databases()) {
    const database = await new Promise((done) => { const o = indexedDB.open(name); o.onsuccess = () => done(o.result); });
    for (const store of database.objectStoreNames) found.push(name, store, plain(await new Promise((done) => {
      const asked = database.transaction(store).objectStore(store).getAll();
      asked.onsuccess = () => done(asked.result);
    })));
    database.close();
  }
  return found.join('\\n');
}"""
_FETCHED: Final = """async (addresses) => {
  const found = [];
  for (const address of addresses) found.push(await (await fetch(address)).text().catch(String));
  return found.join('\\n');
}"""


@dataclass
class Before:
    """What the person before did here, and what of it can be known."""

    path: str  # of the inspection
    card: str  # the path of the card's page, as the browser had it
    digits: str  # of the card
    photo: str  # the hash by which the photo is named
    served: str  # the hash of the photo as the server gives it
    blob: str  # the address of the photo in the page
    start: bytes  # a picture of the start page that nobody had used


@dataclass
class Room:
    """The kiosk after the hand-over, with the next person before it."""

    shop: Shop
    kiosk: Kiosk
    page: Page
    second: Page  # a tab that the person before left open
    before: Before
    heard: list[str] = field(default_factory=list)

    def hear(self, words: str) -> None:
        """Keep what the second tab was told."""
        self.heard.append(words)

    @property
    def url(self) -> str:
        """The address of the server."""
        return self.shop.server.url

    def leaks(self, found: str | bytes) -> list[str]:
        """Return what of the person before is in something that was found."""
        data = found if isinstance(found, bytes) else found.encode()
        marks = [*TEXTS, self.before.photo, self.before.served]
        if isinstance(found, bytes):
            marks.append("") if sha256(data).hexdigest() in marks else None
        seen = [each for each in marks if each.encode() in data or each.encode("utf-16-le") in data]
        return seen + [f"card of {SERIAL}" for each in _cards(data) if SERIAL in each]


def _cards(data: bytes) -> list[str]:
    """Return the serials of all cards whose digits are somewhere in what was found."""
    found = []
    for digits in re.findall(rb"[0-9]{120,}", data):
        try:
            found.append(head(data_of(digits.decode())).serial_text)
        except QuickcheckError:
            continue
    return found


Probe = Callable[[Room], str | bytes]


def _back(page: Page) -> None:
    """Press Back; a page out of the cache tells the driver nothing of its loading."""
    page.evaluate("history.back()")


def _forward(page: Page) -> None:
    page.evaluate("history.forward()")


def _reload(page: Page) -> None:
    page.evaluate("location.reload()")


def read(page: Page) -> str:
    """Return all that a page shows, says or holds."""
    for _ in range(20):
        try:
            page.wait_for_timeout(_SETTLED)
            return str(page.evaluate(_EVERYTHING))
        except Error:
            continue  # it went on to another page
    raise AssertionError(page.url)


def _go(act: Callable[[Page], Any], times: int = 1) -> Probe:
    def probe(room: Room) -> str:
        found = []
        for _ in range(times):
            act(room.page)
            found.append(read(room.page))
        return "\n".join(found)

    return probe


def _open(path: Callable[[Before], str]) -> Probe:
    """Return a probe that types an address into a new tab."""

    def probe(room: Room) -> str:
        page = room.kiosk.another()
        try:
            page.goto(room.url + path(room.before))
            return read(page)
        finally:
            page.close()

    return probe


def _bytes(path: Callable[[Before], str]) -> Probe:
    """Return a probe that fetches what is no page, with the kiosk's own cookies."""

    def probe(room: Room) -> bytes:
        assert room.kiosk.context
        return room.kiosk.context.request.get(room.url + path(room.before)).body()

    return probe


def _ask(script: str) -> Probe:
    return lambda room: str(room.page.evaluate(script))


def _on_paper(room: Room) -> str:
    room.page.emulate_media(media="print")
    found = read(room.page)
    room.page.emulate_media(media="screen")
    return found


def _on_screen(room: Room) -> bytes:
    """Return the name of the person before, unless the screen is what it was before them."""
    room.page.goto(room.url)
    read(room.page)
    return b"" if picture(room.page) == room.before.start else NAME.encode()


def picture(page: Page) -> bytes:
    """Return the screen as it is, with nothing under the pointer."""
    page.mouse.move(5, 700)
    page.wait_for_timeout(_SETTLED)
    return page.screenshot(animations="disabled", caret="hide")


def _duplicate(room: Room) -> str:
    with room.page.expect_popup() as opened:
        room.page.evaluate("void window.open(location.href)")
    found = read(opened.value)
    opened.value.close()
    return found


def _cookies(room: Room) -> str:
    assert room.kiosk.context
    return json.dumps(room.kiosk.context.cookies()) + str(room.page.evaluate("document.cookie"))


def _blob(room: Room) -> str:
    script = "(address) => fetch(address).then((reply) => reply.ok, () => false)"
    return NAME if room.page.evaluate(script, room.before.blob) else ""


def _clipboard(room: Room) -> str:
    assert room.kiosk.context
    room.kiosk.context.grant_permissions(["clipboard-read"])
    return str(room.page.evaluate("navigator.clipboard.readText().catch(String)"))


def _fetch(room: Room) -> str:
    path = room.before.path
    addresses = [path, f"{path}/verdict", f"/api{path.replace('inspect', 'inspections')}"]
    return str(room.page.evaluate(_FETCHED, addresses))


def _stopped(act: Callable[[Page], Any]) -> Probe:
    """Return a probe while the server does not answer."""

    def probe(room: Room) -> str:
        room.shop.server.stop()
        with suppress(Error):  # the browser's own page says that nothing answers
            act(room.page)
        try:
            return read(room.page)
        finally:
            room.shop.server.start()

    return probe


def _document(before: Before) -> str:
    return f"/api{before.path.replace('inspect', 'inspections')}"


def _photo(before: Before) -> str:
    return f"{before.path.replace('inspect', 'inspections')}/photos/{before.photo}"


LIVE: Final[dict[str, Probe]] = {
    "what the start page shows, says and holds": lambda room: read(room.page),
    "the screen, dot by dot": _on_screen,
    "print preview": _on_paper,
    "Back, five times": _go(_back, 5),
    "Forward, five times": _go(_forward, 5),
    "reload": _go(_reload),
    "what a page out of the back/forward cache shows at once": lambda room: "\n".join(
        room.kiosk.came_back
    ),
    "the second tab that was left open": lambda room: read(room.second),
    "Back in the second tab": lambda room: (_back(room.second), read(room.second))[1],
    "what the second tab hears from others": lambda room: "\n".join(room.heard),
    "a duplicate of the tab": _duplicate,
    "a closed tab, opened again": _open(lambda before: f"{before.path}/claim"),
    "the inspection, typed": _open(lambda before: before.path),
    "one point of it": _open(lambda before: f"{before.path}?at=knobs"),
    "its verdict": _open(lambda before: f"{before.path}/verdict"),
    "its form for a card": _open(lambda before: f"{before.path}/card"),
    "its list of cards": _open(lambda before: f"{before.path}/cards"),
    "its versions": _open(lambda before: f"{before.path}/versions"),
    "the card, by the address in the history": _open(lambda before: before.card),
    "the card, by its digits": _bytes(lambda before: f"/c/{before.digits}"),
    "the card for printing": _open(lambda before: f"{before.card}/print"),
    "the card on small paper": _open(lambda before: f"{before.card}/print/a6"),
    "the card as a picture": _bytes(lambda before: f"/c/{before.digits}/card.png"),
    "the photo": _bytes(_photo),
    "the document, from the API": _open(_document),
    "the book": _open(lambda _: "/book"),
    "the book, from the API": _open(lambda _: "/api/book"),
    "what a script of the page can fetch": _fetch,
    "the photo's address in memory": _blob,
    "cookies": _cookies,
    "local storage": _ask("JSON.stringify({ ...localStorage })"),
    "session storage": _ask("JSON.stringify({ ...sessionStorage })"),
    "the databases, every record": _ask(_DATABASES),
    "the worker's caches, every reply": _ask(_CACHES),
    "the clipboard": _clipboard,
    "server stopped: Back": _stopped(_back),
}
"""Probes of the browser that the person before used, in this order."""


AFTER: Final = (
    "a killed browser that opens its tabs again",
    "the browser's history and what it remembers of forms",
    "the files by which it opens tabs again",
    "what it keeps of replies on the disk",
)
"""Probes of the profile, once the browser was killed and was closed."""


def in_profile(profile: Path) -> dict[str, bytes]:
    """Return what lies in the files of a closed browser, by probe."""
    default = profile / "Default"
    folders = (default / "Sessions", default / "Cache")
    files = [
        b"\n".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())
        for folder in folders
    ]
    return dict(zip(AFTER[1:], (_tables(default), *files), strict=True))


def _tables(default: Path) -> bytes:
    """Return what the browser's history and its memory of forms hold."""
    found = []
    for name in ("History", "Web Data"):
        connection = sqlite3.connect(f"file:{default / name}?mode=ro&immutable=1", uri=True)
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type='table'").fetchall()
        for (table,) in tables:
            found.append(str(connection.execute(f'SELECT * FROM "{table}"').fetchall()))  # noqa: S608
        connection.close()
    return "\n".join(found).encode()


def restored(kiosk: Kiosk) -> str:
    """Return what is on all tabs of a browser that was killed and opens them again."""
    kiosk.kill()
    kiosk.go_on("--restore-last-session", "--hide-crash-restore-bubble")
    assert kiosk.context
    again = [page for page in kiosk.context.pages if page.url.startswith("http")]
    assert again, "the browser opened no tab again"
    for page in again:
        if kiosk.role is Role.KIOSK:
            mine(page)
    return "\n".join(read(page) for page in again)
