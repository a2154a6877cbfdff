"""``serve`` and ``demo``."""

import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, Protocol
from uuid import UUID

import click

from quickcheck import paths
from quickcheck.cli.doors import Asked, door_options, doors_of, words_on
from quickcheck.cli.shell import (
    data_option,
    general_paths,
    json_option,
    print_json,
    read_document,
    speaking,
)
from quickcheck.desk import (
    LOCAL_PORT,
    Doors,
    Folders,
    Shelf,
    issue_card,
    judge_saved,
    make_card,
    reference_paths,
    seed_book,
    shelf_from,
    signer_here,
    signer_needed,
    withdraw_card,
)
from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.store import KeyFiles, Store, make_key, open_store

BOOK: Final = "book.sqlite3"
"""The file of the book, in its data folder."""
ADDRESS: Final = "QUICKCHECK_DATABASE_URL"
"""The setting that names another place for the book."""
KEYS: Final = "keys"
"""The folder of secret keys, in the same place."""
_DEMO_ISSUER: Final = "Fettle & Daughter (invented)"
_DEMO_OPENS: Final = datetime(2026, 4, 11, 8, tzinfo=UTC)
_DEMO_CARDS: Final = {
    "2-the-vicar": "selling-for-owner",
    "5a-sunday-best-issue-1": "none",
    "5b-sunday-best": "none",
    "6-aunt-ottoline": "none",
}
"""The sittings of the demo that ended in a card, and the issuer's interest in each."""
_DEMO_WITHDRAWN: Final = "5a-sunday-best-issue-1"


class Server(Protocol):
    """What serves the app; handed in by whoever starts the program, as no command knows the web."""

    def __call__(
        self,
        store: Store,
        shelf: Shelf,
        *,
        keys: KeyFiles,
        doors: Doors,
        started: Callable[[], None],
    ) -> None:
        """Serve until interrupted; call ``started`` once the ports are ours."""
        ...


def _nothing() -> None:
    """Do nothing more."""


def has_book(folder: Path) -> bool:
    """Whether there is a book already, in the data folder or where the environment says."""
    return bool(os.environ.get(ADDRESS)) or (folder / BOOK).exists()


def open_book(folder: Path) -> Store:
    """Return the book of a data folder, or where the environment says; made if it is not there."""
    address = os.environ.get(ADDRESS)
    return open_store(address) if address else open_file(folder)


def existing_book(folder: Path) -> Store:
    """Return the book that is there; NotFoundError where there is none, and none is made."""
    if not has_book(folder):
        raise NotFoundError.of(
            str(folder),
            expected=f"a data folder with a book, {BOOK}",
            came="none",
            remedy=f"Name the folder with --data, or the database in {ADDRESS}.",
        )
    return open_book(folder)


def open_file(folder: Path) -> Store:
    """Return the book in the file of a data folder, made if it is not there yet."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError.of(
            str(folder),
            expected="a folder that can be written",
            came=shown(error.strerror),
            remedy="Choose another with --data.",
        ) from None
    return open_store(folder / BOOK)


@dataclass(frozen=True)
class Shop:
    """What is served: a book, its references, the secret halves of its keys."""

    store: Store
    shelf: Shelf
    keys: KeyFiles


@contextmanager
def shop_of(data: Path) -> Iterator[Shop]:
    """Open what a data folder holds, to be served."""
    with open_book(data) as store:
        shelf = shelf_from(Folders(data / "references", general=general_paths()))
        yield Shop(store, shelf, KeyFiles(data / KEYS))


def run_server(
    server: Server, shop: Shop, *, doors: Doors, as_json: bool, then: Callable[[], None] = _nothing
) -> None:
    """Serve until interrupted; once the ports are ours, say where, and do what comes ``then``."""
    store, shelf = shop.store, shop.shelf
    for name, error in shelf.faulty.items():
        click.echo(f"{name} was not loaded:\n{error}", err=True)
    for reference in shelf.current.values():
        store.library.keep(reference)

    def started() -> None:
        if as_json:
            phones = list(doors.lan.urls) if doors.lan else []
            told = {"open": doors.here, "references": list(shelf.current)}
            print_json(told | ({"phones": phones, "codes": doors.home} if doors.is_open else {}))
        else:
            click.echo("\n".join(words_on(doors)))
        then()

    server(store, shelf, keys=shop.keys, doors=doors, started=started)


@click.command()
@data_option
@door_options
@json_option
@click.pass_obj
@speaking
def serve(server: Server, data: Path, *, asked: Asked, as_json: bool) -> None:
    """Serve the app: on this machine, on a local network, or behind a proxy."""
    with shop_of(data) as shop:
        run_server(server, shop, doors=doors_of(asked, shop.store, data), as_json=as_json)


@click.command()
@data_option
@click.option(
    "--port",
    default=LOCAL_PORT,
    show_default=True,
    type=click.IntRange(1, 65535),
    help="Port here.",
)
@click.option("--fresh", is_flag=True, help="Throw the demo's book away and begin anew.")
@json_option
@click.pass_obj
@speaking
def demo(server: Server, data: Path, *, port: int, fresh: bool, as_json: bool) -> None:
    """Serve the app with three invented references and a book full of inspections."""
    folder = data / "demo"
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    with open_file(folder) as store:  # never the book of others
        shop = _demo_shop(folder, store)
        run_server(server, shop, doors=Doors(port), as_json=as_json)


def _demo_shop(folder: Path, store: Store) -> Shop:
    """Return the demo's shop; at the first start its book is filled, and cards are sealed."""
    ours = reference_paths(paths.DEMO / "references")
    shelf = shelf_from(Folders(folder / "references", beside=ours, general=general_paths()))
    files = sorted((paths.DEMO / "book").glob("*-*.json"))
    inspections = seed_book(store, shelf, {path.stem: read_document(str(path)) for path in files})
    shop = Shop(store, shelf, KeyFiles(folder / KEYS))
    _make_demo_key(shop)
    _seal_demo_cards(shop, inspections)
    return shop


def _make_demo_key(shop: Shop) -> None:
    """Give the demo an issuer, so that its cards are sealed; a later start keeps the key."""
    if signer_here(shop.store, shop.keys) is None:
        make_key(shop.store.keys, shop.keys, issuer=_DEMO_ISSUER, now=_DEMO_OPENS)


def _seal_demo_cards(shop: Shop, inspections: Mapping[str, UUID]) -> None:
    """Issue the weekend's cards, and take back the one with the mistyped number; each once."""
    store, signer = shop.store, signer_needed(shop.store, shop.keys)
    for name, interest in _DEMO_CARDS.items():
        saved = store.book.get(inspections[name])
        if store.cards.of_inspection(saved.id):
            continue
        card = make_card(judge_saved(store, saved), interest=interest, now=saved.opened)
        issue_card(store, signer, card, inspection=saved.id)
        if name == _DEMO_WITHDRAWN:
            (issued,) = store.cards.of_inspection(saved.id)
            later = saved.opened + timedelta(minutes=50)
            withdraw_card(store, issued.id, inspection=saved.id, now=later)
