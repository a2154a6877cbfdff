"""The use cases: gather references, open an inspection, answer, undo, judge, make and read a card.

Every function takes what it works on (store, shelf, time) as an argument; the shells only read
their input, call one of these and show what comes back.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid4, uuid5

from quickcheck.card import Card, card_of, data_of, decode, encode, head
from quickcheck.engine import (
    Model,
    NextLook,
    Sentence,
    Sheet,
    Verdict,
    check_answer,
    compile_model,
    explain,
    judge,
    next_looks,
    read_sheet,
)
from quickcheck.errors import (
    AnswerError,
    Fault,
    NotFoundError,
    PhotoError,
    ReadingError,
    ReferenceFaultsError,
    shown,
)
from quickcheck.reference import Point, Reference, read_reference
from quickcheck.store import (
    Differing,
    Entry,
    Outcome,
    Received,
    Saved,
    Sent,
    Store,
    canonical,
    recode,
)

Document = Mapping[str, Any]
_SEED = UUID("6d1f6a52-3c1e-5b0a-9b8e-0d6f0c2a7e11")  # the name space of ready-made inspections


@dataclass(frozen=True)
class Shelf:
    """The references to choose from, and the files that could not be read."""

    current: Mapping[str, Reference]
    faulty: Mapping[str, ReferenceFaultsError]

    def get(self, reference_id: str) -> Reference:
        """Return the current edition of that reference."""
        try:
            return self.current[reference_id]
        except KeyError:
            raise NotFoundError.of(
                "reference",
                expected="one of " + (", ".join(sorted(self.current)) or "none, for none is here"),
                came=shown(reference_id),
                remedy="Choose one of these, or put its file into the references folder.",
            ) from None


@dataclass(frozen=True)
class Judged:
    """One inspection with its verdict; what to look at next and the sentences come on demand."""

    reference: Reference
    model: Model
    sheet: Sheet
    verdict: Verdict

    @cached_property
    def looks(self) -> tuple[NextLook, ...]:
        """What would tell most next, best first."""
        return next_looks(self.model, self.sheet, self.verdict)

    @cached_property
    def sentences(self) -> tuple[Sentence, ...]:
        """The verdict in plain sentences."""
        return explain(self.model, self.sheet, self.verdict, self.looks)

    def as_json(self) -> dict[str, object]:
        """Return the whole result as plain data, numbers unrounded."""
        return self.verdict.as_json() | {"next": [look.as_json() for look in self.looks]}

    def said(self, about: str) -> tuple[Sentence, ...]:
        """Return the sentences about one matter."""
        return tuple(sentence for sentence in self.sentences if sentence.about == about)


def reference_paths(folder: Path) -> tuple[Path, ...]:
    """Return the references of a folder: its ``.toml`` files and its folders, by name."""
    if not folder.is_dir():
        return ()
    return tuple(
        path
        for path in sorted(folder.iterdir())
        if (path.suffix == ".toml" or path.is_dir()) and not path.name.startswith(".")
    )


def gather(paths: Iterable[Path]) -> Shelf:
    """Read references; a faulty file is kept aside with its faults, the others are not held up."""
    current: dict[str, Reference] = {}
    faulty: dict[str, ReferenceFaultsError] = {}
    for path in paths:
        try:
            reference = read_reference(path)
        except ReferenceFaultsError as error:
            faulty[path.name] = error
            continue
        if reference.id in current:
            faulty[path.name] = ReferenceFaultsError.of(
                f"{path.name}: id",
                expected="an id that no other reference here has",
                came=shown(reference.id),
                remedy="Give one of the two files another id, or take it out of the folder.",
            )
            continue
        current[reference.id] = reference
    return Shelf(current, faulty)


def judge_sheet(
    reference: Reference, document: Document, *, window: tuple[int, int] | None = None
) -> Judged:
    """Judge an answers document against a reference; ``window`` stands in place of its claim."""
    sheet = read_sheet(reference, document, window=window)
    model = compile_model(reference)
    return Judged(reference, model, sheet, judge(model, sheet))


def open_inspection(
    store: Store, reference: Reference, document: Document, *, now: datetime
) -> Saved:
    """Begin an inspection; the claim is checked, the edition is kept for good."""
    read_sheet(reference, document)
    store.library.keep(reference)
    return store.book.open(uuid4(), reference, document, now=now)


def judge_saved(store: Store, saved: Saved) -> Judged:
    """Judge an inspection against the edition it began with."""
    return judge_sheet(store.library.get(saved.reference_hash), saved.document)


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


def undo(store: Store, inspection: UUID, now: datetime) -> tuple[Saved, str | None]:
    """Take the last change back; return also the point it was about, if it was an answer."""
    before = store.book.get(inspection).document.get("answers", {})
    saved = store.book.undo(inspection, now=now)
    after = saved.document.get("answers", {})
    changed = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    return saved, changed[0] if changed else None


_COMPARED: Final = (
    *("rules", "verdict", "claimed", "reads_as", "equally"),
    *("flagged", "odd", "declared", "apart"),
)
"""What a phone tells of its own judgement that must be the same to the letter."""


@dataclass(frozen=True)
class Receipt:
    """What became of a document that a device sent; with ``cause`` it was parked for that."""

    received: Received
    judged: Judged | None = None
    cause: str = ""  # "edition" or "faults"
    faults: tuple[Fault, ...] = ()


def receive(
    store: Store, inspection: UUID, sent: Sent, *, edition_hash: str, now: datetime
) -> Receipt:
    """Take a document that a device sent; judge it again; keep it even if it can't be taken."""
    try:
        reference = store.library.get(edition_hash)
        judged = judge_sheet(reference, sent.document)
    except (NotFoundError, AnswerError, ReadingError) as error:
        cause = "edition" if isinstance(error, NotFoundError) else "faults"
        received = store.book.park(
            inspection, sent, edition_hash=edition_hash, reason=str(error), now=now
        )
        return Receipt(received, cause=cause, faults=error.faults)
    received = store.book.receive(
        inspection, reference, sent, now=now, differing=_differing(sent.document, judged)
    )
    if received.outcome is Outcome.PARKED:
        return Receipt(received, cause="edition", faults=_another_edition(received, edition_hash))
    return Receipt(received, judged)


def _differing(document: Document, judged: Judged) -> Differing | None:
    told = document.get("judged")
    if not isinstance(told, Mapping):
        return None
    ours = judged.verdict.as_json()
    other = [name for name in _COMPARED if name in told and told[name] != ours[name]]
    if not other:
        return None
    phone, server = ({name: side[name] for name in other} for side in (told, ours))
    return Differing(canonical(phone), canonical(server), judged.verdict.rules)


def _another_edition(received: Received, edition_hash: str) -> tuple[Fault, ...]:
    kept = received.current.reference_hash if received.current else ""
    return (
        Fault(
            "reference",
            f"the edition that the inspection began with, {kept}",
            shown(edition_hash),
            "Judge it by that edition, or begin a new inspection by the other.",
        ),
    )


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


def keep_photo(
    store: Store, inspection: UUID, name: str, *, content: bytes, now: datetime
) -> tuple[str, ...]:
    """Keep a photo under the hash of what was sent; return those that are still missing."""
    came = sha256(content).hexdigest()
    if came != name:
        raise PhotoError.of(
            "photo",
            expected=f"bytes with the SHA-256 {shown(name)}",
            came=came,
            remedy="It was cut or changed on the way. Send it again.",
        )
    store.book.get(inspection)  # before anything is decoded for nothing
    photo = None if store.photos.has(name) else recode(content)
    return store.photos.keep(inspection, name, photo, now=now)


def seed_book(store: Store, shelf: Shelf, documents: Mapping[str, Document]) -> None:
    """Put ready-made documents into a book, each once; a later start adds nothing."""
    for name, document in documents.items():
        inspection = uuid5(_SEED, name)
        reference = shelf.get(document["reference"])
        read_sheet(reference, document)
        store.library.keep(reference)
        try:
            store.book.get(inspection)
        except NotFoundError:
            at = datetime.fromisoformat(document["at"])
            store.book.open(inspection, reference, document, now=at)


def make_card(judged: Judged, *, interest: str, now: datetime) -> bytes:
    """Pack an inspection into the bytes that the code carries (unsealed)."""
    return encode(card_of(judged.sheet, judged.verdict, issued=now, interest=interest))


@dataclass(frozen=True)
class ReadCard:
    """A card rebuilt from its code alone, judged again."""

    card: Card
    judged: Judged


def read_card(store: Store, digits: str) -> ReadCard:
    """Rebuild a card from its digits; NotFoundError when its edition is not here."""
    data = data_of(digits)
    reference = store.library.find(head(data).reference)
    card = decode(data, reference)
    return ReadCard(card, judge_sheet(reference, card.document()))
