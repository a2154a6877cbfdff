"""What a device takes along of an edition: its model, its pictures, and empty pages of it.

The model and the pictures never change. The pages are of a build, as they name its scripts; they
hold nobody's answers, and a script puts in the inspection that is kept on the device.
"""

import json
import mimetypes
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import lru_cache
from hashlib import sha256
from typing import Any, Final
from uuid import UUID

from flask import render_template
from werkzeug.datastructures import MultiDict

from quickcheck import desk, paths
from quickcheck.engine import compile_model
from quickcheck.engine.export import model_json
from quickcheck.readings import month_text
from quickcheck.reference import Reference
from quickcheck.store import Saved
from quickcheck.web.context import settings
from quickcheck.web.forms import ClaimForm
from quickcheck.web.walk import Walk

NO_INSPECTION: Final = UUID(int=0)
"""Stands in the addresses of an empty page until a script puts the inspection's own id there."""

_TEMPLATES: Final[Mapping[str, str]] = {
    "inspection": "inspect/inspection.html",
    "claim": "start/claim.html",
    "verdict": "device/verdict.html",
    "card": "device/card.html",
}
SHELLS: Final = {
    name: file for name, file in _TEMPLATES.items() if (paths.TEMPLATES / file).exists()
}
"""The empty pages of an edition → their templates."""

_LONG_AGO: Final = datetime.fromtimestamp(0, UTC)
_DIGITS: Final = 32
"""Of a part's hash: 128 bits tell any accident, and there are fifty pictures in an edition."""


@dataclass(frozen=True, slots=True)
class Part:
    """One file that a device takes along."""

    address: str
    mimetype: str
    content: bytes

    def as_json(self) -> dict[str, object]:
        """Return what a device checks it by before it keeps it."""
        return {
            "url": self.address,
            "type": self.mimetype,
            "sha256": sha256(self.content).hexdigest()[:_DIGITS],
            "bytes": len(self.content),
        }

    def as_page(self) -> dict[str, object]:
        """Return the part itself: a page that travels in the list, where it shares its words."""
        return {
            "url": self.address,
            "bytes": len(self.content),
            "text": self.content.decode(),
        }


def folder(reference: Reference) -> str:
    """Return the address under which all of an edition is."""
    return f"/references/{reference.hash[:16]}"


@dataclass(frozen=True, slots=True)
class _ByHash:
    """A reference as a key: equal to any other of the same content."""

    hash: str
    reference: Reference = field(compare=False)


@lru_cache(maxsize=64)
def _model(key: _ByHash) -> bytes:
    told = model_json(compile_model(key.reference))
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()


def model(reference: Reference) -> bytes:
    """Return the compiled model of an edition as JSON."""
    return _model(_ByHash(reference.hash, reference))


def lasting(reference: Reference) -> tuple[Part, ...]:
    """Return what is the same in every build: the model and the pictures."""
    here = folder(reference)
    pictures = (
        Part(
            f"{here}/pictures/{name}",
            mimetypes.guess_type(name)[0] or "application/octet-stream",
            content,
        )
        for name, content in reference.pictures.items()
    )
    return (Part(f"{here}/model.json", "application/json", model(reference)), *pictures)


def shell(reference: Reference, name: str) -> Part:
    """Return an empty page of an edition, as this build makes it."""
    blank = _blank(reference)
    if name == "claim":
        blank |= {"saved": None, "blank_id": NO_INSPECTION}  # begins one, or changes one's claim
    page = render_template(SHELLS[name], **blank)
    return Part(f"{folder(reference)}/{name}", "text/html", page.encode())


def pack(reference: Reference, build: str) -> dict[str, object]:
    """Return the list of all that a device takes along of an edition."""
    kept = [part.as_json() for part in lasting(reference)]
    return {
        "build": build,
        "hash": reference.hash,
        "id": reference.id,
        "title": reference.title,
        "general": reference.id in settings().shelf.general,
        "about": reference.about,
        "edition": reference.edition,
        "covers": list(reference.covers),
        "points": len(reference.points),
        "files": kept,
        "shells": [shell(reference, name).as_page() for name in SHELLS],
    }


def size(reference: Reference) -> int:
    """Return how many bytes of an edition stay on a device, its empty pages left out."""
    return sum(len(part.content) for part in lasting(reference))


def _blank(reference: Reference) -> dict[str, Any]:
    """Return what the pages show of an inspection of which nothing is known yet."""
    document: dict[str, Any] = {
        "reference": reference.id,
        "window": [month_text(month) for month in reference.covers],
        "answers": {},
    }
    saved = Saved(
        id=NO_INSPECTION,
        revision=0,
        back=None,
        reference_hash=reference.hash,
        reference_id=reference.id,
        title=reference.title,
        opened=_LONG_AGO,
        saved=_LONG_AGO,
        sha256="",
        text=json.dumps(document),
    )
    return {
        "shell": True,
        "saved": saved,
        "reference": reference,
        "judged": desk.judge_sheet(reference, document),
        "walk": Walk.over(reference, document),
        "filled": {point.id: MultiDict() for point in reference.points},
        "attempt": {"point": "", "faults": ()},
        "at": None,
        "place": None,
        "form": ClaimForm(reference),
        "faults": (),
        # a page that is kept must not say what one person's cookie said on one day
        "is_veiled": lambda: False,
    }
