"""What every test stands on: repeatable examples, the slow tests apart, a Chromium to drive."""

import os
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import expect

from tests.faults.figures import pytest_terminal_summary
from tests.kit import CHROMIUM
from tests.postgres import ON_POSTGRESQL, Cluster, shared
from tests.steps_once import steps_once

__all__ = ["pytest_terminal_summary"]  # a hook: pytest finds it here

FULL = os.environ.get("QUICKCHECK_FULL") == "1"
# The same examples in every run: a red build is a change's own fault. `full` looks for new ones.
settings.register_profile("ci", max_examples=30, derandomize=True, deadline=None, print_blob=True)
settings.register_profile(
    "full",
    max_examples=1000,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("full" if FULL else "ci")
# A busy machine is late, not wrong; what must be quick is measured by tests of its own.
expect.set_options(timeout=20_000)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the slow tests to a full run, and those of a file to runs that have one."""
    if ON_POSTGRESQL:
        of_files = [item for item in items if "place" in getattr(item, "fixturenames", ())]
        config.hook.pytest_deselected(items=of_files)
        items[:] = [item for item in items if item not in of_files]
    if FULL:
        return
    slow = [item for item in items if item.get_closest_marker("slow")]
    config.hook.pytest_deselected(items=slow)
    items[:] = [item for item in items if item not in slow]


@pytest.fixture(scope="session", autouse=True)
def _steps_once() -> Iterator[None]:
    with steps_once():
        yield


@pytest.fixture(scope="session")
def postgresql() -> Cluster:
    """Return a PostgreSQL of our own, started once for all tests of this process."""
    return shared()


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Launch Debian's Chromium where there is one, else the one that Playwright brought."""
    quiet = ["--disable-dev-shm-usage", "--disable-gpu", "--disable-background-networking"]
    found = {"executable_path": str(CHROMIUM)} if CHROMIUM.exists() else {}
    # A sandbox can't be had inside a container or as root, and only our own pages are opened.
    return browser_type_launch_args | found | {"args": ["--no-sandbox", *quiet]}


@pytest.fixture(scope="session")
def base_url() -> None:
    """Stand before the fixture of a plugin that this pytest calls out of date, and need none."""
