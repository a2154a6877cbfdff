"""The demo in a process of its own, and a page that remembers what it complained about."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserType, ConsoleMessage, Page

from tests.browser.handset import Handset
from tests.browser.pages import Site
from tests.kit import Server


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve the demo for as long as the tests last; one for each worker."""
    with Server(tmp_path_factory.mktemp("demo")) as server:
        yield Site(server)


@pytest.fixture
def handset(
    browser_type: BrowserType, browser_type_launch_args: dict[str, Any], tmp_path: Path
) -> Iterator[Handset]:
    """Hand out a phone; its browser is closed with the test."""
    with Handset(browser_type, browser_type_launch_args, tmp_path / "profile") as phone:
        yield phone


# Chromium complains of a reply such as 422 though the page is meant to come with it.
_STATUS = re.compile(r"^Failed to load resource: the server responded with a status of 4\d\d")


@pytest.fixture
def complaints(page: Page) -> list[str]:
    """Gather what scripts throw and what the browser refuses, as a policy tells it to."""
    found: list[str] = []

    def said(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not _STATUS.match(message.text):
            found.append(f"{message.type}: {message.text}")

    page.on("console", said)
    page.on("pageerror", lambda error: found.append(f"thrown: {error}"))
    return found
