"""The core of the app in one engine: answers, verdict, card, dead server, killed browser, sending.

Every step says what it found; what is not as it should be is gathered, so that one engine's
weakness does not hide the rest. What counts as saved is read from the rows of the server's book.
"""

import io
import re
import time
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any, Final
from uuid import UUID

import zxingcpp
from PIL import Image

from quickcheck.engine import judge_document
from quickcheck.reference import Point
from quickcheck.store import Kind, Saved, open_store
from tests.browser.walking import CLAIM, SITTING, Shop, order
from tests.engines.engine import Engine, EngineError
from tests.engines.hand import Hand

LONG: Final = 90.0  # seconds for a worker to fetch the app, or for what waits to be sent
HALF: Final = 13  # points answered before the server dies
LEFT: Final = "pickup-dcr"  # the page is left while this is typed
_KEPT: Final = """
() => new Promise((done) => {
  const opening = indexedDB.open('quickcheck');
  opening.onerror = () => done(null);
  opening.onsuccess = () => {
    const all = opening.result.transaction('drafts').objectStore('drafts').getAll();
    all.onsuccess = () => { opening.result.close(); done(all.result); };
  };
})
"""
# How far a field of the point on the screen moves in a second and a half.
_MOVES: Final = """
async (point) => {
  const field = document.querySelector(`fieldset[data-point="${point}"] label`);
  const places = [];
  for (const ends = performance.now() + 1500; performance.now() < ends;) {
    places.push(field.getBoundingClientRect().y);
    await new Promise((done) => requestAnimationFrame(done));
  }
  return Math.max(...places) - Math.min(...places);
}
"""
_STORAGE: Final = """
async () => ({
  worker: !!navigator.serviceWorker?.controller,
  locks: !!navigator.locks,
  promised: await navigator.storage?.persisted?.() ?? null,
})
"""


@dataclass
class Found:
    """What came out of a walk: figures to read, and what was not as it should be."""

    figures: dict[str, object] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def note(self, name: str, value: object) -> None:
        """Keep a figure."""
        self.figures[name] = value

    def hold(self, name: str, came: object, wanted: object) -> None:
        """Keep a figure that must be what is wanted."""
        same = came == wanted
        self.figures[name] = came if isinstance(came, int | str) else "equal" if same else "differs"
        if not same:
            self.faults.append(f"{name}: wanted {wanted}, got {came}")


@dataclass
class Walk:
    """One engine, one shop, one profile."""

    engine: Engine
    shop: Shop
    profile: Path
    found: Found = field(default_factory=Found)
    path: str = ""

    @property
    def hand(self) -> Hand:
        """The hand that presses."""
        return Hand(self.engine)

    def run(self) -> Found:
        """Walk from the first visit to the last receipt."""
        began = time.monotonic()
        try:
            for step in (self.visit, self.claim, self.first_half, self.second_half):
                step()
            verdict = self.verdict()
            code = self.card()
            self.lose_browser()
            self.come_back(verdict)
            self.buyer(code, verdict)
        except EngineError as error:
            self.found.faults.append(f"the walk ended early: {error}")
        self.found.note("seconds in all", round(time.monotonic() - began, 1))
        return self.found

    def visit(self) -> None:
        """Open the app for the first time and let it be kept on the device."""
        began = time.monotonic()
        self.engine.goto(f"{self.shop.server.url}/")
        self.hand.ready()
        self.found.note("seconds to the first page", round(time.monotonic() - began, 1))
        self.hand.sees('html[data-shelf="up"]', patience=LONG)
        self.found.note("seconds until kept for offline", round(time.monotonic() - began, 1))
        storage = self.engine.run(_STORAGE)
        self.found.hold("service worker in charge", str(storage["worker"]), "True")
        if not storage["locks"]:
            self.found.notes.append("no Web Locks: two tabs are kept apart by the draft's version")
        says = {None: "no answer", False: "no", True: "yes"}[storage["promised"]]
        self.found.note("storage promised by the browser", says)

    def claim(self) -> None:
        """Fill in the claim and begin."""
        for name in ("year", "part", "access"):
            self.hand.choose(name, CLAIM[name])
        self.hand.write('input[name="name"]', CLAIM["name"])
        self.hand.press("form.claim .go button")
        self.hand.sees("form.inspection[data-inspection]")
        self.hand.ready()
        self.path = self.engine.run("() => location.pathname")

    def first_half(self) -> None:
        """Answer with the server there, and see that nothing moves when a receipt comes."""
        began = time.monotonic()
        self.hand.press(".overview .go a[data-go-first]")
        *points, after = order(self.shop.reference)[: HALF + 1]
        for point in points:
            if point.id == LEFT:
                self.leave_while_typing(point)
            else:
                self.hand.answer(point, SITTING[point.id])
        self.found.note("seconds a point, server there", _rate(began, HALF))
        self.hand.sees(f'fieldset[data-point="{after.id}"]:not([hidden])')
        moved = self.engine.run(_MOVES, after.id)
        self.found.hold("pixels moved after an answer", round(moved), 0)
        self.on_server()
        wanted = {point.id: SITTING[point.id] for point in points}
        self.found.hold("on the server, server there", self._told(self.rows()), len(wanted))
        self.found.hold("first answers in the book", self.rows()[-1].document["answers"], wanted)

    def leave_while_typing(self, point: Point) -> None:
        """Leave with the last key and come back: the page opens, and what was typed is there."""
        field, text = f'input[name="{point.id}"]', f"{SITTING[point.id]['value']:g}"
        self.hand.write(field, text)
        self.engine.goto(f"{self.shop.server.url}{self.path}?at={point.id}")
        self.hand.ready()
        came = self.engine.run("(it) => document.querySelector(it).value", field)
        self.found.hold("typed as the page was left", came, text)
        self.hand.press('.bar button[value="next"]')

    def second_half(self) -> None:
        """Kill the server, load the app again, and answer the rest."""
        self.shop.server.kill()
        began = time.monotonic()
        try:
            self.engine.goto(self.shop.server.url + self.path)
            self.hand.sees("form.inspection[data-inspection]")
        except EngineError as error:
            self.found.faults.append(f"not opened with the server dead: {error}")
            raise
        self.hand.ready()
        self.found.note("seconds to open, server dead", round(time.monotonic() - began, 1))
        began = time.monotonic()
        self.hand.press(".overview .go a[data-go-first]")
        rest = order(self.shop.reference)[HALF:]
        for point in rest:
            self.hand.answer(point, SITTING[point.id])
        self.found.note("seconds a point, server dead", _rate(began, len(rest)))
        self.hand.sees('[data-shell="verdict"]')
        self.hand.ready()
        self.found.hold("on the device, server dead", len(self.draft()["answers"]), len(SITTING))
        self.found.hold("answers on the device", self.draft()["answers"], SITTING)
        self.found.hold("on the server, server dead", self._told(self.rows()), HALF)

    def verdict(self) -> str:
        """Compare the verdict that the phone made alone with Python's; return it."""
        document = self.draft()
        wanted = str(judge_document(self.shop.reference, document)["verdict"])
        shown = self.hand.wait("() => document.querySelector('[data-verdict]').dataset.verdict")
        self.found.hold("verdict on the phone", shown, wanted)
        self.found.hold("verdict kept with it", document["judged"]["verdict"], wanted)
        return wanted

    def card(self) -> str:
        """Make a card on the phone alone, read its code from the screen; return its address."""
        self.engine.goto(f"{self.shop.server.url}{self.path}/card")
        self.hand.ready()
        self.hand.choose("interest", "none")
        self.hand.choose("leave", "y")
        self.hand.press("form[data-make] button")
        address = str(self.hand.wait("() => document.querySelector('[data-card]')?.dataset.card"))
        self.engine.run(
            "() => document.querySelector('svg.code').scrollIntoView({block: 'center'})"
        )
        picture = Image.open(io.BytesIO(self.engine.picture())).convert("L")
        read = zxingcpp.read_barcodes(picture)
        self.found.hold("code on the screen", [each.text for each in read], [address])
        return address

    def lose_browser(self) -> None:
        """Kill the browser with the server still dead, and open the app again."""
        self.engine.kill()
        self.engine.start(self.profile)
        self.engine.goto(self.shop.server.url + self.path)
        self.hand.ready()
        self.found.hold("after the browser was killed", self.draft()["answers"], SITTING)

    def come_back(self, verdict: str) -> None:
        """Start the server again, touch nothing, and see everything there exactly once."""
        self.shop.server.start()
        began = time.monotonic()
        self.on_server()
        self.found.note("seconds until sent, server back", round(time.monotonic() - began, 1))
        rows, (saved, *others) = self.rows(), self.book()
        self.found.hold("inspections in the book", 1 + len(others), 1)
        self.found.hold("on the server, server back", self._told(rows), len(SITTING))
        self.found.hold("answers in the book", saved.document["answers"], SITTING)
        self.found.hold("verdict on the server", self._said(f"{self.path}/verdict"), verdict)
        stays = [point for point, given in SITTING.items() if _arrivals(rows, point, given) == 1]
        self.found.hold("answers that came once and stayed", len(stays), len(SITTING))
        self.found.hold(
            "rows that repeat another", len(rows) - len({row.sha256 for row in rows}), 0
        )
        kinds = sorted({row.kind for row in rows} & {Kind.LATE, Kind.PARKED, Kind.BACK})
        self.found.hold("late, parked or doubled rows", kinds, [])
        self.found.note("revisions", len(rows))
        with open_store(self.shop.server.data / "book.sqlite3") as store:
            self.found.hold("judged otherwise", len(store.book.differences()), 0)
            self.found.hold("damage in the book", list(store.check()), [])

    def buyer(self, address: str, verdict: str) -> None:
        """Open the card's address as whoever scanned it does."""
        said = self._said(address.removeprefix(self.shop.server.url))
        self.found.hold("verdict from the code alone", said, verdict)

    def on_server(self) -> None:
        """Wait until the page says that everything is on the server."""
        self.hand.sees('#strip [data-saved="server"]', patience=LONG)
        self.hand.sees('[data-unsent="0"]', patience=LONG)

    def draft(self) -> dict[str, Any]:
        """Return the document on the device; there must be one draft, this one."""
        drafts = self.engine.run(_KEPT) or []
        mine = [each for each in drafts if each["id"] == self.path.rpartition("/")[2]]
        self.found.hold("drafts on the device", len(drafts), 1)
        if not mine:
            raise EngineError("the inspection is not on the device")
        document: dict[str, Any] = mine[0]["document"]
        return document

    def rows(self) -> tuple[Any, ...]:
        """Return every row of the inspection in the server's book."""
        with open_store(self.shop.server.data / "book.sqlite3") as store:
            return store.book.history(UUID(self.path.rpartition("/")[2]))

    def book(self) -> tuple[Saved, ...]:
        """Return every inspection in the server's book."""
        with open_store(self.shop.server.data / "book.sqlite3") as store:
            return store.book.list()

    def _said(self, path: str) -> str | int:
        """Return the verdict that a page of the server's says, without a script."""
        page = self.shop.server.get(path)
        said = re.search(r'data-verdict="([^"]*)"', page.text)
        return said[1] if said else page.status

    @staticmethod
    def _told(rows: tuple[Any, ...]) -> int:
        return len(rows[-1].document["answers"])


def _rate(began: float, points: int) -> float:
    return round((time.monotonic() - began) / points, 2)


def _arrivals(rows: tuple[Any, ...], point: str, given: object) -> int:
    """Count how often a point's answer became this one, from row to row."""
    told = [row.document["answers"].get(point) for row in rows]
    return sum(now == given != before for before, now in pairwise([None, *told]))
