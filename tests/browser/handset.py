"""A phone whose browser can be closed, killed and opened again: its profile lies on the disk."""

import os
import re
import signal
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Self

from playwright.sync_api import BrowserContext, BrowserType, Page, expect

from tests.browser.walking import PHONE, ready

PATIENCE: Final = 60_000  # milliseconds for what takes a moment, on cores that are busy elsewhere
_DRAFTS: Final = """() => new Promise((done, fail) => {
  const opening = indexedDB.open('quickcheck');
  opening.onerror = () => fail(opening.error);
  opening.onupgradeneeded = () => opening.transaction.abort();
  opening.onsuccess = () => {
    const database = opening.result;
    const asked = database.transaction('drafts').objectStore('drafts').getAll();
    asked.onsuccess = () => { database.close(); done(asked.result); };
  };
})"""
_FLUSHED: Final = """() => new Promise((done) => {
  addEventListener('quickcheck:told', () => done(), { once: true });
  dispatchEvent(new Event('focus'));
})"""


@dataclass
class Handset:
    """One phone; ``open`` gives the page of its browser, which is a new process each time."""

    browser: BrowserType
    options: Mapping[str, Any]
    profile: Path
    scripts: tuple[str, ...] = ()  # run before those of every page, to break something
    context: BrowserContext | None = None

    def open(self) -> Page:
        """Start the browser on the profile."""
        assert self.context is None
        given: dict[str, Any] = {**self.options, **PHONE}
        self.context = self.browser.launch_persistent_context(self.profile, **given)
        for script in self.scripts:
            self.context.add_init_script(script)
        # the page that it opens with began before the scripts were there
        return self.context.new_page() if self.scripts else self.context.pages[0]

    def another(self) -> Page:
        """Open another tab."""
        assert self.context
        return self.context.new_page()

    def close(self) -> None:
        """Leave as a person does who closes the app."""
        if self.context:
            self.context.close()
        self.context = None

    def kill(self) -> None:
        """End the browser, all of its processes, between two instructions."""
        assert self.context
        process = self._process()
        assert os.getpgid(process) == process, "it does not lead a group of its own"
        with self.context.expect_event("close"):  # to close it as well could come too late
            os.killpg(process, signal.SIGKILL)
        self.context = None

    def _process(self) -> int:
        wanted = f"--user-data-dir={self.profile}".encode()
        for found in Path("/proc").glob("[0-9]*/cmdline"):
            try:
                words = found.read_bytes().split(b"\0")
            except OSError:
                continue  # it ended while we looked
            if wanted in words and not any(word.startswith(b"--type=") for word in words):
                return int(found.parent.name)
        raise AssertionError(f"no browser runs on {self.profile}")

    def __enter__(self) -> Self:
        """Start with no browser open."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it, whatever happened."""
        self.close()


def keep(page: Page, url: str) -> None:
    """Open the app with a network and wait until it and the page's reference are on the phone."""
    page.goto(url)
    expect(page.locator('html[data-shelf="up"]')).to_have_count(1, timeout=PATIENCE)


def claim(page: Page, **words: str) -> str:
    """Fill in the claim that is on the screen, all tools at hand; return the inspection's path."""
    ready(page)
    for name, value in (("year", "1953"), ("part", "early"), ("access", "open")):
        page.locator("label.chip", has=page.locator(f'[name="{name}"][value="{value}"]')).tap()
    for tool in page.locator("label.chip", has=page.locator('[name="tools"]:not(:checked)')).all():
        tool.tap()
    for name, text in words.items():
        page.locator(f'form.claim [name="{name}"]').fill(text)
    page.locator("form.claim .go button").tap()
    expect(page).to_have_url(re.compile(r"/inspect/[0-9a-f-]{36}$"), timeout=PATIENCE)
    ready(page)
    return re.sub(r"^https?://[^/]+", "", page.url)


def drafts(page: Page) -> dict[str, Any]:
    """Return the inspections on the phone as they are stored, by id."""
    return {each["id"]: each for each in page.evaluate(_DRAFTS)}


def draft(page: Page, path: str) -> dict[str, Any]:
    """Return the inspection of a page as it is stored on the phone."""
    found: dict[str, Any] = drafts(page)[id_of(path)]
    return found


def id_of(path: str) -> str:
    """Return the id in the path of an inspection."""
    return path.rpartition("/")[2]


def flush(page: Page) -> None:
    """Come back to the app, which is a reason to send, and wait until it has tried."""
    page.evaluate(_FLUSHED)


def kept_here(page: Page) -> None:
    """Wait until the page says that all is saved on this phone, and not on the server."""
    expect(page.locator("#strip .saved")).to_have_attribute("data-saved", "device")
    expect(page.locator("#strip .saved")).to_contain_text("Saved on this device")


def on_server(page: Page) -> None:
    """Wait until the page says that everything is on the server."""
    expect(page.locator("#strip .saved")).to_have_attribute(
        "data-saved", "server", timeout=PATIENCE
    )
    expect(page.locator("#unsent")).to_have_attribute("data-unsent", "0", timeout=PATIENCE)


def the_rest(page: Page) -> None:
    """Wait until what a first visit does not wait for is here too."""
    for _ in range(PATIENCE // 200):
        if page.evaluate("caches.match('/device/read').then((found) => !!found)"):
            return
        page.wait_for_timeout(200)
    raise AssertionError("the page that reads a marking was not fetched")
