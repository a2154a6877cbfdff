"""A site to ask: the application on a book of its own, and a client that is one of its pages."""

import re
from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any
from uuid import UUID

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import TestResponse, stream_encode_multipart

from quickcheck import desk
from quickcheck.reference import Reference, read_reference_text
from quickcheck.store import Entry, KeyFiles, Store
from quickcheck.web import Settings, create_app
from tests import kit

HERE: Mapping[str, str] = {"Sec-Fetch-Site": "same-origin", "Origin": "http://localhost"}
"""What a browser says of a form that one of our own pages sends."""

NOBODY = "00000000-0000-4000-8000-000000000000"
"""A well-formed id that no inspection has."""

PICTURE = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 96"><path d="M0 0L9 9"/></svg>'
REFERENCE = (
    kit.REFERENCE.replace('label = "Wood"', 'label = "Wood"\npicture = "wood.svg"')
    + """
[[point]]
id = "finish-signs"
area = "finish"
kind = "sign"
many = true
bears_on = ["knobs"]
ask = "Any sign on the finish?"
source = ["ledger"]
[[point.seen]]
id = "overspray"
label = "Finish in holes"
odds = 20
[[point.seen]]
id = "patch"
label = "Touched up"
odds = 2
[[point.seen]]
id = "none"
label = "Looked, none seen"
odds = 0.6

[[point]]
id = "edge-sign"
area = "body"
place = "edge"
kind = "sign"
bears_on = ["knobs"]
ask = "Was the edge sanded?"
source = ["ledger"]
[[point.seen]]
id = "sanded"
label = "Sanded"
odds = 5
[[point.seen]]
id = "none"
label = "None seen"
odds = 0.6
"""
)
"""The small reference with a picture and two points that are signs: every kind of point."""


def write_loom_one(folder: Path) -> None:
    """Put the small reference into a folder of references, with its picture."""
    (folder / "loom-one").mkdir(parents=True)
    (folder / "loom-one" / "loom.toml").write_text(REFERENCE, encoding="utf-8")
    (folder / "loom-one" / "wood.svg").write_bytes(PICTURE)


def read() -> Reference:
    """Return the small reference, read."""
    return read_reference_text(REFERENCE, pictures={"wood.svg": PICTURE})


@dataclass
class Clock:
    """A time that goes on by a minute, or another step, whenever it is asked for."""

    at: datetime = datetime(2026, 4, 11, 10, 0, tzinfo=UTC)
    step: timedelta = timedelta(minutes=1)

    def __call__(self) -> datetime:
        self.at += self.step
        return self.at


def _encoded(fields: Mapping[str, Any] | MultiDict[str, str]) -> tuple[Any, str | None]:
    """Return a form's body where it has files: the client would leave a large one's open."""
    pairs = [
        (name, FileStorage(*each) if isinstance(each, tuple) else each)
        for name, value in (
            fields.items(multi=True) if isinstance(fields, MultiDict) else fields.items()
        )
        for each in (value if isinstance(value, list) else [value])
    ]
    if not any(isinstance(value, FileStorage) for _, value in pairs):
        return fields, None
    stream, _, boundary = stream_encode_multipart(MultiDict(pairs), use_tempfile=False)
    return stream.read(), f"multipart/form-data; boundary={boundary}"


@cache
def _application() -> Flask:
    nothing: Any = None
    return create_app(Settings(nothing, desk.Shelf({}, {})))


def application(settings: Settings) -> Flask:
    """Return an application that shares its routes and templates with others.

    To compile these takes longer than most tests, and they are the same for all settings.
    """
    app = copy(_application())
    app.config = copy(app.config)
    app.config["TRUSTED_HOSTS"] = list(settings.hosts)
    workshop = {"quickcheck-workshop": desk.Workshop()}
    app.extensions = app.extensions | workshop | {"quickcheck": settings}
    return app


@dataclass(frozen=True)
class Site:
    """The application, and what stands behind it to look at afterwards."""

    app: Flask
    store: Store
    reference: Reference
    client: FlaskClient = field(repr=False)

    @classmethod
    def on(
        cls,
        store: Store,
        reference: Reference,
        shelf: desk.Shelf | None = None,
        keys: KeyFiles | None = None,
    ) -> "Site":
        """Make a site with one reference, or with a shelf of several; with ``keys`` it may seal."""
        shelf = shelf or desk.Shelf({reference.id: reference}, {})
        for found in shelf.current.values():
            store.library.keep(found)
        app = application(Settings(store, shelf, now=Clock(), keys=keys))
        return cls(app, store, reference, app.test_client())

    def with_own_app(self) -> "Site":
        """Return the same with an application that may get more routes."""
        app = create_app(self.app.extensions["quickcheck"])
        return Site(app, self.store, self.reference, app.test_client())

    def begin(self, **more: Any) -> UUID:
        """Open an inspection without answers and return its id."""
        document = kit.document(answers={}, **more)
        now = datetime(2026, 4, 11, 9, 0, tzinfo=UTC)
        return desk.open_inspection(self.store, self.reference, document, now=now).id

    def get(self, path: str, **more: Any) -> TestResponse:
        """Fetch a page."""
        return self.client.get(path, **more)

    def post(
        self, path: str, fields: Mapping[str, Any] | MultiDict[str, str], **headers: str
    ) -> TestResponse:
        """Send a form as one of our pages; ``HX_Request="true"`` as its script does."""
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        body, kind = _encoded(fields)
        return self.client.post(path, data=body, content_type=kind, headers={**HERE, **more})

    def answer(
        self, inspection: UUID, point: str, *, script: bool = False, **fields: Any
    ) -> TestResponse:
        """Send one point's fields; ``seen`` stands for the point's own, ``go`` for the button."""
        go = {"_go": fields.pop("go")} if "go" in fields else {}
        own = {point: fields.pop("seen")} if "seen" in fields else {}
        parts = {f"{point}.{name.replace('_', '-')}": value for name, value in fields.items()}
        headers = {"HX_Request": "true"} if script else {}
        path = f"/inspect/{inspection}/answer"
        return self.post(path, {"_point": point, **go, **own, **parts}, **headers)

    def document(self, inspection: UUID) -> dict[str, Any]:
        """Return what is stored of an inspection."""
        return self.store.book.get(inspection).document

    def answers(self, inspection: UUID) -> dict[str, Any]:
        """Return the stored answers of an inspection."""
        return dict(self.document(inspection).get("answers", {}))

    def counts(self) -> dict[str, int]:
        """Return how many editions, inspections, revisions and late documents are stored."""
        health = self.store.health()
        return {key: health[key] for key in ("editions", "inspections", "revisions", "late")}

    def history(self, inspection: UUID) -> tuple[Entry, ...]:
        """Return everything that was ever stored of it."""
        return self.store.book.history(inspection)


def asset(site: Site, name: str) -> str:
    """Return the address of a static file."""
    return str(site.app.jinja_env.globals["asset"](name))  # type: ignore[operator]


def words(response: TestResponse) -> str:
    """Return the text of a page as it reads: no tags, entities resolved, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", response.text)).split())


def fieldset(response: TestResponse, point: str) -> str:
    """Return the HTML of one point of an inspection page."""
    found = re.search(
        rf'<fieldset[^>]*data-point="{re.escape(point)}".*?</fieldset>', response.text, re.DOTALL
    )
    assert found, f"no point {point} on the page"
    return found[0]


def has_trace(response: TestResponse) -> bool:
    """Whether a reply shows what only a log should: a stack trace or a path of the program."""
    if response.mimetype == "image/png":
        return False
    return any(sign in response.text for sign in ("Traceback", 'File "', "site-packages", ".py"))


def assert_says(response: TestResponse, status: int, *parts: str) -> None:
    """Check a reply's status, that each of the words is in it, and that it shows no trace."""
    assert response.status_code == status, words(response)
    text = words(response)
    missing = [part for part in parts if part not in text]
    assert not missing, f"{missing} is not in: {text}"
    assert not has_trace(response)


def ids(entries: Iterable[Any]) -> list[str]:
    """Return the ids of points or variants."""
    return [entry.id for entry in entries]
