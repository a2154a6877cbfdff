"""The server: waitress, on this machine only."""

from collections.abc import Callable
from urllib.parse import urlsplit

import waitress

from quickcheck.desk import Shelf
from quickcheck.errors import StoreError, shown
from quickcheck.store import LARGEST_PHOTO, KeyFiles, Store
from quickcheck.web.app import create_app
from quickcheck.web.context import LOOPBACK, Settings

THREADS = 2
"""Few: an answer takes milliseconds of one interpreter and there is one writer, so that more threads
only make each wait for the others; two, so that one photo does not hold up the answers."""


def serve_app(
    store: Store,
    shelf: Shelf,
    *,
    keys: KeyFiles,
    base_url: str,
    port: int,
    started: Callable[[], None],
) -> None:
    """Serve until interrupted; ``started`` is called once the port is ours.

    ``base_url`` is what the code on a card leads to. StoreError when the port is taken.
    """
    named = urlsplit(base_url).hostname
    hosts = LOOPBACK if named is None or named in LOOPBACK else (*LOOPBACK, named)
    beside = keys.folder.parent / "exports"
    found = Settings(store, shelf, base_url=base_url, hosts=hosts, keys=keys, exports=beside)
    app = create_app(found)
    try:
        server = waitress.create_server(
            app,
            host="127.0.0.1",
            port=port,
            threads=THREADS,
            max_request_body_size=2 * LARGEST_PHOTO,
        )
    except OSError as error:
        raise StoreError.of(
            f"port {port}",
            expected="a port that is free",
            came=shown(error.strerror or str(error)),
            remedy="Stop what listens there, or choose another with --port.",
        ) from None
    started()
    try:
        server.run()
    finally:
        server.close()
