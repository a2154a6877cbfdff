"""Static files under one content hash, compressed once, cached for ever.

A page and its scripts are of one build: the hash is over everything that either is made of, so a
changed file changes every address, and a stale copy can't be mixed in.
"""

import gzip
import hashlib
import mimetypes
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final, cast

import brotli
from flask import Flask, Response, abort, current_app, request

from quickcheck import paths
from quickcheck.web.bundles import bundle, squeezed

_TEXT: Final = ("text/", "application/json", "application/manifest+json", "image/svg+xml")
_SMALL: Final = 256  # bytes that aren't worth it
FOR_EVER: Final = "public, max-age=31536000, immutable"
HEADS: Final = (
    "js/app.js",
    "js/results.js",
    "js/saving.js",
    "js/writing.js",
    "js/readpage.js",
    "js/learning.js",
    "js/kiosk/aside.js",
    "js/handover.js",
    "js/kiosk/asidelist.js",
    "js/scan.js",
)
"""The scripts that are loaded by their own names; all others go into them."""
STYLES: Final = ("tokens", "base", "components", "inspect", "lifelines", "card", "print")
"""The sheets of `css/`, in the order in which they make one."""
_ALONE: Final = ("css/paper/", "css/page/")  # sheets of one page, which no other loads
_CODE: Final = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file: its bytes, its type."""

    plain: bytes
    mimetype: str


@dataclass(frozen=True, slots=True)
class Assets:
    """All static files of a build, by their names under `static/`."""

    build: str
    files: Mapping[str, Asset]

    def address(self, name: str) -> str:
        """Return where a file of this build is."""
        return f"/s/{self.build}/{name}"


def assets() -> Assets:
    """Return the static files of the application that serves this request."""
    return cast(Assets, current_app.extensions["quickcheck-assets"])


def _files(folder: Path, pattern: str = "*") -> list[Path]:
    return sorted(path for path in folder.rglob(pattern) if path.is_file())


def build_hash() -> str:
    """Return 12 hex digits over all that a page is made of: templates, static files, our code and tables."""
    digest = hashlib.sha256()
    everything = ((paths.TEMPLATES, "*"), (paths.STATIC, "*"), (_CODE, "*.py"), (_CODE, "*.csv"))
    for folder, pattern in everything:
        for path in _files(folder, pattern):
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]


def _load() -> dict[str, Asset]:
    """Read what is served: each file as it is, and of the scripts the bundles."""
    plain = {path.relative_to(paths.STATIC).as_posix(): path for path in _files(paths.STATIC)}
    ours = {
        name: path.read_text(encoding="utf-8")
        for name, path in plain.items()
        if name.startswith(("js/", "css/"))
    }
    scripts = {name: text for name, text in ours.items() if name.startswith("js/")}
    styles = "".join(ours[f"css/{name}.css"] for name in STYLES)
    made = bundle(scripts, HEADS) | {"css/app.css": styles}
    made |= {name: text for name, text in ours.items() if name.startswith(_ALONE)}
    files = {name: path.read_bytes() for name, path in plain.items() if name not in ours}
    files |= {name: squeezed(text, _mimetype(name)).encode() for name, text in made.items()}
    return {name: Asset(content, _mimetype(name)) for name, content in files.items()}


def _mimetype(name: str) -> str:
    if name.endswith((".js", ".mjs")):  # some systems' tables call them otherwise
        return "text/javascript"
    return mimetypes.guess_type(name)[0] or "application/octet-stream"


def _brotli(plain: bytes, quality: int) -> bytes:
    return cast(bytes, brotli.compress(plain, mode=brotli.MODE_TEXT, quality=quality))


@lru_cache(maxsize=256)
def _packed_well(plain: bytes, coding: str) -> bytes:
    """Compress what is sent over and over: slowly, and once."""
    if coding == "br":
        return _brotli(plain, 11)
    return gzip.compress(plain, 9, mtime=0)


def _packed_now(plain: bytes, coding: str) -> bytes:
    if coding == "br":
        return _brotli(plain, 5)
    return gzip.compress(plain, 5, mtime=0)


def squeeze(response: Response, *, well: bool = False) -> Response:
    """Compress a text reply as the client takes it; ``well``: it is the same for everybody."""
    text = (response.mimetype or "").startswith(_TEXT)
    if response.direct_passthrough or response.status_code != 200 or not text:
        return response
    if "Content-Encoding" in response.headers or len(plain := response.get_data()) < _SMALL:
        return response
    response.vary.add("Accept-Encoding")
    coding = request.accept_encodings.best_match(("br", "gzip"))
    if coding:
        well = well or response.headers.get("Cache-Control") == FOR_EVER
        response.set_data((_packed_well if well else _packed_now)(plain, coding))
        response.headers["Content-Encoding"] = coding
    return response


def init_app(app: Flask) -> None:
    """Serve the static files and give templates `asset(path)`."""
    build = build_hash()
    kept = _load()

    @app.get("/s/<hashed>/<path:name>", endpoint="asset")
    def serve(hashed: str, name: str) -> Response:
        if hashed != build or name not in kept:
            abort(404)
        found = kept[name]
        response = Response(found.plain, mimetype=found.mimetype)
        response.headers["Cache-Control"] = FOR_EVER
        return response

    found = app.extensions["quickcheck-assets"] = Assets(build, kept)
    app.jinja_env.globals["asset"] = found.address
    app.after_request(squeeze)
