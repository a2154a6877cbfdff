"""A browser that is killed, that crashes, on a network that fails: what it called saved is there."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from threading import Thread
from time import monotonic
from typing import Any

import pytest
from playwright.sync_api import BrowserType, Error, expect

from tests.browser.handset import Handset, flush, keep
from tests.browser.walking import PHONE
from tests.faults.conftest import NewContext, Note
from tests.faults.figures import dice, size
from tests.faults.hands import POINTS, Hands, store
from tests.faults.ledger import NOTHING, Ledger, read_book
from tests.faults.proxy import PASS, Asked, Fault, Proxy
from tests.faults.test_network import FOREIGN
from tests.kit import Server

pytestmark = pytest.mark.browser


@pytest.fixture(name="handset")
def _handset(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], tmp_path: Path
) -> Iterator[Handset]:
    with Handset(browser_type, browser_type_launch_args, tmp_path / "profile") as handset:
        yield handset


def lose_documents(asked: Asked) -> Fault:
    """Let the server have every document, and the phone never hear of it."""
    return Fault("drop-reply") if asked.is_document else PASS


def type_on(hands: Hands, point: str) -> float:
    """Type without leaving the field until that is called saved; return the seconds it took."""
    began, hands.written[point] = monotonic(), hands.type(point)
    expect(hands.page.locator("#strip .saved")).to_have_attribute("data-saved", "device")
    return monotonic() - began


def test_killed_while_typing(
    handset: Handset, server: Server, proxy: Proxy, ledger: Ledger, note: Note
) -> None:
    """A browser killed as a whole, typing or sending, loses nothing that the page called saved."""
    rolled, kills, slowest, total = dice("T10"), size(3, 100), 0.0, NOTHING
    hands = Hands(handset.open(), proxy.url, ledger)
    keep(hands.page, proxy.url)
    hands.begin()
    for index in range(kills):
        proxy.plan, point = lose_documents, POINTS[index % len(POINTS)]
        hands.show(point)
        hands.write(point)
        hands.hear()
        slowest = max(slowest, type_on(hands, point) if rolled.random() < 0.6 else 0.0)
        hands.page.wait_for_timeout(rolled.uniform(0, 300))
        handset.kill()
        hands.page = handset.open()
        hands.page.goto(f"{proxy.url}/api/epoch")  # a page of the same origin that runs nothing
        total += ledger.settle(read_book(server.data), [store(hands.page)])
        hands.show(point)
        field = hands.page.locator(f'textarea[name="{point}.note"]')
        expect(field).to_have_value(hands.written[point])
        hands.hear()
        proxy.plan = lambda _: PASS
        hands.drain()
    total += ledger.settle(read_book(server.data))
    note("T10 browser killed", kills, total, f"typing kept within {slowest * 1000:.0f} ms")


def test_renderer_crashes(
    new_context: NewContext, proxy: Proxy, server: Server, ledger: Ledger, note: Note
) -> None:
    """A page that crashes, as when the camera takes its memory, loses nothing that it called saved."""
    rolled, crashes, total = dice("T11"), size(4, 100), NOTHING
    context = new_context(**PHONE)
    hands = Hands(context.new_page(), proxy.url, ledger)
    hands.begin()
    for index in range(crashes):
        point = POINTS[index % len(POINTS)]
        proxy.down = rolled.random() < 0.5
        hands.put_in(point)
        hands.hear()
        with hands.page.expect_event("crash"):
            crash(hands)
        hands.page.close()
        proxy.down = False
        hands.page = context.new_page()
        hands.page.goto(f"{proxy.url}/api/epoch")
        total += ledger.settle(read_book(server.data), [store(hands.page)])
        hands.show(point)
        hands.hear()
    hands.drain()
    note("T11 page crashed", crashes, total + ledger.settle(read_book(server.data)))


def crash(hands: Hands) -> None:
    """End the process of a page."""
    with pytest.raises(Error, match=r"(?i)crash"):
        hands.page.goto("chrome://crash")


@dataclass
class Foreign:
    """A network that answers every document itself."""

    rolled: Random
    reply: bytes = b""
    seen: int = 0

    def __call__(self, asked: Asked) -> Fault:
        """Say what becomes of a request."""
        if not asked.is_document:
            return PASS
        self.seen += 1
        return Fault("replace", reply=self.reply, reaches=self.rolled.random() < 0.3)


def test_replies_of_somebody_else(
    hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note
) -> None:
    """Sign-in pages, redirects and refusals leave the outbox as it was; then it arrives once."""
    network, faults = Foreign(dice("T9 browser")), size(len(FOREIGN), 10 * len(FOREIGN))
    hands.begin()
    hands.drain()
    proxy.plan = network
    for index in range(faults):
        network.reply, before = FOREIGN[index % len(FOREIGN)], network.seen
        hands.put_in(POINTS[index % len(POINTS)])
        hands.hear()
        while network.seen == before:
            flush(hands.page)
        flush(hands.page)  # one after the other: that reply has been dealt with
        kept = hands.kept()
        assert (kept["dirty"], kept["parked"], hands.said) == (True, None, "device")
        expect(hands.page.locator("#unsent")).to_have_text("1 only on this device")
    proxy.plan = lambda _: PASS
    hands.drain()
    account = ledger.settle(read_book(server.data))
    note("T9 replies of somebody else, in a browser", faults, account)


def test_flapping(hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note) -> None:
    """A network that comes and goes under a person's hands drains once it stays."""
    rolled, faults = dice("T20 browser"), size(6, 100)
    hands.begin()
    waits = [rolled.uniform(0.05, 0.6) for _ in range(faults)]
    flapping = Thread(target=proxy.flap, args=(waits,))
    flapping.start()
    while flapping.is_alive():
        hands.put_in(rolled.choice(POINTS))
        hands.hear()
    took = hands.drain()
    account = ledger.settle(read_book(server.data))
    note("T20 network flapping, in a browser", faults, account, f"drained in {took:.1f} s")
