"""An inspection at the server: open it, answer, take back, change the claim."""

from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from typing import Any, Final
from uuid import UUID, uuid4, uuid5

from quickcheck.desk.judging import Document
from quickcheck.desk.shelf import Shelf
from quickcheck.engine import check_answer, read_sheet
from quickcheck.errors import NotFoundError, PhotoError, StoreError, shown
from quickcheck.reference import Point, Reference
from quickcheck.store import Photo, Saved, Store, recode

LEFT_FOR_ANSWERS: Final = 64_000_000
"""Bytes of a disk that no photo takes: some thousand inspections."""
DISCARDED: Final = "Discarded at a kiosk"
_OF_NOBODY: Final = ("reference", "window", "access", "tools")
"""What of an inspection says nothing of the instrument or its owner."""
_SEED = UUID("6d1f6a52-3c1e-5b0a-9b8e-0d6f0c2a7e11")  # the name space of ready-made inspections


def open_inspection(
    store: Store, reference: Reference, document: Document, *, now: datetime
) -> Saved:
    """Begin an inspection; the claim is checked, the edition is kept for good."""
    read_sheet(reference, document)
    store.library.keep(reference)
    return store.book.open(uuid4(), reference, document, now=now)


def record(
    store: Store, inspection: UUID, point: Point, *, answer: Document | None, now: datetime
) -> Saved:
    """Put one answer on an inspection (None takes it back); nothing is written if nothing changed."""
    if answer is not None:
        check_answer(point, answer)

    def change(document: dict[str, Any]) -> None:
        answers = document.setdefault("answers", {})
        answers.pop(point.id, None)
        if answer is not None:
            answers[point.id] = dict(answer)

    return store.book.amend(inspection, change, now=now)


def amend_claim(store: Store, saved: Saved, claim: Document, *, now: datetime) -> Saved:
    """Change what was claimed, allowed or admitted; the answers stay."""
    reference = store.library.get(saved.reference_hash)

    def change(document: dict[str, Any]) -> None:
        document.update(claim)
        read_sheet(reference, document)

    return store.book.amend(saved.id, change, now=now)


def discard(store: Store, inspection: UUID, *, now: datetime) -> Saved:
    """Take everything off an inspection but its reference and window.

    As nothing in a book is overwritten, whoever may see the whole book can undo it.
    """

    def change(document: dict[str, Any]) -> None:
        left = {key: document[key] for key in _OF_NOBODY if key in document}
        document.clear()
        document.update(left | {"name": DISCARDED, "answers": {}})

    return store.book.amend(inspection, change, now=now)


def undo(store: Store, inspection: UUID, now: datetime) -> tuple[Saved, str | None]:
    """Take the last change back; return also the point it was about, if it was an answer."""
    before = store.book.get(inspection).document.get("answers", {})
    saved = store.book.undo(inspection, now=now)
    after = saved.document.get("answers", {})
    changed = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    return saved, changed[0] if changed else None


def keep_photo(
    store: Store, inspection: UUID, name: str, *, content: bytes, now: datetime
) -> tuple[str, ...]:
    """Keep a photo under the hash of what was sent; return those that are still missing.

    StoreError where the disk has room for answers only.
    """
    came = sha256(content).hexdigest()
    if came != name:
        raise PhotoError.of(
            "photo",
            expected=f"bytes with the SHA-256 {shown(name)}",
            came=came,
            remedy="It was cut or changed on the way. Send it again.",
        )
    store.book.get(inspection)  # before anything is decoded for nothing
    photo = None if store.photos.has(name) else _recoded(store, content)
    return store.photos.keep(inspection, name, photo, now=now)


def takes_photos(store: Store) -> bool:
    """Whether there is room for photos beside what answers will need."""
    free = store.room()
    return free is None or free >= LEFT_FOR_ANSWERS


def _recoded(store: Store, content: bytes) -> Photo:
    if takes_photos(store):
        return recode(content)
    raise StoreError.of(
        "photo",
        expected=f"{LEFT_FOR_ANSWERS // 1_000_000} MB free on the disk of the book",
        came=f"{(store.room() or 0) // 1_000_000} MB",
        remedy="Make room there; answers are taken meanwhile, and the photo stays on the device.",
    )


def seed_book(store: Store, shelf: Shelf, documents: Mapping[str, Document]) -> dict[str, UUID]:
    """Put ready-made documents into a book, each once; a later start adds nothing.

    Returns which inspection each of them is.
    """
    inspections = {name: uuid5(_SEED, name) for name in documents}
    for name, inspection in inspections.items():
        document = documents[name]
        reference = shelf.get(document["reference"])
        read_sheet(reference, document)
        store.library.keep(reference)
        try:
            store.book.get(inspection)
        except NotFoundError:
            at = datetime.fromisoformat(document["at"])
            store.book.open(inspection, reference, document, now=at)
    return inspections
