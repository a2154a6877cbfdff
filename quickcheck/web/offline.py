"""What makes the pages work without a server: the worker, the manifest, what a device takes along.

All that a device keeps is listed with its type and its SHA-256, so that the sign-in page of a hall's
network can never be kept under the name of a script.
"""

import json
import os
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Final

from flask import Blueprint, Flask, Response, abort, make_response, render_template

from quickcheck.reference import Reference
from quickcheck.web import packs, turns
from quickcheck.web.assets import FOR_EVER, Assets, assets, squeeze
from quickcheck.web.bundles import squeezed
from quickcheck.web.context import settings
from quickcheck.web.reading import read_page

pages = Blueprint("offline", __name__)

SWITCH: Final = "QUICKCHECK_OFFLINE"
"""Set to "off", the server takes every worker and all that it keeps back, but no inspection."""

_KINDS: Final = (".css", ".js", ".mjs", ".svg")
_NEED_A_SERVER: Final = (
    *("js/handover.js", "js/saving.js", "js/scan.js", "js/writing.js", "js/learning.js"),
    *("js/kiosk/", "vendor/htmx", "vendor/qr-", "css/page/", "css/paper/"),
)
_LATER: Final = ("js/readpage.js",)
"""What works without a server too, but is not waited for: a device fetches it when the rest is there."""
_DEVICE_PAGES: Final = ("start", "book", "missing")
_LATER_PAGES: Final = ("read",)
GROUND: Final = "#f5f1e8"  # --ground of the light scheme: what the system shows while a page loads


def is_on() -> bool:
    """Whether devices may keep the app."""
    return os.environ.get(SWITCH, "").lower() != "off"


def _files(found: Assets) -> list[list[str]]:
    """Return address, type and SHA-256 of everything that a build's pages load at once."""
    return [
        _listed(found, name)
        for name in found.files
        if name.endswith(_KINDS) and not name.startswith((*_NEED_A_SERVER, *_LATER))
    ]


def _listed(found: Assets, name: str) -> list[str]:
    asset = found.files[name]
    return [found.address(name), asset.mimetype, sha256(asset.plain).hexdigest()]


def _device_page(name: str) -> str:
    if name == "read":
        return read_page(shell=True)  # noqa: S604  # no process
    return render_template(f"device/{name}.html", shell=True)  # noqa: S604  # no process


def _show_device_page(name: str) -> Response:
    return squeeze(make_response(_device_page(name)), well=True)


@pages.get("/sw.js")
def worker() -> Response:
    """Serve the worker of this build, or the one that takes all of them back.

    A kiosk keeps no app: its server is on the same machine, and what is kept is there to be read.
    """
    found = assets()
    if is_on() and turns.turn() is None:
        later = [_listed(found, name) for name in _LATER]
        script = render_template("sw.js.j2", build=found.build, files=_files(found), later=later)
    else:
        script = render_template("sw-off.js.j2")
    response = squeeze(
        Response(squeezed(script, "text/javascript"), mimetype="text/javascript"), well=True
    )
    response.headers["Cache-Control"] = "no-cache"
    response.headers["Service-Worker-Allowed"] = "/"
    return response


@pages.get("/manifest.webmanifest")
def manifest() -> Response:
    """Say what the app is called and looks like where it is installed."""
    address = assets().address
    told = {
        "id": "/",
        "name": "quickcheck",
        "short_name": "quickcheck",
        "description": "Do the parts of an instrument agree with the months its owner claims?",
        "lang": "en",
        "dir": "ltr",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": GROUND,
        "icons": [
            _image(address("icons/icon.svg"), "any", "image/svg+xml"),
            _image(address("icons/icon-192.png"), "192x192"),
            _image(address("icons/icon-512.png"), "512x512"),
            # the lifelines stay inside the circle that every platform shows (40 % of the width)
            _image(address("icons/icon-512.png"), "512x512") | {"purpose": "maskable"},
        ],
        "shortcuts": [
            {"name": "New inspection", "url": "/"},
            {"name": "Book", "url": "/book"},
        ],
        "screenshots": [
            _shot(address("screenshots/inspection.png"), "One point of an inspection"),
            _shot(address("screenshots/verdict.png"), "A verdict with its lifelines"),
        ],
    }
    response = Response(json.dumps(told), mimetype="application/manifest+json")
    response.headers["Cache-Control"] = "no-cache"
    return response


def _image(address: str, sizes: str, mimetype: str = "image/png") -> dict[str, str]:
    return {"src": address, "sizes": sizes, "type": mimetype}


def _shot(address: str, label: str) -> dict[str, str]:
    return _image(address, "390x780") | {"form_factor": "narrow", "label": label}


def _edition(prefix: str) -> Reference:
    """Return the edition whose hash begins with these 16 digits."""
    try:
        return settings().store.library.find(bytes.fromhex(prefix))
    except ValueError:
        abort(404)


def _json(content: bytes | str) -> Response:
    return Response(content, mimetype="application/json")


def _list(told: Mapping[str, object]) -> Response:
    return squeeze(_json(json.dumps(told, separators=(",", ":"))), well=True)


@pages.get("/references/<prefix>/model.json")
def model(prefix: str) -> Response:
    """Serve the compiled model of an edition; the address holds its hash, so it never changes."""
    response = _json(packs.model(_edition(prefix)))
    response.headers["Cache-Control"] = FOR_EVER
    return response


@pages.get("/references/<prefix>/pack.json")
def pack(prefix: str) -> Response:
    """List what a device takes along of an edition, with what to check it by."""
    return _list(packs.pack(_edition(prefix), assets().build))


def _show_shell(prefix: str, name: str) -> Response:
    page = packs.shell(_edition(prefix), name).content.decode()
    return squeeze(make_response(page), well=True)


@pages.get("/device/pack.json")
def device_pack() -> Response:
    """List the pages that a device keeps of a build, whatever references it has."""
    return _pages(_DEVICE_PAGES)


@pages.get("/device/later.json")
def later_pack() -> Response:
    """List the pages that a device fetches when the rest is there."""
    return _pages(_LATER_PAGES)


def _pages(names: Iterable[str]) -> Response:
    shells = (
        packs.Part(f"/device/{name}", "text/html", _device_page(name).encode()) for name in names
    )
    return _list({"build": assets().build, "shells": [each.as_page() for each in shells]})


@pages.get("/device/start")
def start() -> Response:
    """Show the start page that a device fills from what it keeps."""
    return _show_device_page("start")


@pages.get("/device/book")
def book() -> Response:
    """Show the book that a device fills from what it keeps."""
    return _show_device_page("book")


@pages.get("/device/read")
def read() -> Response:
    """Show the page that reads a marking, which a device fills by itself."""
    return _show_device_page("read")


@pages.get("/device/missing")
def missing() -> Response:
    """Say that a page is not on this device."""
    return _show_device_page("missing")


for _name in packs.SHELLS:
    pages.add_url_rule(
        f"/references/<prefix>/{_name}",
        f"shell_{_name}",
        _show_shell,
        defaults={"name": _name},
    )


def init_app(app: Flask) -> None:
    """Tell the templates whether devices may keep the app, and how much an edition takes there."""
    app.jinja_env.globals.update(offline_is_on=is_on, pack_size=packs.size)
