"""New builds that come under a person's hands, whole or poisoned: usable soon, typing kept."""

import re
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

import pytest
from playwright.sync_api import Page, expect

from tests.browser.handset import PATIENCE, keep
from tests.browser.test_offline_shell import (
    build_of,
    look_for_update,
    offered_update,
    other_build,
)
from tests.browser.walking import ready
from tests.faults.conftest import Note
from tests.faults.figures import dice, size
from tests.faults.hands import POINTS, Hands
from tests.faults.ledger import Ledger, read_book
from tests.faults.proxy import PASS, Asked, Fault, Proxy, reply
from tests.kit import Server

pytestmark = [pytest.mark.browser, pytest.mark.checkout]
_UPDATED = """(patience) => navigator.serviceWorker.getRegistration().then((registration) => {
  const ended = (worker) => new Promise((done) => {
    worker.addEventListener('statechange', () => done(worker.state), { once: true });
  });
  // The browser looks for an update by itself as well, some seconds after a page was opened.
  const { installing, waiting } = registration;
  if (waiting) return waiting.state;
  if (installing) return ended(installing);
  const found = new Promise((done) => {
    registration.addEventListener('updatefound', () => done(ended(registration.installing)), { once: true });
  });
  registration.update().catch(() => 0);
  return Promise.race([found, new Promise((done) => setTimeout(() => done('no update'), patience))]);
})"""
POISONS = (
    reply(200),
    reply(200, b"", "text/javascript"),
    reply(200, b"export {};", "text/javascript"),
    reply(503),
    reply(302, b"", "text/html", "Location: http://login.invalid/"),
)
"""What stands in for one file of a build."""


def change(server: Server, tree: Path | None) -> str:
    """Serve another build on the same port; return its hash."""
    server.stop()
    server.tree = tree
    server.start()
    return build_of(server.get("/").text)


def is_of(page: Page, build: str) -> None:
    """Wait until a page is of a build, and wired."""
    expect(page.locator(f'script[src^="/s/{build}/"]').first).to_be_attached(timeout=PATIENCE)
    ready(page)


def tab(hands: Hands, path: str) -> Page:
    """Open another tab."""
    page = hands.page.context.new_page()
    page.goto(hands.url + path)
    ready(page)
    return page


def test_update_under_hands(
    hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note, tmp_path: Path
) -> None:
    """With three tabs and a word half typed an update waits; then all change, the word saved."""
    rounds, slowest = size(2, 50), 0.0
    trees = (other_build(tmp_path / "other"), None)
    keep(hands.page, hands.url)
    hands.begin()
    others = [tab(hands, "/"), tab(hands, "/book")]
    for index in range(rounds):
        point = POINTS[index % len(POINTS)]
        hands.show(point)
        hands.written[point] = hands.type(point)
        new = change(server, trees[index % 2])
        look_for_update(others[0])
        offered_update(others[0]).tap()
        expect(others[0].locator('[data-notice="update"]')).to_contain_text("as soon as")
        field = hands.page.locator(f'textarea[name="{point}.note"]')
        expect(field).to_have_value(hands.written[point])
        assert build_of(hands.page.content()) != new
        began = monotonic()
        field.press("Tab")
        for page in (hands.page, *others):
            is_of(page, new)
        slowest = max(slowest, monotonic() - began)
        expect(field).to_have_value(hands.written[point])
        hands.hear()
    hands.drain()
    account = ledger.settle(read_book(server.data))
    note("T18 update under hands", rounds, account, f"all tabs usable within {slowest:.1f} s")


@dataclass
class Poison:
    """A network on which one address comes as something else, each time."""

    address: str
    reply: bytes
    given: int = 0

    def __call__(self, asked: Asked) -> Fault:
        """Say what becomes of a request."""
        if asked.path != self.address:
            return PASS
        self.given += 1
        return Fault("replace", reply=self.reply)


def files_of(server: Server) -> list[str]:
    """Return the addresses of what the worker of the build takes along."""
    return re.findall(r'\["(/[^"]+)", ?"[a-z/+]+", ?"[0-9a-f]{64}"\]', server.get("/sw.js").text)


def test_poisoned_builds(
    hands: Hands, proxy: Proxy, server: Server, ledger: Ledger, note: Note, tmp_path: Path
) -> None:
    """A build of which anything comes as something else is not taken; the one before goes on."""
    rolled, poisons, slowest = dice("T18 poison"), size(4, 100), 0.0
    keep(hands.page, hands.url)
    old = build_of(hands.page.content())
    hands.begin()
    proxy.down = True  # nothing of the new build comes but what is poisoned
    new = change(server, other_build(tmp_path / "other"))
    for index in range(poisons):
        address = rolled.choice(files_of(server))
        # what came right the last time would not be fetched again
        hands.page.context.new_cdp_session(hands.page).send("Network.clearBrowserCache")
        proxy.plan, proxy.down = (plan := Poison(address, rolled.choice(POISONS))), False
        assert hands.page.evaluate(_UPDATED, PATIENCE) == "redundant", address
        assert plan.given > 0
        proxy.down, began = True, monotonic()
        hands.show(POINTS[index % len(POINTS)])
        slowest = max(slowest, monotonic() - began)
        assert build_of(hands.page.content()) == old
        hands.put_in(POINTS[index % len(POINTS)])
        hands.hear()
    proxy.plan, proxy.down = lambda _: PASS, False
    hands.drain()
    assert hands.page.evaluate(_UPDATED, PATIENCE) == "installed"
    offered_update(hands.page).tap()
    is_of(hands.page, new)
    account = ledger.settle(read_book(server.data))
    note("T18 poisoned builds", poisons, account, f"usable without it within {slowest:.1f} s")
