"""Static files under one content hash, kept compressed in memory and cached for ever.

A page and its scripts are of one build: the hash is over everything that either is made of, so a
changed file changes every address, and a stale copy can't be mixed in.
"""

import gzip
import hashlib
import mimetypes
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, cast

from flask import Flask, Response, abort, current_app, request

from quickcheck import paths

_TEXT = ("text/", "application/javascript", "application/json", "image/svg+xml")
FOR_EVER: Final = "public, max-age=31536000, immutable"
_UNREAD: Final = (
    (re.compile(r"^[ \t]*(?://[^\n]*|/\*(?:(?!\*/).)*\*/)[ \t]*\n", re.MULTILINE | re.DOTALL), ""),
    (re.compile(r"/\*\*(?:(?!\*/)[^\n])*\*/ ?"), ""),
    (re.compile(r"^[ \t]+", re.MULTILINE), ""),
    (re.compile(r"\n{2,}"), "\n"),
)
_CODE: Final = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file: its bytes, its bytes compressed where that pays, its type."""

    plain: bytes
    packed: bytes | None
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
    """Return 12 hex digits over all that a page is made of: templates, static files, our code."""
    digest = hashlib.sha256()
    for folder, pattern in ((paths.TEMPLATES, "*"), (paths.STATIC, "*"), (_CODE, "*.py")):
        for path in _files(folder, pattern):
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]


def bare(script: str) -> str:
    """Return a script of ours without comments, indentation and blank lines.

    Our style allows it by lines: a comment has lines of its own, but for the casts of JSDoc, and no
    text goes over a line's end. What is served stays readable, and travels a third lighter.
    """
    for pattern, instead in _UNREAD:
        script = pattern.sub(instead, script)
    return script


def _load(path: Path) -> Asset:
    mimetype = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    plain = path.read_bytes()
    if path.suffix == ".js":  # scripts of ours: comments are for those who read the source
        plain = bare(plain.decode()).encode()
    text = mimetype.startswith(_TEXT)
    return Asset(plain, gzip.compress(plain, 9, mtime=0) if text else None, mimetype)


def pack(response: Response) -> Response:
    """Compress a text reply that is worth it, if the client takes it."""
    if (
        "gzip" in request.headers.get("Accept-Encoding", "")
        and not response.direct_passthrough
        and "Content-Encoding" not in response.headers
        and response.status_code == 200
        and (response.mimetype or "").startswith(_TEXT)
        and len(response.get_data()) > 1024
    ):
        response.set_data(gzip.compress(response.get_data(), 5, mtime=0))
        response.headers["Content-Encoding"] = "gzip"
        response.vary.add("Accept-Encoding")
    return response


def init_app(app: Flask) -> None:
    """Serve the static files and give templates `asset(path)`."""
    build = build_hash()
    kept = {path.relative_to(paths.STATIC).as_posix(): _load(path) for path in _files(paths.STATIC)}

    @app.get("/s/<hashed>/<path:name>", endpoint="asset")
    def serve(hashed: str, name: str) -> Response:
        if hashed != build or name not in kept:
            abort(404)
        found = kept[name]
        squeeze = found.packed is not None and "gzip" in request.headers.get("Accept-Encoding", "")
        body = found.packed if squeeze and found.packed is not None else found.plain
        response = Response(body, mimetype=found.mimetype)
        response.headers["Cache-Control"] = FOR_EVER
        if found.packed is not None:
            response.vary.add("Accept-Encoding")
        if squeeze:
            response.headers["Content-Encoding"] = "gzip"
        return response

    found = app.extensions["quickcheck-assets"] = Assets(build, kept)
    app.jinja_env.globals["asset"] = found.address
    app.after_request(pack)
