"""What the views share: the settings, the inspection of a path, the time."""

from typing import TYPE_CHECKING, cast
from uuid import UUID

from flask import current_app, request

from quickcheck.errors import NotFoundError, shown

if TYPE_CHECKING:
    from quickcheck.web.app import Settings

VEIL = "veil"


def settings() -> "Settings":
    """Return the settings of the application that serves this request."""
    return cast("Settings", current_app.extensions["quickcheck"])


def inspection_id(text: str) -> UUID:
    """Return the inspection's id; anything else is answered like an id that nobody has."""
    try:
        return UUID(text)
    except ValueError:
        raise NotFoundError.of(
            "inspection",
            expected="an inspection of this book",
            came=shown(text),
            remedy="Open it from the book.",
        ) from None


def is_htmx() -> bool:
    """Whether a script asks for the changed parts only."""
    return request.headers.get("HX-Request") == "true"


def is_veiled() -> bool:
    """Whether the verdict is hidden from the owner's eyes."""
    return request.cookies.get(VEIL) == "1"
