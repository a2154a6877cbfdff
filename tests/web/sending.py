"""A phone that sends: the messages of its outbox, as its script writes them."""

import json
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from werkzeug.test import TestResponse

from quickcheck.store import write
from tests import kit
from tests.web.kit import HERE, NOBODY, Site

OUTBOX: Mapping[str, str] = {**HERE, "X-Outbox": "1"}


def message(
    document: Mapping[str, Any], edition: str, *lost: str, base: int = 0, **more: Any
) -> dict[str, Any]:
    """Return what an outbox sends of a document."""
    return {
        "revision": base + 1,
        "base": base,
        "sent": list(lost),
        "sha256": write(document).sha256,
        "reference": edition,
        "document": document,
        **more,
    }


def put(site: Site, body: Any, inspection: UUID | str = NOBODY, **headers: str) -> TestResponse:
    """Send a message, or any bytes, as an outbox."""
    more = {name.replace("_", "-"): value for name, value in headers.items()}
    return site.client.put(
        f"/api/inspections/{inspection}",
        data=body if isinstance(body, bytes | str) else json.dumps(body),
        headers={"Content-Type": "application/json", **OUTBOX, **more},
    )


def send(
    site: Site, *lost: str, base: int = 0, inspection: UUID | str = NOBODY, **more: Any
) -> TestResponse:
    """Send a document with these top-level keys."""
    body = message(kit.document(**more), site.reference.hash, *lost, base=base)
    return put(site, body, inspection)


def put_photo(
    site: Site, name: str, content: bytes, inspection: UUID | str = NOBODY, **headers: str
) -> TestResponse:
    """Send a photo."""
    more = {key.replace("_", "-"): value for key, value in headers.items()}
    return site.client.put(
        f"/api/inspections/{inspection}/photos/{name}",
        data=content,
        headers={"Content-Type": "image/jpeg", **OUTBOX, **more},
    )
