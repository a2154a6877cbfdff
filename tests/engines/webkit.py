"""WebKitGTK, driven by its own WebDriver through Selenium, on a display that nobody sees."""

import json
import os
import signal
import subprocess
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

from tests.engines.engine import EngineError, call

WINDOW: Final = Path(__file__).with_name("webkit_window.py")
NAME: Final = "quickcheck-window"
DRIVER: Final = "/usr/bin/WebKitWebDriver"
PATIENCE: Final = 60  # seconds
_ANSWER: Final = "const done = arguments[0]; {}.then((it) => done([it]), (e) => done(String(e)))"


class WebKit:
    """WebKitGTK in a window of ours: see webkit_window.py."""

    name = "WebKitGTK"
    pointer = "mouse"
    notes: tuple[str, ...] = (
        "its driver has no touch: pressed with a mouse",
        "Safari's own limits (7 days, home screen, quota) are Apple's and not in this engine",
    )

    def __init__(self) -> None:
        self.version = ""
        self._display: subprocess.Popen[str] | None = None
        self._driver: webdriver.WebKitGTK | None = None
        self._service: Service | None = None

    @property
    def driver(self) -> webdriver.WebKitGTK:
        """The driver of the running browser."""
        if self._driver is None:
            raise EngineError("WebKitGTK is not running")
        return self._driver

    def start(self, profile: Path) -> None:
        """Start a display, the driver and the browser."""
        self._display = subprocess.Popen(
            ["Xvfb", "-displayfd", "1", "-screen", "0", "800x1000x24", "-nolisten", "tcp"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        number = self._display.stdout.readline().strip() if self._display.stdout else ""
        options = Options()
        options.binary_location = str(WINDOW)
        options.add_argument(str(profile))
        options.set_capability("browserName", NAME)
        # in a group of its own: the browser and its helpers are the driver's children
        self._service = Service(
            DRIVER,
            log_output=subprocess.DEVNULL,
            env=os.environ | {"DISPLAY": f":{number}", "NO_AT_BRIDGE": "1"},
            popen_kw={"start_new_session": True},
        )
        try:
            self._driver = webdriver.WebKitGTK(options=options, service=self._service)
        except WebDriverException as error:
            self.kill()
            raise EngineError(f"WebKitGTK did not start: {error.msg}") from error
        self.version = str(self._driver.capabilities["browserVersion"])
        self._driver.set_page_load_timeout(PATIENCE)
        self._driver.set_script_timeout(PATIENCE)

    def kill(self) -> None:
        """End driver, browser and display."""
        process = getattr(self._service, "process", None)
        if process is not None:
            with suppress(ProcessLookupError):  # Selenium ended it itself
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        if self._display:
            self._display.kill()
            self._display.wait()
            if self._display.stdout:
                self._display.stdout.close()
        self._driver = self._service = self._display = None

    def goto(self, address: str) -> None:
        """Load a page."""
        try:
            self.driver.get(address)
        except WebDriverException as error:
            raise EngineError(f"{address} was not loaded: {error.msg}") from error

    def run(self, function: str, *given: Any) -> Any:
        """Call a function in the page."""
        try:
            came = self.driver.execute_async_script(_ANSWER.format(call(function, *given)))
        except WebDriverException as error:
            raise EngineError(f"the page answered nothing: {error.msg}") from error
        if isinstance(came, str):
            raise EngineError(came)
        return json.loads(came[0])

    def press(self, x: float, y: float) -> None:
        """Click."""
        actions = ActionBuilder(self.driver)
        pointer = actions.pointer_action
        pointer.move_to_location(round(x), round(y))  # type: ignore[no-untyped-call]
        pointer.click()
        actions.perform()

    def type(self, text: str) -> None:
        """Press keys."""
        ActionChains(self.driver).send_keys(text).perform()

    def picture(self) -> bytes:
        """Return what is on the screen."""
        return self.driver.get_screenshot_as_png()
