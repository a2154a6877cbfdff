"""`/health`: what the one who runs the server must know."""

from datetime import datetime

import pytest

from quickcheck.desk.health import has_wal_fault
from tests.web.checklist import Page
from tests.web.kit import NOBODY, Site, assert_says
from tests.web.sending import OUTBOX, send


class TestChecklist(Page):
    """What holds at every endpoint."""

    path = "/health"


def test_as_json(site: Site) -> None:
    """Versions, counts, disk and clock, for a script as for a page."""
    report = site.get("/health?json").get_json()
    assert report["version"]
    assert report["store"]["journal_mode"] == "delete"
    assert report["store"]["disk_free"] > 0
    assert datetime.fromisoformat(report["time"]).year == 2026
    assert (report["devices"], report["differences"], report["two_versions"]) == ([], [], [])
    assert report["damage"] is None
    by_accept = site.get("/health", headers={"Accept": "application/json"})
    store = by_accept.get_json()["store"]
    assert {**store, "disk_free": 0} == {**report["store"], "disk_free": 0}  # others write as well
    browser = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    assert site.get("/health", headers=browser).mimetype == "text/html"


def test_as_page(site: Site) -> None:
    """What is out of order stands on the page, with links to look at it."""
    headers = {**OUTBOX, "X-Unsent": "3", "X-Clock": "2020-01-01T00:00:00Z"}
    site.client.get("/api/epoch", headers=headers)
    send(site, name="A", judged={"verdict": "other"})
    send(site, name="B")
    page = site.get("/health")
    assert_says(page, 200, "Device 1", "The clock of Device 1 is off", "1 that came too late")
    assert_says(page, 200, "A phone judged otherwise", '{"verdict":"other"}')
    assert f"/inspect/{NOBODY}/versions" in page.text


@pytest.mark.parametrize(("seconds", "is_told"), [(119, False), (121, True), (-121, True)])
def test_two_minutes_off(site: Site, seconds: int, is_told: bool) -> None:
    """A clock is called wrong from two minutes on, ahead or behind, here as on the stations' page."""
    now = site.app.extensions["quickcheck"].now()
    site.store.devices.tell(site.store.devices.welcome(now)[1], now=now, skew=seconds)
    said = f"The clock of Device 1 is off by {seconds} s."
    assert (said in site.get("/health?json").get_json()["needs"]) is is_told
    (device,) = site.store.devices.list()
    assert device.is_skewed is is_told


def test_damage_is_looked_for_on_demand(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading the whole book is asked for, and says what it found."""
    assert site.get("/health?check&json").get_json()["damage"] == []
    assert_says(site.get("/health?check"), 200, "no damage")
    monkeypatch.setattr(site.store, "check", lambda: ("row 7 missing from index",))
    assert_says(site.get("/health?check"), 200, "row 7 missing", "last backup")


def test_scarce_room(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is nearly full is told before it is full."""
    health = site.store.health()
    monkeypatch.setattr(site.store, "health", lambda: {**health, "disk_free": 1_000_000})
    assert_says(site.get("/health"), 200, "The disk is nearly full")


@pytest.mark.parametrize(
    ("version", "faulty"),
    [
        ((3, 6, 23), False),
        ((3, 7, 0), True),
        ((3, 40, 1), True),
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 45, 0), True),
        ((3, 50, 7), False),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((4, 0, 0), False),
    ],
)
def test_versions_with_the_fault(version: tuple[int, int, int], faulty: bool) -> None:
    """Which SQLite may damage a book in WAL mode (sqlite.org/wal.html, the WAL-reset bug)."""
    assert has_wal_fault(version) is faulty
