"""A kiosk: a paired browser on a profile of its own, with the back/forward cache as people have it."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import Page, expect

from quickcheck.store import THIS_BOOK, Role, Store, open_store
from tests.browser.handset import PATIENCE, Handset
from tests.browser.walking import Shop
from tests.kit import write_reference

SCREEN: Final[Mapping[str, Any]] = {"viewport": {"width": 1366, "height": 768}, "has_touch": True}
SECRET: Final = ("three looms and a half", "250814")
MINE: Final = "html[data-mine][data-ready]:not([data-over])"
"""A page of the present visit, shown and wired."""
_CACHED: Final = """addEventListener('pageshow', (event) => {
  globalThis.showings = (globalThis.showings ?? 0) + 1;
  if (event.persisted) void globalThis.cameBack(document.body.innerText);
});"""


@contextmanager
def _book(shop: Shop) -> Iterator[Store]:
    with open_store(shop.server.data / "book.sqlite3") as store:
        yield store


def show_shop(data: Path) -> Shop:
    """Return a shop that seals, has two references, and an organizer with a secret."""
    shop = Shop.issuing(data)
    write_reference(data)
    with _book(shop) as store:
        store.access.set_up(*SECRET, datetime.now(UTC))
    return shop


def paired(shop: Shop, role: Role = Role.KIOSK) -> str:
    """Return the token of a new device."""
    now = datetime.now(UTC)
    with _book(shop) as store:
        token, _ = store.access.pair(store.access.offer(role, THIS_BOOK, now=now), now)
    return token


def named(shop: Shop) -> dict[str, Any]:
    """Return the inspections of the book, by name."""
    with _book(shop) as store:
        return {saved.name: saved for saved in store.book.list(50)}


@dataclass
class Kiosk(Handset):
    """The browser of a kiosk (or of a dealer, to show what a kiosk does otherwise)."""

    role: Role = Role.KIOSK
    came_back: list[str] = field(default_factory=list)  # words of pages out of the cache

    def note(self, words: str) -> None:
        """Keep the words of a page that came out of the cache."""
        self.came_back.append(words)

    def start(self, shop: Shop, *arguments: str) -> Page:
        """Start the browser and pair it; ``arguments`` are the browser's own."""
        page = self.go_on(*arguments)
        assert self.context
        cookie = {"name": "device", "value": paired(shop, self.role), "url": shop.server.url}
        self.context.add_cookies(
            [
                {
                    **cookie,
                    "httpOnly": True,
                    "sameSite": "Strict",
                    "expires": datetime.now(UTC).timestamp() + 86_400,
                }
            ]
        )
        return page

    def go_on(self, *arguments: str) -> Page:
        """Start the browser as it was left."""
        given = {**self.options, **SCREEN, "args": [*self.options.get("args", ()), *arguments]}
        cached = ["--disable-back-forward-cache"]
        self.context = self.browser.launch_persistent_context(
            self.profile, ignore_default_args=cached, **given
        )
        self.context.expose_function("cameBack", self.note)
        self.context.add_init_script(_CACHED)
        if self.role is not Role.KIOSK:  # its pages are to be the server's, as at a kiosk
            self.context.add_init_script("delete Navigator.prototype.serviceWorker;")
        return self.context.pages[0]


def show(page: Page, address: str) -> None:
    """Open a page of this visit."""
    page.goto(address)
    mine(page)


def mine(page: Page) -> None:
    """Wait until a page of the present visit is shown."""
    expect(page.locator(MINE)).to_have_count(1, timeout=PATIENCE)


def begin(page: Page, url: str, **words: str) -> str:
    """Claim something of the small reference; return the path of the inspection."""
    page.goto(f"{url}/?reference=loom-one")
    expect(page.locator("html[data-ready]")).to_have_count(1)
    for name, value in (("year", "1953"), ("part", "early"), ("access", "open")):
        page.locator("label.chip", has=page.locator(f'[name="{name}"][value="{value}"]')).click()
    page.evaluate(
        "document.querySelectorAll('form.claim details').forEach((d) => { d.open = true; })"
    )
    for name, text in words.items():
        page.locator(f'form.claim [name="{name}"]').fill(text)
    page.locator("form.claim .go button").click()
    expect(page).to_have_url(re.compile(r"/inspect/[0-9a-f-]{36}$"), timeout=PATIENCE)
    expect(page.locator("html[data-ready]")).to_have_count(1)
    return page.url.removeprefix(url)


def finish(page: Page, choose: str = "") -> None:
    """Press "Finished", answer what is asked, and wait for the next person's start page."""
    before = page.evaluate("document.documentElement.dataset.visit")
    page.get_by_role("button", name="Finished: next person").click()
    if choose:
        page.get_by_role("button", name=choose).click()
    next_turn(page, before)


def next_turn(page: Page, before: str) -> None:
    """Wait for the start page of another visit."""
    expect(page.locator(f'{MINE}:not([data-visit="{before}"])')).to_have_count(1, timeout=PATIENCE)
