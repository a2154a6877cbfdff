"""Firefox, driven over WebDriver BiDi, which it speaks itself: no driver in between."""

import base64
import json
import os
import re
import signal
import subprocess
import time
from pathlib import Path
from typing import Any, Final

from tests.engines.bidi import Line
from tests.engines.engine import EngineError, call

PROGRAMS: Final = ("/usr/bin/firefox-esr", "/usr/bin/firefox")
PATIENCE: Final = 60.0  # seconds
PHONE: Final = {"width": 390, "height": 780}
_LISTENS: Final = re.compile(r"WebDriver BiDi listening on (ws://\S+)")
# It must ask nobody on the network for anything: what it would fetch is none of the walk's.
_SETTINGS: Final = """
user_pref("app.normandy.enabled", false);
user_pref("app.update.disabledForTesting", true);
user_pref("browser.aboutwelcome.enabled", false);
user_pref("browser.safebrowsing.provider.mozilla.updateURL", "");
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("browser.startup.homepage_override.mstone", "ignore");
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("dom.w3c_touch_events.enabled", 1);
user_pref("extensions.update.enabled", false);
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
user_pref("services.settings.server", "data:,#remote-settings-dummy/v1");
user_pref("toolkit.telemetry.server", "");
user_pref("browser.sessionstore.resume_from_crash", false);
"""


class Firefox:
    """Firefox without a window, with a touch screen, on a profile of ours."""

    name = "Firefox"
    pointer = "touch"
    notes: tuple[str, ...] = (
        "the desktop build, not the one for phones: same engine, other shell and storage rules",
    )

    def __init__(self) -> None:
        self.version = ""
        self._process: subprocess.Popen[bytes] | None = None
        self._line: Line | None = None
        self._page = ""

    @property
    def line(self) -> Line:
        """The line to the running browser."""
        if self._line is None:
            raise EngineError("Firefox is not running")
        return self._line

    def start(self, profile: Path) -> None:
        """Start it and open its page."""
        profile.mkdir(parents=True, exist_ok=True)
        (profile / "user.js").write_text(_SETTINGS, encoding="utf-8")
        said = profile / "said.txt"
        said.unlink(missing_ok=True)
        program = next((name for name in PROGRAMS if Path(name).exists()), "firefox")
        words = ("--headless", "--no-remote", "--remote-debugging-port=0", "--profile")
        with said.open("wb") as printed:
            # in a group of its own: it has many helpers
            self._process = subprocess.Popen(
                [program, *words, str(profile)],
                stdin=subprocess.DEVNULL,
                stdout=printed,
                stderr=printed,
                start_new_session=True,
            )
        try:
            self._meet(said)
        except EngineError:
            self.kill()
            raise

    def _meet(self, said: Path) -> None:
        ends = time.monotonic() + PATIENCE
        while not (found := _LISTENS.search(said.read_text(errors="replace"))):
            if time.monotonic() > ends or not self._process or self._process.poll() is not None:
                raise EngineError("Firefox did not start")
            time.sleep(0.05)
        self._line = Line(f"{found[1]}/session", patience=PATIENCE)
        self.version = str(self._line.capabilities["browserVersion"])
        self._page = self._line.ask("browsingContext.getTree")["contexts"][0]["context"]
        self._line.ask(
            "browsingContext.setViewport", context=self._page, viewport=PHONE, devicePixelRatio=2
        )

    def kill(self) -> None:
        """End it with its helpers."""
        if self._line:
            self._line.close()
        if self._process:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
        self._line = self._process = None

    def goto(self, address: str) -> None:
        """Load a page."""
        self.line.ask("browsingContext.navigate", context=self._page, url=address, wait="complete")

    def run(self, function: str, *given: Any) -> Any:
        """Call a function in the page."""
        came = self.line.ask(
            "script.evaluate",
            expression=call(function, *given),
            target={"context": self._page},
            awaitPromise=True,
        )
        if came["type"] != "success":
            raise EngineError(str(came["exceptionDetails"]["text"]))
        return json.loads(came["result"]["value"])

    def press(self, x: float, y: float) -> None:
        """Tap."""
        at = {"type": "pointerMove", "x": round(x), "y": round(y)}
        actions = [at, {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        finger = {"type": "pointer", "id": "finger", "parameters": {"pointerType": self.pointer}}
        self._act(finger | {"actions": actions})

    def type(self, text: str) -> None:
        """Press keys."""
        keys = [{"type": kind, "value": key} for key in text for kind in ("keyDown", "keyUp")]
        self._act({"type": "key", "id": "keys", "actions": keys})

    def _act(self, source: dict[str, Any]) -> None:
        self.line.ask("input.performActions", context=self._page, actions=[source])

    def picture(self) -> bytes:
        """Return what is on the screen."""
        shot = self.line.ask("browsingContext.captureScreenshot", context=self._page)
        return base64.b64decode(shot["data"])
