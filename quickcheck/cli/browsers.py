"""Which browsers can be a kiosk, where three systems keep them, and how each is started.

Tables and pure functions: nothing here looks at this machine, so that every row can be tested on
any. Chromium's switches: https://peter.sh/experiments/chromium-command-line-switches/; its
preferences and Firefox's were read in the files that the browsers themselves wrote.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath
from types import MappingProxyType
from typing import Any, Final


class Kind(StrEnum):
    """What a browser understands."""

    CHROMIUM = "chromium"
    EDGE = "edge"  # a Chromium whose --kiosk forgets everything when it ends
    FIREFOX = "firefox"


@dataclass(frozen=True, slots=True)
class Browser:
    """A browser that was found."""

    kind: Kind
    program: str
    home: PurePath | None = None  # the only folder it may keep a profile in, where it is locked up


@dataclass(frozen=True, slots=True)
class Machine:
    """What finding a browser needs to know of a machine."""

    system: str  # as sys.platform says it
    environment: Mapping[str, str]
    which: Callable[[str], str | None]  # the program of that name on the path
    exists: Callable[[str], bool]
    home: PurePath


_LINUX: Final = (
    (Kind.CHROMIUM, "chromium"),
    (Kind.CHROMIUM, "chromium-browser"),
    (Kind.CHROMIUM, "google-chrome-stable"),
    (Kind.CHROMIUM, "google-chrome"),
    (Kind.FIREFOX, "firefox"),
    (Kind.FIREFOX, "firefox-esr"),
    (Kind.EDGE, "microsoft-edge-stable"),
)
_MAC: Final = (
    (Kind.CHROMIUM, "Chromium.app/Contents/MacOS/Chromium"),
    (Kind.CHROMIUM, "Google Chrome.app/Contents/MacOS/Google Chrome"),
    (Kind.FIREFOX, "Firefox.app/Contents/MacOS/firefox"),
    (Kind.EDGE, "Microsoft Edge.app/Contents/MacOS/Microsoft Edge"),
)
_WINDOWS: Final = (
    (Kind.CHROMIUM, r"Chromium\Application\chrome.exe"),
    (Kind.CHROMIUM, r"Google\Chrome\Application\chrome.exe"),
    (Kind.FIREFOX, r"Mozilla Firefox\firefox.exe"),
    (Kind.EDGE, r"Microsoft\Edge\Application\msedge.exe"),
)
_WINDOWS_FOLDERS: Final = ("ProgramFiles", "ProgramFiles(x86)", "LocalAppData")

_ALL_CHROMIUMS: Final = (
    "--kiosk-printing",
    "--noerrdialogs",
    "--disable-pinch",
    "--overscroll-history-navigation=0",
    "--hide-crash-restore-bubble",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-features=Translate",
    "--password-store=basic",  # else a keyring asks for its password over the page
)
_HOW: Final[Mapping[Kind, tuple[str, ...]]] = MappingProxyType(
    {
        Kind.CHROMIUM: ("--kiosk", *_ALL_CHROMIUMS),
        # Its --kiosk is a private window, which loses what was not sent when it ends.
        Kind.EDGE: ("--start-fullscreen", *_ALL_CHROMIUMS),
        Kind.FIREFOX: ("--kiosk", "--new-instance", "--no-remote"),
    }
)

CHROMIUM_PREFERENCES: Final[Mapping[str, Any]] = MappingProxyType(
    {
        "autofill": {"profile_enabled": False, "credit_card_enabled": False},
        "credentials_enable_service": False,
        "credentials_enable_autosignin": False,
        "profile": {"password_manager_enabled": False},
        "translate": {"enabled": False},
        "download_restrictions": 3,  # none: what leaves a kiosk leaves by code or paper
        "search": {"suggest_enabled": False},
    }
)
"""What a Chromium's profile begins with (the file Default/Preferences)."""

FIREFOX_PREFERENCES: Final[Mapping[str, bool | int | str]] = MappingProxyType(
    {
        "signon.rememberSignons": False,
        "signon.autofillForms": False,
        "browser.formfill.enable": False,
        "extensions.formautofill.addresses.enabled": False,
        "extensions.formautofill.creditCards.enabled": False,
        "browser.privatebrowsing.autostart": False,  # a restart must not lose what was not sent
        "places.history.enabled": False,
        "browser.sessionstore.resume_from_crash": False,
        "browser.sessionstore.max_tabs_undo": 0,
        "browser.sessionstore.max_windows_undo": 0,
        "browser.startup.page": 0,
        "browser.startup.homepage_override.mstone": "ignore",
        "browser.aboutwelcome.enabled": False,
        "browser.shell.checkDefaultBrowser": False,
        "browser.tabs.warnOnClose": False,
        "browser.translations.enable": False,
        "browser.gesture.swipe.left": "",
        "browser.gesture.swipe.right": "",
        "apz.allow_zooming": False,
        "print.always_print_silent": True,
        "datareporting.policy.dataSubmissionEnabled": False,
        "toolkit.telemetry.reportingpolicy.firstRun": False,
        "app.normandy.enabled": False,
        "network.captive-portal-service.enabled": False,
        "network.connectivity-service.enabled": False,
    }
)
"""What ours is in the profile's user.js; Firefox reads it anew at each start."""


def find_browser(machine: Machine) -> Browser | None:
    """Return the first browser of this system's list that is here."""
    return next((each for each in _candidates(machine) if each), None)


def browser_at(program: str, machine: Machine) -> Browser:
    """Return the browser that somebody named, its kind told by its name."""
    name = PureWindowsPath(program).stem.lower()  # understands both kinds of slashes
    kind = Kind.CHROMIUM
    if "firefox" in name:
        kind = Kind.FIREFOX
    elif "edge" in name:
        kind = Kind.EDGE
    return Browser(kind, program, _locked_up(program, machine))


def _candidates(machine: Machine) -> list[Browser | None]:
    if machine.system == "win32":
        named = map(machine.environment.get, _WINDOWS_FOLDERS)
        windows = [PureWindowsPath(folder) for folder in named if folder]
        return [
            _if_there(kind, str(folder / place), machine)
            for kind, place in _WINDOWS
            for folder in windows
        ]
    if machine.system == "darwin":
        folders = [PurePosixPath("/Applications"), PurePosixPath(machine.home) / "Applications"]
        return [
            _if_there(kind, str(folder / place), machine)
            for kind, place in _MAC
            for folder in folders
        ]
    found = ((kind, machine.which(name)) for kind, name in _LINUX)
    return [
        Browser(kind, program, _locked_up(program, machine)) for kind, program in found if program
    ]


def _if_there(kind: Kind, program: str, machine: Machine) -> Browser | None:
    return Browser(kind, program) if machine.exists(program) else None


def _locked_up(program: str, machine: Machine) -> PurePath | None:
    """Return where a browser in a snap may write; hidden folders of the home are closed to it."""
    name = PurePosixPath(program).name.removesuffix("-browser")
    if machine.system != "linux" or not machine.exists(f"/snap/bin/{name}"):
        return None
    return machine.home / "snap" / name / "common" / "quickcheck-kiosk"


def has_screen(machine: Machine) -> bool:
    """Whether a window can be shown; only on Linux may there be none."""
    shows = ("DISPLAY", "WAYLAND_DISPLAY")
    return machine.system != "linux" or any(machine.environment.get(name) for name in shows)


def command(browser: Browser, profile: PurePath, url: str) -> tuple[str, ...]:
    """Return the words that open a page in kiosk mode, with a profile of its own."""
    if browser.kind is Kind.FIREFOX:
        return (browser.program, *_HOW[browser.kind], "--profile", str(profile), url)
    return (browser.program, *_HOW[browser.kind], f"--user-data-dir={profile}", url)


def by_hand(machine: Machine, profile: PurePath, url: str) -> str:
    """Return what to type where no browser was found, with the commonest name of each."""
    names = {"win32": ("chrome.exe", "firefox.exe"), "darwin": ("Chromium", "firefox")}
    chromium, firefox = names.get(machine.system, ("chromium", "firefox"))
    lines = [
        command(Browser(Kind.CHROMIUM, chromium), profile / Kind.CHROMIUM, url),
        command(Browser(Kind.FIREFOX, firefox), profile / Kind.FIREFOX, url),
    ]
    return "\n".join(" ".join(map(_quoted, words)) for words in lines)


def _quoted(word: str) -> str:
    return f'"{word}"' if " " in word else word


def user_js() -> str:
    """Return the file of Firefox's preferences."""
    lines = [
        f'user_pref("{name}", {_as_js(value)});' for name, value in FIREFOX_PREFERENCES.items()
    ]
    return "// Written by quickcheck kiosk at each start.\n" + "\n".join(lines) + "\n"


def _as_js(value: bool | int | str) -> str:
    return str(value).lower() if isinstance(value, bool | int) else f'"{value}"'


def merged(preferences: Mapping[str, Any], ours: Mapping[str, Any]) -> dict[str, Any]:
    """Return preferences with ours in them; all that the browser noted besides stays."""
    found = dict(preferences)
    for name, value in ours.items():
        here = found.get(name)
        found[name] = (
            merged(here if isinstance(here, dict) else {}, value)
            if isinstance(value, dict)
            else value
        )
    return found


def profile_of(browser: Browser, folder: Path) -> Path:
    """Return the folder of a browser's profile: in ours, or where it is locked up."""
    return Path(browser.home) if browser.home else folder / browser.kind
