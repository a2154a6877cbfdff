"""``export``, ``import`` and ``health``."""

import sys
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import click

from quickcheck.card import fingerprint
from quickcheck.cli.serving import existing_book, open_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.desk import Exported, check_export, export_book, report_health
from quickcheck.errors import shown
from quickcheck.store import BookTaken, Fate
from quickcheck.transfer import Taken, open_bundle, take

NEEDS_A_PERSON: Final = 30
"""Exit code of ``health``; those below belong to the errors and to ``card verify``."""
_CLASHED: Final = 8

_EXPORT_CODES = """
Exit codes: 0 written, taken into an empty book and found to be the same; 7 no book there; 9 the
book can't be read, or the file not written; 16 the file is no export, or not sound. After anything
but 0 there is no new file.
"""
_IMPORT_CODES = """
Exit codes: 0 all of it is here now; 8 all but what is listed, because it clashes with what is here;
9 the book can't be written (take the same file again); 16 the file is no export, or not sound, and
nothing was changed.
"""
_HEALTH_CODES = f"""
Exit codes: 0 nothing needs you; 7 no book there; 9 the book can't be read; {NEEDS_A_PERSON}
something needs a person, and the last lines say what.
"""
_WORDS: Final[Mapping[Fate, str]] = {
    Fate.NEW: "new",
    Fate.SAME: "here already",
    Fate.GROWN: "here already, and went on there: brought up to date",
    Fate.BESIDE: "here already, and went on in both books: both versions are kept, choose in the app",
}


@click.command(epilog=_EXPORT_CODES)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    default=Path(),
    show_default="this folder",
    help="A new file, or a folder to put one into: quickcheck-book-<date>.zip.",
)
@click.option(
    "--check",
    type=click.Path(path_type=Path),
    help="Write nothing: prove this export once more, say on the stick it was copied to.",
)
@json_option
@data_option
@speaking
def export(*, output: Path, check: Path | None, as_json: bool, data: Path) -> None:
    """Take the whole book along in one zip, and prove that it can be taken in again.

    Inspections with their whole history, photos, references, cards and public keys; never a secret
    key or a device's token. It is read back from the disk, taken into an empty book and compared.
    """
    if check is not None:
        done = check_export(check)
    else:
        with existing_book(data) as store:
            done = export_book(store, output, now=datetime.now(UTC).astimezone())
    if as_json:
        print_json(_exported_json(done))
        return
    said = ", ".join(f"{count} {name}" for name, count in done.manifest.counts.items())
    click.echo(f"{done.path}: {said}.")
    click.echo("Read back, taken into an empty book and compared: the same. Done.")


def _exported_json(done: Exported) -> dict[str, Any]:
    manifest = done.manifest
    told = asdict(manifest.head) | {"made": manifest.head.made.isoformat()}
    return told | {"file": str(done.path), "counts": dict(manifest.counts)}


@click.command("import", epilog=_IMPORT_CODES)
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@data_option
@speaking
def import_book_(file: Path, *, as_json: bool, data: Path) -> None:
    """Take an export into a book: what is new is added, nothing is overwritten.

    FILE is read to its end before anything is changed. The same file again adds nothing, so after a
    power cut simply take it again. Its keys are believed from then on: take only exports of your own.
    """
    with open_bundle(file) as sound, open_book(data) as store:
        taken = take(store, sound)
    if as_json:
        print_json(_taken_json(taken))
    else:
        for line in _said(taken):
            click.echo(line)
    if taken.seals.clashes:
        sys.exit(_CLASHED)


def _taken_json(taken: Taken) -> dict[str, Any]:
    return {
        "inspections": {str(fate): taken.inspections.get(fate, 0) for fate in Fate},
        "two_versions": [str(one) for one in taken.beside],
        "books": [asdict(book) for book in taken.books],
        "show": taken.show,
        "editions": taken.editions,
        "devices": taken.devices,
        "photos": taken.photos,
        "keys": [key.id for key in taken.seals.keys],
        "cards": taken.seals.cards,
        "recalls": taken.seals.recalls,
        "clashes": list(taken.seals.clashes),
    }


def _said(taken: Taken) -> Iterator[str]:
    for fate, words in _WORDS.items():
        if count := taken.inspections.get(fate, 0):
            yield f"{count} inspections: {words}"
    yield from (f"  {one}" for one in taken.beside)
    yield from map(_book_words, taken.books)
    if taken.show:
        yield "The show: its name, its days and the address of its codes"
    seals = taken.seals
    yield (
        f"New besides: {taken.photos} photos, {taken.editions} editions, {taken.devices} devices, "
        f"{seals.cards} cards, {seals.recalls} recalls"
    )
    for key in seals.keys:
        yield f"A key that is believed from now on: {key.id}, {key.issuer}"
        yield f"  {fingerprint(key.public)}"
    yield from (f"Not taken: {clash}" for clash in seals.clashes)
    yield "Done." if taken.changed else "Done: all of it was here already."


def _book_words(book: BookTaken) -> str:
    if book.called == book.name:
        return f"A book that is new here: {shown(book.name)}"
    return f"A book that is new here: {shown(book.name)}, called {shown(book.called)} as that name was taken"


@click.command(epilog=_HEALTH_CODES)
@click.option("--check", is_flag=True, help="Read the whole book and look for damage.")
@json_option
@data_option
@speaking
def health(*, check: bool, as_json: bool, data: Path) -> None:
    """Say how the book and its server are: what the page /health shows."""
    with existing_book(data) as store:
        report = report_health(store, now=datetime.now(UTC), check=check)
    if as_json:
        print_json(report)
    else:
        for line in _health_lines(report):
            click.echo(line)
    if report["needs"]:
        sys.exit(NEEDS_A_PERSON)


def _health_lines(report: Mapping[str, Any]) -> Iterator[str]:
    yield f"quickcheck {report['version']}, Python {report['python']}, {report['time']}"
    for name, value in report["store"].items():
        yield f"{name.replace('_', ' ')}: {value}"
    for device in report["devices"]:
        unsent = "unknown" if device["unsent"] is None else device["unsent"]
        yield f"{shown(device['name'])}: last seen {device['last_seen']}, unsent {unsent}"
    for uuid in report["two_versions"]:
        yield f"Two versions kept: {uuid}"
    for each in report["differences"]:
        yield f"Judged otherwise by a phone: {each['uuid']}, revision {each['revision']}"
    if report["damage"] is not None:
        yield f"Damage: {'; '.join(report['damage']) or 'none'}"
    notes = [each for each in report["warnings"] if each not in report["needs"]]
    yield from (f"Note: {each}" for each in notes)
    yield from (f"Needs you: {each}" for each in report["needs"])
    if not report["needs"]:
        yield "Nothing needs you."
