"""How the server is: versions, disk, clock, who has something unsent, what does not agree."""

import sqlite3
import sys
from typing import Any, Final

from flask import Blueprint, Response, jsonify, render_template, request

from quickcheck import __version__
from quickcheck.store import Store
from quickcheck.web.context import settings

pages = Blueprint("health", __name__)
_SCARCE: Final = 200 * 1024 * 1024  # bytes: some hundred photos
_SKEWED: Final = 60.0  # seconds

# sqlite.org/wal.html, "The WAL-Reset Bug": since 3.7.0, mended in 3.51.3 and in two older lines.
_MENDED: Final = ((3, 44, 6), (3, 50, 7))


def has_wal_fault(version: tuple[int, ...]) -> bool:
    """Whether this SQLite may damage a book in WAL mode (ours is never in that mode)."""
    mended = any(version[:2] == line[:2] and version >= line for line in _MENDED)
    return (3, 7, 0) <= version < (3, 51, 3) and not mended


def _warnings(told: dict[str, Any]) -> list[str]:
    found = []
    if has_wal_fault(sqlite3.sqlite_version_info):
        mode = told.get("journal_mode", "none")
        found.append(
            f"SQLite {sqlite3.sqlite_version} has a known fault in WAL mode. This book's journal "
            f"mode is {mode}, which it does not touch; leave it so, or update SQLite."
        )
    if told.get("disk_free", _SCARCE) < _SCARCE:
        found.append("The disk is nearly full. Make room: photos stop first, then answers.")
    found += [
        f"PostgreSQL's {name} is off: what was called saved may be lost in a power cut. Turn it on."
        for name in ("fsync", "full_page_writes")
        if told.get(name) == "off"
    ]
    found += [
        f"The clock of {device['name']} is off by {device['skew']:.0f} s."
        for device in told["devices"]
        if abs(device["skew"] or 0) > _SKEWED
    ]
    if told["differences"]:
        found.append("A phone judged otherwise than this server; one of the two is at fault.")
    return found


def _report(store: Store, *, check: bool) -> dict[str, Any]:
    told: dict[str, Any] = {
        "version": __version__,
        "python": sys.version.split()[0],
        "time": settings().now().isoformat(timespec="seconds"),
        "store": store.health(),
        "devices": [
            {
                "id": str(device.id),
                "name": device.name,
                "first_seen": device.first_seen.isoformat(timespec="seconds"),
                "last_seen": device.last_seen.isoformat(timespec="seconds"),
                "unsent": device.unsent,
                "skew": device.skew,
            }
            for device in store.devices.list()
        ],
        "differences": [
            {
                "uuid": str(each.inspection),
                "revision": each.revision,
                "phone": each.found.phone,
                "server": each.found.server,
                "rules": each.found.rules,
                "noticed": each.noticed.isoformat(timespec="seconds"),
            }
            for each in store.book.differences()
        ],
        "two_versions": sorted(str(each) for each in store.book.undecided()),
        "damage": list(store.check()) if check else None,
    }
    return told | {"warnings": _warnings(told["store"] | told)}


@pages.get("/health")
def show() -> str | Response:
    """Tell it as a page, or as JSON (``?json``, or asked for by Accept); ``?check`` reads it all."""
    report = _report(settings().store, check="check" in request.args)
    wanted = request.accept_mimetypes.best_match(["text/html", "application/json"], "text/html")
    if "json" in request.args or wanted == "application/json":
        return jsonify(report)
    return render_template("health/health.html", report=report)
