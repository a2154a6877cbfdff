"""``serve`` and ``demo``."""

import shutil
from pathlib import Path

import click
import waitress

from quickcheck import paths
from quickcheck.cli.shell import data_option, json_option, print_json, read_document, speaking
from quickcheck.desk import Shelf, gather, reference_paths, seed_book
from quickcheck.errors import StoreError, shown
from quickcheck.store import Store, open_store
from quickcheck.web import Settings, create_app

_LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
THREADS = 4


def _port_option(command: click.decorators.FC) -> click.decorators.FC:
    return click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535))(
        command
    )


def _open(folder: Path) -> Store:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError.of(
            str(folder),
            expected="a folder that can be written",
            came=shown(error.strerror),
            remedy="Choose another with --data.",
        ) from None
    return open_store(f"sqlite:///{folder / 'book.sqlite3'}")


def _run(
    store: Store, shelf: Shelf, *, port: int, base_url: str | None = None, as_json: bool
) -> None:
    for name, error in shelf.faulty.items():
        click.echo(f"{name} was not loaded:\n{error}", err=True)
    for reference in shelf.current.values():
        store.library.keep(reference)
    here = base_url or f"http://localhost:{port}"
    app = create_app(Settings(store, shelf, base_url=here, hosts=_LOOPBACK))
    try:
        server = waitress.create_server(app, host="127.0.0.1", port=port, threads=THREADS)
    except OSError as error:
        raise StoreError.of(
            f"port {port}",
            expected="a port that is free",
            came=shown(error.strerror or str(error)),
            remedy="Stop what listens there, or choose another with --port.",
        ) from None
    if as_json:
        print_json({"open": here, "references": list(shelf.current)})
    else:
        click.echo(f"Open {here}")
    try:
        server.run()
    finally:
        server.close()
        store.close()


@click.command()
@data_option
@_port_option
@click.option("--base-url", help="What the code on a card leads to.", show_default="this server")
@json_option
@speaking
def serve(data: Path, port: int, base_url: str | None, *, as_json: bool) -> None:
    """Serve the app on this machine."""
    store = _open(data)
    shelf = gather(reference_paths(data / "references"))
    _run(store, shelf, port=port, base_url=base_url, as_json=as_json)


@click.command()
@data_option
@_port_option
@click.option("--fresh", is_flag=True, help="Throw the demo's book away and begin anew.")
@json_option
@speaking
def demo(data: Path, port: int, *, fresh: bool, as_json: bool) -> None:
    """Serve the app with three invented references and a book full of inspections."""
    folder = data / "demo"
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    store = _open(folder)
    shelf = gather(reference_paths(paths.DEMO / "references"))
    files = sorted((paths.DEMO / "book").glob("*-*.json"))
    seed_book(store, shelf, {path.stem: read_document(str(path)) for path in files})
    _run(store, shelf, port=port, as_json=as_json)
