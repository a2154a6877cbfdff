"""Exports that were tampered with by somebody who knows how they are made."""

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

Members = dict[str, bytes]


def members_of(path: Path) -> Members:
    with zipfile.ZipFile(path) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def sealed(zipped: bytes) -> bytes:
    """Return the bytes of a zip, made without a comment, with the seal of their own hash."""
    body = zipped[:-2] + (71).to_bytes(2, "little") + b"sha256 "
    return body + hashlib.sha256(body).hexdigest().encode()


def packed(
    entries: list[tuple[zipfile.ZipInfo | str, bytes]], method: int = zipfile.ZIP_STORED
) -> bytes:
    """Return a zip of these members, sealed."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as zipped:
        for name, content in entries:
            zipped.writestr(name, content)
    return sealed(out.getvalue())


def consistent(members: Mapping[str, bytes]) -> Members:
    """Return members whose manifest and sums are right for what they are now."""
    rest = {n: c for n, c in members.items() if n not in {"manifest.json", "SHA256SUMS"}}
    manifest = json.loads(members["manifest.json"])
    manifest["members"] = [
        {"name": n, "bytes": len(c), "sha256": hashlib.sha256(c).hexdigest()}
        for n, c in rest.items()
    ]
    rest["manifest.json"] = json.dumps(manifest).encode()
    sums = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in rest.items())
    return {**rest, "SHA256SUMS": sums.encode()}


def forged(members: Mapping[str, bytes]) -> bytes:
    """Return a zip of members, everything in it consistent."""
    return packed(list(consistent(members).items()))


def edited(members: Mapping[str, bytes], name: str, change: Callable[[Any], object]) -> bytes:
    """Return a consistent zip in one member of which the data were changed."""
    data = json.loads(members[name])
    change(data)
    return forged({**members, name: json.dumps(data).encode()})
