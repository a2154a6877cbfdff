"""Each test gets a site with an empty book."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from quickcheck import desk
from quickcheck.reference import Reference
from quickcheck.store import open_store
from tests.postgres import ON_POSTGRESQL, borrowed_book
from tests.web.kit import Site, read, write_loom_one


@pytest.fixture(name="reference", scope="session")
def _reference() -> Reference:
    return read()


@pytest.fixture(name="empty_book", scope="session")
def _empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a book with all its tables and nothing in it, made once and copied for each test."""
    path = tmp_path_factory.mktemp("empty") / "book.sqlite3"
    open_store(path).close()
    return path


@pytest.fixture(name="site")
def _site(tmp_path: Path, empty_book: Path, reference: Reference) -> Iterator[Site]:
    if ON_POSTGRESQL:
        with borrowed_book() as address, open_store(address, patience=60) as store:
            yield Site.on(store, reference)
        return
    path = shutil.copy(empty_book, tmp_path / "book.sqlite3")
    with open_store(Path(path)) as store:
        yield Site.on(store, reference)


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    folder = tmp_path / "own"
    write_loom_one(folder)
    return folder


@pytest.fixture(name="writer")
def _writer(site: Site, folder: Path) -> Site:
    shelf = desk.shelf_from(desk.Folders(folder))
    return Site.on(site.store, site.reference, shelf)
