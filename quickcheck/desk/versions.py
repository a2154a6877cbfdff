"""Every document ever received of an inspection, and the choice among them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from quickcheck.desk.judging import Document
from quickcheck.engine import read_sheet
from quickcheck.errors import NotFoundError, shown
from quickcheck.store import Entry, Saved, Store, canonical


@dataclass(frozen=True)
class Version:
    """One of the documents of an inspection, and how it differs from the current one."""

    entry: Entry
    is_current: bool
    sender: str  # the name of the device; "" for a page of the server
    differs: tuple[tuple[str, str, str], ...]  # where, here, in the current one


def versions(store: Store, inspection: UUID) -> tuple[Version, ...]:
    """Return every document ever received, the last one first."""
    entries = store.book.history(inspection)
    names = {device.id: device.name for device in store.devices.list()}
    current = max((entry.number or 0, entry.key) for entry in entries)[1]
    now = {entry.key: entry for entry in entries}[current]
    return tuple(
        Version(
            entry,
            entry is now and now.number is not None,
            names.get(entry.device, "A device") if entry.device else "",
            tuple(_differences(entry.document, now.document)),
        )
        for entry in reversed(entries)
    )


def _differences(here: Document, there: Document) -> Iterator[tuple[str, str, str]]:
    mine, other = dict(_leaves(here)), dict(_leaves(there))
    for where in {**mine, **other}:
        if mine.get(where) != other.get(where):
            yield where, mine.get(where, ""), other.get(where, "")


def _leaves(value: object, where: str = "") -> Iterator[tuple[str, str]]:
    """Yield each answer and each part of the claim as text; what was judged follows from them."""
    if isinstance(value, Mapping):
        for name, each in value.items():
            if where or name not in {"judged", "at", "station"}:
                yield from _leaves(each, f"{where}.{name}" if where else name)
    else:
        yield where, value if isinstance(value, str) else canonical(value)


def bring_back(store: Store, inspection: UUID, key: str, *, revision: int, now: datetime) -> Saved:
    """Put one version on top as a new revision; ``revision`` is the current one as last shown."""
    saved = store.book.get(inspection)
    chosen = next((e for e in store.book.history(inspection) if e.key == key), None)
    if chosen is None:
        raise NotFoundError.of(
            "version",
            expected="a version of this inspection",
            came=shown(key),
            remedy="Choose one of those listed.",
        )
    read_sheet(store.library.get(saved.reference_hash), chosen.document)
    return store.book.bring_back(inspection, chosen.document, revision=revision, now=now)
