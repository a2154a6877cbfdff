"""The manifest of an export, and the list of sums that anybody's tools can check."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from quickcheck.transfer.container import Container
from quickcheck.transfer.members import FORMAT, MANIFEST, SUMS
from quickcheck.transfer.plain import data_of, json_of, plain, record, records, unfit

Hashes = Mapping[str, tuple[int, str]]
"""Name of a member → its bytes and their SHA-256."""


@dataclass(frozen=True, slots=True)
class _Entry:
    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Head:
    """What an export says of itself. ``schema`` is the step of the book's tables."""

    format: int
    program: str
    schema: str
    made: datetime
    book: str
    epoch: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """All that an export says: of itself, how much there is, and what each member is."""

    head: Head
    counts: Mapping[str, int]
    members: Hashes

    def content(self) -> bytes:
        """Return the text of the member."""
        entries = [plain(_Entry(name, *each)) for name, each in self.members.items()]
        return json_of({**plain(self.head), "counts": dict(self.counts), "members": entries})


def sums(hashes: Hashes) -> bytes:
    """Return the sums as ``sha256sum --check`` reads them."""
    return "".join(f"{digest}  {name}\n" for name, (_, digest) in hashes.items()).encode()


def read_manifest(container: Container) -> Manifest:
    """Return the manifest; ExportError if it does not say exactly what is there."""
    if MANIFEST not in container.sizes:
        raise unfit(MANIFEST, "a manifest", "none")
    data = data_of(container.read(MANIFEST), MANIFEST)
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        came = data.get("format") if isinstance(data, dict) else data
        raise unfit(MANIFEST, f"format {FORMAT}; a higher one is of a newer program", came)
    manifest = _manifest(data)
    listed = {name: size for name, (size, _) in manifest.members.items()}
    there = {name: size for name, size in container.sizes.items() if name not in {MANIFEST, SUMS}}
    if listed != there:
        other = sorted(name for name, _ in listed.items() ^ there.items())
        raise unfit(MANIFEST, "a list of all members with their sizes", f"another of {other[0]}")
    return manifest


def _manifest(data: dict[str, Any]) -> Manifest:
    counts, entries = data.pop("counts", None), data.pop("members", None)
    head = record(Head, data, MANIFEST)
    if not isinstance(counts, dict) or not all(type(each) is int for each in counts.values()):
        raise unfit(f"{MANIFEST}: counts", "a table of whole numbers", counts)
    listed = records(_Entry, entries, f"{MANIFEST}: members")
    return Manifest(head, counts, {one.name: (one.bytes, one.sha256) for one in listed})


def check_sums(container: Container, manifest: Manifest) -> None:
    """Refuse a list of sums that says anything else than the manifest."""
    content = container.read(MANIFEST)
    own = {MANIFEST: (len(content), sha256(content).hexdigest())}
    if SUMS not in container.sizes or container.read(SUMS) != sums({**manifest.members, **own}):
        raise unfit(SUMS, "the sums of all members", "others")
