"""Finding a browser on three systems, and the words that start it: on none of them."""

from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath

import pytest

from quickcheck.cli.browsers import (
    CHROMIUM_PREFERENCES,
    Browser,
    Kind,
    Machine,
    browser_at,
    by_hand,
    command,
    find_browser,
    has_screen,
    merged,
    profile_of,
    user_js,
)

PROFILE = PurePosixPath("/data/kiosk/chromium")
URL = "http://localhost:8000/"
WINDOWS = {
    "ProgramFiles": r"C:\Program Files",
    "ProgramFiles(x86)": r"C:\Program Files (x86)",
    "LocalAppData": r"C:\Users\me\AppData\Local",
}


def machine(system: str, *there: str, **environment: str) -> Machine:
    """Return a machine that has these programs."""
    home: PurePath = PurePosixPath("/home/me")
    if system == "win32":
        home = PureWindowsPath(r"C:\Users\me")
    paths = {PurePosixPath(path).name: path for path in there if not path.startswith("/snap")}
    more = WINDOWS if system == "win32" else {}
    return Machine(system, {**more, **environment}, paths.get, lambda path: path in there, home)


@pytest.mark.parametrize(
    ("system", "there", "kind"),
    [
        ("linux", ["/usr/bin/chromium"], Kind.CHROMIUM),
        ("linux", ["/usr/bin/firefox", "/usr/bin/google-chrome"], Kind.CHROMIUM),
        ("linux", ["/usr/bin/firefox-esr"], Kind.FIREFOX),
        ("linux", ["/usr/bin/microsoft-edge-stable"], Kind.EDGE),
        ("linux", [], None),
        ("darwin", ["/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"], Kind.CHROMIUM),
        ("darwin", ["/home/me/Applications/Firefox.app/Contents/MacOS/firefox"], Kind.FIREFOX),
        ("darwin", ["/usr/bin/chromium"], None),
        ("win32", [r"C:\Program Files\Google\Chrome\Application\chrome.exe"], Kind.CHROMIUM),
        (
            "win32",
            [
                r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
                r"C:\Program Files\Mozilla Firefox\firefox.exe",
            ],
            Kind.FIREFOX,
        ),
        ("win32", [r"C:\Users\me\AppData\Local\Chromium\Application\chrome.exe"], Kind.CHROMIUM),
        ("win32", [r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe"], Kind.EDGE),
        ("win32", [], None),
    ],
)
def test_found(system: str, there: list[str], kind: Kind | None) -> None:
    """Each system has its list; a Chromium goes before Firefox, and Edge comes last."""
    found = find_browser(machine(system, *there))
    assert (found.kind if found else None) == kind
    if found:
        assert found.program in there


def test_windows_without_folders() -> None:
    """A Windows that does not say where programs are has none that we would find."""
    bare = Machine("win32", {}, {}.get, lambda _path: True, PureWindowsPath("C:\\"))
    assert find_browser(bare) is None


@pytest.mark.parametrize(
    ("program", "kind"),
    [
        ("/opt/firefox-nightly/firefox", Kind.FIREFOX),
        (r"C:\Tools\Firefox.exe", Kind.FIREFOX),
        (r"C:\Tools\msedge.exe", Kind.EDGE),
        ("/opt/thorium", Kind.CHROMIUM),
    ],
)
def test_named(program: str, kind: Kind) -> None:
    """One that was named is taken for what its name says, else for a Chromium."""
    assert browser_at(program, machine("linux")) == Browser(kind, program)


def test_words_of_chromium() -> None:
    """It gets the whole screen, a profile of its own, and none of a browser's own offers."""
    words = command(Browser(Kind.CHROMIUM, "chromium"), PROFILE, URL)
    wanted = (
        "--kiosk --kiosk-printing --noerrdialogs --disable-pinch "
        "--overscroll-history-navigation=0 --hide-crash-restore-bubble"
    )
    assert set(wanted.split()) <= set(words)
    assert words[0] == "chromium"
    assert words[-2:] == ("--user-data-dir=/data/kiosk/chromium", URL)
    assert not [word for word in words if "incognito" in word or "guest" in word]


def test_words_of_firefox() -> None:
    """It gets the same, by its own words."""
    words = command(Browser(Kind.FIREFOX, "firefox"), PROFILE, URL)
    assert words[:2] == ("firefox", "--kiosk")
    assert words[-3:] == ("--profile", str(PROFILE), URL)
    assert "--private-window" not in words


def test_words_of_edge() -> None:
    """Its own kiosk mode is a private window that forgets, so it gets a full screen instead."""
    words = command(Browser(Kind.EDGE, "msedge.exe"), PROFILE, URL)
    assert "--start-fullscreen" in words
    assert "--kiosk" not in words


def test_user_js() -> None:
    """Firefox is told to fill in and remember nothing, and to keep what we have not sent."""
    lines = user_js().splitlines()
    assert 'user_pref("signon.rememberSignons", false);' in lines
    assert 'user_pref("browser.formfill.enable", false);' in lines
    assert 'user_pref("browser.privatebrowsing.autostart", false);' in lines
    assert 'user_pref("browser.sessionstore.max_tabs_undo", 0);' in lines
    assert 'user_pref("browser.gesture.swipe.left", "");' in lines


def test_merged() -> None:
    """Our preferences win, and what the browser noted besides stays."""
    found = merged(
        {"profile": {"name": "x", "password_manager_enabled": True}}, CHROMIUM_PREFERENCES
    )
    assert found["profile"] == {"name": "x", "password_manager_enabled": False}
    assert merged({"profile": 7}, {"profile": {"a": 1}}) == {"profile": {"a": 1}}


def test_in_a_snap() -> None:
    """A browser in a snap can't write into hidden folders: its profile is where it can."""
    snapped = machine("linux", "/usr/bin/chromium-browser", "/snap/bin/chromium")
    found = find_browser(snapped)
    assert found
    assert profile_of(found, Path("/data")) == Path(
        "/home/me/snap/chromium/common/quickcheck-kiosk"
    )
    plain = find_browser(machine("linux", "/usr/bin/chromium"))
    assert plain
    assert profile_of(plain, Path("/data")) == Path("/data/chromium")


@pytest.mark.parametrize(
    ("system", "environment", "has_one"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("win32", {}, True),
        ("darwin", {}, True),
    ],
)
def test_screen(system: str, environment: dict[str, str], has_one: bool) -> None:
    """Only a Linux may have no screen."""
    assert has_screen(machine(system, **environment)) is has_one


@pytest.mark.parametrize(("system", "name"), [("win32", "chrome.exe"), ("darwin", "Chromium")])
def test_by_hand(system: str, name: str) -> None:
    """Where none is found, two whole lines are said, with the names of that system."""
    chromium, firefox = by_hand(machine(system), PurePosixPath("/my data"), URL).splitlines()
    assert chromium.startswith(f"{name} --kiosk ")
    assert '"--user-data-dir=/my data/chromium"' in chromium
    assert '--profile "/my data/firefox"' in firefox
    assert firefox.endswith(URL)
