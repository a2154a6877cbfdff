"""The application factory."""

from flask import Flask

from quickcheck import paths
from quickcheck.web import (
    access,
    api,
    assets,
    book,
    cards,
    comparing,
    device_list,
    devices,
    errors,
    filters,
    guard,
    handover,
    health,
    inspect,
    issuer,
    kiosk_cards,
    learning,
    making,
    offline,
    organizer,
    pairing,
    papers,
    reading,
    references,
    scan,
    start,
    stations,
    turns,
    versions,
    writing,
)
from quickcheck.web.context import Settings, look_at_shelf


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
    app.before_request(look_at_shelf)
    access.init_app(app)
    devices.init_app(app)
    offline.init_app(app)
    learning.init_app(app)
    turns.init_app(app)
    kiosk_cards.init_app(app)
    rooms = (
        start,
        inspect,
        making,
        cards,
        scan,
        issuer,
        reading,
        writing,
        learning,
        comparing,
        references,
        book,
        papers,
        offline,
        api,
        health,
        versions,
        pairing,
        organizer,
        device_list,
        stations,
        handover,
    )
    for room in rooms:
        app.register_blueprint(room.pages)
    return app
