"""``serve`` and ``demo``."""

import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, Protocol
from uuid import UUID

import click

from quickcheck import paths
from quickcheck.cli.shell import (
    data_option,
    general_paths,
    json_option,
    print_json,
    read_document,
    speaking,
)
from quickcheck.desk import (
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
from quickcheck.errors import StoreError, shown
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
        base_url: str,
        port: int,
        started: Callable[[], None],
    ) -> None:
        """Serve until interrupted; call ``started`` once the port is ours."""
        ...


def _port_option(command: click.decorators.FC) -> click.decorators.FC:
    return click.option(
        "--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port."
    )(command)


def has_book(folder: Path) -> bool:
    """Whether there is a book already, in the data folder or where the environment says."""
    return bool(os.environ.get(ADDRESS)) or (folder / BOOK).exists()


def open_book(folder: Path) -> Store:
    """Return the book of a data folder, or where the environment says; made if it is not there."""
    address = os.environ.get(ADDRESS)
    return open_store(address) if address else open_file(folder)


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
class _Shop:
    """What is served: a book, its references, the secret halves of its keys."""

    store: Store
    shelf: Shelf
    keys: KeyFiles


def _run(server: Server, shop: _Shop, *, base_url: str, port: int, as_json: bool) -> None:
    store, shelf = shop.store, shop.shelf
    for name, error in shelf.faulty.items():
        click.echo(f"{name} was not loaded:\n{error}", err=True)
    for reference in shelf.current.values():
        store.library.keep(reference)

    def started() -> None:
        if as_json:
            print_json({"open": base_url, "references": list(shelf.current)})
        else:
            click.echo(f"Open {base_url}")

    with store:
        server(store, shelf, keys=shop.keys, base_url=base_url, port=port, started=started)


@click.command()
@data_option
@_port_option
@click.option("--base-url", help="What the code on a card leads to.", show_default="this server")
@json_option
@click.pass_obj
@speaking
def serve(server: Server, data: Path, *, port: int, base_url: str | None, as_json: bool) -> None:
    """Serve the app on this machine."""
    store = open_book(data)
    shelf = shelf_from(Folders(data / "references", general=general_paths()))
    here = base_url or f"http://localhost:{port}"
    shop = _Shop(store, shelf, KeyFiles(data / KEYS))
    _run(server, shop, base_url=here, port=port, as_json=as_json)


@click.command()
@data_option
@_port_option
@click.option("--fresh", is_flag=True, help="Throw the demo's book away and begin anew.")
@json_option
@click.pass_obj
@speaking
def demo(server: Server, data: Path, *, port: int, fresh: bool, as_json: bool) -> None:
    """Serve the app with three invented references and a book full of inspections."""
    folder = data / "demo"
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    store = open_file(folder)  # never the book of others
    ours = reference_paths(paths.DEMO / "references")
    shelf = shelf_from(Folders(folder / "references", beside=ours, general=general_paths()))
    files = sorted((paths.DEMO / "book").glob("*-*.json"))
    inspections = seed_book(store, shelf, {path.stem: read_document(str(path)) for path in files})
    shop = _Shop(store, shelf, KeyFiles(folder / KEYS))
    _make_demo_key(shop)
    _seal_demo_cards(shop, inspections)
    _run(server, shop, base_url=f"http://localhost:{port}", port=port, as_json=as_json)


def _make_demo_key(shop: _Shop) -> None:
    """Give the demo an issuer, so that its cards are sealed; a later start keeps the key."""
    if signer_here(shop.store, shop.keys) is None:
        make_key(shop.store.keys, shop.keys, issuer=_DEMO_ISSUER, now=_DEMO_OPENS)


def _seal_demo_cards(shop: _Shop, inspections: Mapping[str, UUID]) -> None:
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
