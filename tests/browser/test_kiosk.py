"""The kiosk with a real Chromium, in a real window where a screen can be had."""

import json
import os
import shutil
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from tests.browser.screen import Program, is_listening, program, screen
from tests.cli.kit import run
from tests.kit import CHROMIUM, Server, write_reference

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM.exists(), reason="needs the system's Chromium"),
]
FIREFOX = shutil.which("firefox") or shutil.which("firefox-esr")
SECRETS = "horse copper lantern sleet\n480217\n"
FAIR = ("--show", "Harbour Fair", "--opens", "2026-04-11", "--closes", "2026-04-12")
OPEN = """const open = () => new Promise((done) => {
  const opening = indexedDB.open('mine');
  opening.onupgradeneeded = () => opening.result.createObjectStore('kept');
  opening.onsuccess = () => done(opening.result);
});"""
STORE = f"""async () => {{ {OPEN}
  const change = (await open()).transaction('kept', 'readwrite', {{ durability: 'strict' }});
  change.objectStore('kept').put('kept', 1);
  await new Promise((done) => {{ change.oncomplete = done; }});
}}"""
KEPT = f"""async () => {{ {OPEN}
  const asked = (await open()).transaction('kept').objectStore('kept').get(1);
  return new Promise((done) => {{ asked.onsuccess = () => done(asked.result); }});
}}"""


@pytest.fixture(scope="module", name="display")
def _display() -> Iterator[str]:
    with screen() as found:
        yield found


@pytest.fixture(name="chromium")
def _chromium(tmp_path: Path, display: str, monkeypatch: pytest.MonkeyPatch) -> Program:
    monkeypatch.setenv("DISPLAY", display or ":none")
    return program(tmp_path, CHROMIUM, has_screen=bool(display))


def kiosk(folder: Path, chromium: Program) -> Server:
    """Return the kiosk on a data folder with one reference."""
    write_reference(folder)
    return Server(folder, "kiosk", ("--browser", str(chromium.path)))


def page_of(playwright: Playwright, chromium: Program) -> Page:
    """Return the kiosk's own page, to look at and to press on."""
    browser = playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{chromium.port}")
    return browser.contexts[0].pages[0]


def test_open_killed_and_back(
    tmp_path: Path, chromium: Program, playwright: Playwright, display: str
) -> None:
    """The start page is all of the window; a killed browser comes back to it, its profile is as it was."""
    with kiosk(tmp_path / "data", chromium) as server:
        chromium.shown(f"{server.url}/", "New inspection")
        page = page_of(playwright, chromium)
        assert page.evaluate("isSecureContext")
        if display:
            # How large it is says the window manager, and Xvfb has none: the page is all of it.
            assert page.evaluate("[outerWidth - innerWidth, outerHeight - innerHeight]") == [0, 0]
        page.evaluate(STORE)
        os.kill(chromium.ids()[0], signal.SIGKILL)
        until_two(chromium)
        chromium.shown(f"{server.url}/", "New inspection")
        assert page_of(playwright, chromium).evaluate(KEPT) == "kept"
    assert not is_listening(chromium.port)
    preferences = tmp_path / "data" / "kiosk" / "chromium" / "Default" / "Preferences"
    found = json.loads(preferences.read_text(encoding="utf-8"))
    assert found["credentials_enable_service"] is False
    assert found["autofill"]["profile_enabled"] is False


def until_two(chromium: Program) -> None:
    """Wait for the second start."""
    ends = time.monotonic() + 60
    while len(chromium.ids()) < 2:
        assert time.monotonic() < ends
        time.sleep(0.05)


def test_paired_as_it_starts(
    tmp_path: Path, chromium: Program, playwright: Playwright, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a set-up nobody has to pair the kiosk; killed at once, its cookie lost, it comes back."""
    data = tmp_path / "data"
    write_reference(data)
    monkeypatch.setenv("QUICKCHECK_DATA", str(data))
    base = ("--base-url", "http://localhost:8000", "--issuer", "Pegbox Lane")
    assert run("setup", "--yes", "--secrets", *FAIR, *base, typed=SECRETS).exit_code == 0
    with kiosk(data, chromium) as server:
        for start in (1, 2):
            chromium.shown(f"{server.url}/", "quickcheck")  # a kiosk's titles tell nothing
            page = page_of(playwright, chromium)
            expect(page.get_by_role("heading", name="What is claimed?")).to_be_visible()
            assert page.url == f"{server.url}/"
            assert page.get_by_role("button", name="Pair").count() == 0
            if start == 1:
                os.kill(chromium.ids()[0], signal.SIGKILL)
                until_two(chromium)


@pytest.mark.slow
@pytest.mark.skipif(FIREFOX is None, reason="needs Firefox")
def test_firefox(tmp_path: Path, display: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Firefox opens the start page too, and keeps our preferences in the profile that is its own."""
    monkeypatch.setenv("DISPLAY", display or ":none")
    if not display:
        monkeypatch.setenv("MOZ_HEADLESS", "1")
    data = tmp_path / "data"
    write_reference(data)
    with Server(data, "kiosk", ("--browser", str(FIREFOX))) as server:
        ends = time.monotonic() + 90
        while not json.loads(server.get("/health?json").text)["devices"]:
            assert time.monotonic() < ends, "no browser came"
            time.sleep(0.2)
        time.sleep(2)  # it writes its preferences when it ends, once it has all begun
    kept = (data / "kiosk" / "firefox" / "prefs.js").read_text(encoding="utf-8")
    assert 'user_pref("signon.rememberSignons", false);' in kept
    assert 'user_pref("browser.formfill.enable", false);' in kept
