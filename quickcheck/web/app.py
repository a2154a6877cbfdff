"""The application factory."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime

from flask import Flask

from quickcheck import paths
from quickcheck.desk import Shelf
from quickcheck.store import Store
from quickcheck.web import assets, book, cards, errors, filters, guard, inspect, references, start


def _utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Settings:
    """What the application works on."""

    store: Store
    shelf: Shelf
    base_url: str = "http://localhost:8000"  # what a card's code leads to, never the Host header
    hosts: tuple[str, ...] = ("localhost", "127.0.0.1", "[::1]")
    now: Callable[[], datetime] = field(default=_utc_now)


def create_app(settings: Settings) -> Flask:
    """Make the application; nothing is read or opened at import."""
    app = Flask(__name__, template_folder=str(paths.TEMPLATES), static_folder=None)
    app.config.update(
        TRUSTED_HOSTS=list(settings.hosts),
        MAX_CONTENT_LENGTH=256 * 1024,
        MAX_FORM_MEMORY_SIZE=256 * 1024,
    )
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.extensions["quickcheck"] = settings
    filters.init_app(app)
    assets.init_app(app)
    guard.init_app(app)
    errors.init_app(app)
    for room in (start, inspect, cards, references, book):
        app.register_blueprint(room.pages)
    return app
