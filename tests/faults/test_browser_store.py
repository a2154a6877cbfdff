"""A phone whose storage refuses, hangs, fills up or is cleared, and tabs that meet in it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.handset import drafts, flush
from tests.browser.walking import PHONE, ready
from tests.faults.conftest import NewContext, Note
from tests.faults.figures import dice, size
from tests.faults.hands import POINTS, Hands, store
from tests.faults.ledger import Ledger, read_book
from tests.faults.proxy import Proxy
from tests.kit import Server

pytestmark = pytest.mark.browser

_NOTHING_EVER = "() => new EventTarget()"
REFUSALS = {
    "refuses": "() => { throw new DOMException('denied', 'SecurityError'); }",
    "hangs": _NOTHING_EVER,
    "is blocked": "() => { const r = new EventTarget(); setTimeout(() => r.onblocked()); return r; }",
    "fails": "() => { const r = new EventTarget(); setTimeout(() => r.onerror()); return r; }",
}
"""What ``indexedDB.open`` is replaced by."""

NEWER = """() => new Promise((done) => {
  const opening = indexedDB.open('quickcheck', 99);
  opening.onsuccess = () => { opening.result.close(); done(); };
})"""


def begun(server: Server) -> str:
    """Begin an inspection on the server; return the path of its page."""
    sent = server.post("/", {"reference": "loom-one", "year": "1953", "part": "early"})
    assert sent.status == 200, sent.text
    return sent.url.removeprefix(server.url)


def straight_to_the_server(hands: Hands, server: Server) -> None:
    """See that the page says so, and that what it calls saved is in the book."""
    expect(hands.page.locator('[data-notice="no-device"]')).to_contain_text("need it")
    box = hands.page.locator('fieldset[data-point="knobs"]')
    box.locator("label", has=hands.page.locator('[value="wood"]')).tap()
    expect(hands.page.locator("#strip .count")).to_have_text("1 of 4")
    expect(hands.page.locator("#strip .saved")).to_have_attribute("data-saved", "server")
    [kept] = [each for one, each in read_book(server.data).items() if one in hands.path]
    assert kept.current["answers"] == {"knobs": {"seen": "wood"}}
    hands.ledger.note(hands.path[-36:], kept.revisions[2], 2)


@pytest.mark.parametrize("kind", [*REFUSALS, "is newer"])
def test_no_storage(kind: str, hands: Hands, server: Server, ledger: Ledger, note: Note) -> None:
    """Without a database nothing begins and the page says why; answers go to the server, or nowhere."""
    page = hands.page
    if kind == "is newer":
        page.goto(f"{hands.url}/api/epoch")
        page.evaluate(NEWER)
    else:
        page.add_init_script(f"IDBFactory.prototype.open = {REFUSALS[kind]}")
    page.goto(hands.url)
    ready(page)
    page.locator("label.chip", has=page.locator('[name="year"][value="1953"]')).tap()
    page.locator("form.claim .go button").tap()
    expect(page.locator("form.claim .faults")).to_contain_text("Nothing was begun")
    assert read_book(server.data) == {}
    hands.path = begun(server)
    hands.show()
    straight_to_the_server(hands, server)
    note(f"T12 a database that {kind}", 1, ledger.settle(read_book(server.data)))


BREAKS = {
    "has no room": """() => {
      const { put } = IDBObjectStore.prototype;
      window.mend = () => { IDBObjectStore.prototype.put = put; };
      IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); };
    }""",
    "aborts": """() => {
      const { put } = IDBObjectStore.prototype;
      window.mend = () => { IDBObjectStore.prototype.put = put; };
      IDBObjectStore.prototype.put = function (...given) {
        const made = put.apply(this, given);
        setTimeout(() => { try { this.transaction.abort(); } catch { /* too late */ } });
        made.addEventListener('success', () => this.transaction.abort());
        return made;
      };
    }""",
    "is held by another tab that hangs": """() => new Promise((held) => {
      const opening = indexedDB.open('quickcheck');
      opening.onsuccess = () => {
        const store = opening.result.transaction('drafts', 'readwrite').objectStore('drafts');
        let free = false;
        const spin = () => { held(); if (!free) store.get('nothing').onsuccess = spin; };
        window.mend = () => { free = true; };
        spin();
      };
    })""",
}
"""What goes wrong in the middle of an inspection; ``mend`` ends it."""


@pytest.mark.parametrize("kind", BREAKS)
def test_storage_that_stops(
    kind: str, hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note
) -> None:
    """A write that fails is said to have failed and can be taken along; it is made good by itself."""
    page, faults = hands.page, size(1, 20)
    hands.begin()
    for _ in range(faults):
        proxy.down = True
        hands.put_in("knobs")
        hands.hear()
        page.evaluate(BREAKS[kind])
        hands.put_in("serial")
        expect(page.locator("#strip .saved")).to_contain_text("Not saved")
        notice = page.locator('[data-notice="unsaved"]')
        expect(notice).to_contain_text("not saved on this device")
        with page.expect_download() as download:
            notice.locator("button", has_text="Take it along").click()
        taken = json.loads(Path(download.value.path()).read_text(encoding="utf-8"))
        assert {one: taken["answers"][one]["note"] for one in hands.written} == hands.written
        assert hands.said == ""
        page.evaluate("mend()")
        proxy.down = False
        while hands.said != "server":
            flush(page)
        expect(notice).to_have_count(0)
        hands.drain()
    note(f"T12 storage that {kind}", faults, ledger.settle(read_book(server.data)))


def test_connection_is_closed(hands: Hands, server: Server, ledger: Ledger, note: Note) -> None:
    """A connection that the system closes behind the page is opened anew, and the answer saved."""
    faults = size(3, 30)
    hands.begin()
    hands.page.evaluate("""() => {
      const { transaction } = IDBDatabase.prototype;
      IDBDatabase.prototype.transaction = function (...given) {
        if (window.cut) { window.cut = false; this.close(); }
        return transaction.apply(this, given);
      };
    }""")
    for index in range(faults):
        hands.page.evaluate("window.cut = true")
        hands.put_in(POINTS[index % len(POINTS)])
        hands.hear()
        assert hands.page.evaluate("window.cut") is False
    hands.drain()
    note("T12 connection closed", faults, ledger.settle(read_book(server.data)))


def test_the_small_store_refuses(
    new_context: NewContext, proxy: Proxy, server: Server, ledger: Ledger, note: Note
) -> None:
    """A browser that keeps the database and refuses the small store beside it sends all the same."""
    page = new_context(**PHONE).new_page()
    page.add_init_script("""
      for (const name of ['getItem', 'setItem']) {
        Storage.prototype[name] = () => { throw new DOMException('denied', 'SecurityError'); };
      }""")
    hands = Hands(page, proxy.url, ledger)
    hands.begin()
    hands.put_in("knobs")
    hands.hear()
    hands.drain()
    expect(page.locator('html[data-shelf="up"]')).to_have_count(1)
    note("T12 localStorage refuses", 1, ledger.settle(read_book(server.data)))


def clear(page: Page, url: str, kinds: str) -> None:
    """Clear what a browser keeps of the app, as it does when it wants room."""
    session = page.context.new_cdp_session(page)
    session.send("Storage.clearDataForOrigin", {"origin": url, "storageTypes": kinds})


def test_cleared_under_an_open_page(
    hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note
) -> None:
    """What a browser clears while the inspection is open goes back from the page, which says so."""
    faults = size(2, 20)
    for _ in range(faults):
        hands.begin()
        proxy.down = True
        hands.put_in("knobs")
        hands.hear()
        clear(hands.page, hands.url, "indexeddb")
        hands.put_in("serial")
        hands.hear()
        expect(hands.page.locator('[data-notice="cleared"]')).to_contain_text("put back")
        proxy.down = False
        hands.drain()
    note("T13 cleared under an open page", faults, ledger.settle(read_book(server.data)))


def test_cleared_between_two_visits(
    hands: Hands, server: Server, ledger: Ledger, note: Note
) -> None:
    """An inspection that the server has comes back to a phone that was cleared, and goes on."""
    faults = size(2, 20)
    for _ in range(faults):
        one = hands.begin()
        hands.put_in("knobs")
        hands.hear()
        hands.drain()
        before = store(hands.page)[one]
        hands.page.goto(f"{hands.url}/api/epoch")
        clear(hands.page, hands.url, "all")
        assert one not in drafts_after(hands.page)
        hands.show("knobs")
        field = hands.page.locator('textarea[name="knobs.note"]')
        expect(field).to_have_value(hands.written["knobs"])
        assert store(hands.page)[one] == before
        hands.put_in("serial")
        hands.hear()
        hands.drain()
    book = read_book(server.data)
    assert len(book) == faults
    note("T13 cleared between two visits", faults, ledger.settle(book))


def drafts_after(page: Page) -> dict[str, Any]:
    """Return what is left on a phone whose database may be gone."""
    names = page.evaluate("indexedDB.databases().then((all) => all.map(({ name }) => name))")
    return drafts(page) if "quickcheck" in names else {}


NO_LOCKS = "Object.defineProperty(Navigator.prototype, 'locks', { get: () => undefined })"


@pytest.mark.parametrize("locks", [True, False], ids=["locks", "no-locks"])
def test_tabs(
    new_context: NewContext,
    proxy: Proxy,
    server: Server,
    ledger: Ledger,
    note: Note,
    *,
    locks: bool,
) -> None:
    """Of two to five tabs that answer at once each is told the truth, and nothing is overwritten."""
    rolled, rounds, refused = dice(f"T15 {locks}"), size(3, 60), 0
    context = new_context(**PHONE)
    if not locks:
        context.add_init_script(NO_LOCKS)
    for _ in range(rounds):
        first = Hands(context.new_page(), proxy.url, ledger)
        first.begin()
        tabs = [first]
        for _ in range(rolled.randint(1, 4)):
            tabs.append(Hands(context.new_page(), proxy.url, ledger, first.path))
            tabs[-1].show()
        wanted: dict[str, str] = {}
        for _ in range(3):
            order = rolled.sample(tabs, len(tabs))
            for tab in order:
                tab.put_in(rolled.choice(POINTS))
            for tab in order:
                refused += told(tab, wanted)
        first.page.bring_to_front()
        answers = first.kept()["document"]["answers"]
        assert {point: given["note"] for point, given in answers.items()} == wanted
        writer = next((tab for tab in tabs if tab.said), first)
        writer.written = dict(wanted)
        writer.drain()
        for tab in tabs:
            tab.page.close()
    book = read_book(server.data)
    assert len(book) == rounds
    name = f"T15 tabs, {'with' if locks else 'without'} locks"
    note(name, rounds, ledger.settle(book), f"{refused} answers refused, each said so")


def told(tab: Hands, wanted: dict[str, str]) -> bool:
    """Hear what a tab says of its answers; return whether it refuses them and says so."""
    strip = tab.page.locator("#strip .saved")
    expect(strip).to_have_text(re.compile("Saved on|another tab"))
    if "another tab" in (strip.text_content() or ""):
        tab.written = {}
        return True
    tab.hear()
    wanted.update(tab.written)
    return False
