"""The shelf follows its folder, whoever writes there: this server, another, an editor."""

from pathlib import Path

import pytest

from quickcheck.desk import Folders, shelf_from
from quickcheck.store import Store, open_store
from quickcheck.web import Settings, create_app
from tests import kit
from tests.kit import Server
from tests.postgres import Cluster, programs
from tests.web.kit import HERE

TANSY = kit.REFERENCE.replace("loom-one", "tansy-one").replace("Loom One", "Tansy One")
LATER = kit.REFERENCE.replace('edition = "2026-04"', 'edition = "2027-01"')


@pytest.fixture(name="store")
def _store(tmp_path: Path):  # type: ignore[no-untyped-def]
    with open_store(tmp_path / "book.sqlite3") as store:
        yield store


def test_what_one_server_writes_the_other_has(tmp_path: Path, store: Store) -> None:
    """An edition that was kept through one of two servers is on the shelf of the other at once."""
    kit.write_reference(tmp_path)
    folders = Folders(tmp_path / "references")
    one, other = (create_app(Settings(store, shelf_from(folders))).test_client() for _ in range(2))
    assert other.get("/references/tansy-one").status_code == 404
    kept = one.post("/references/write/keep", data={"text": TANSY}, headers=HERE)
    assert kept.status_code == 303
    assert "Tansy One" in other.get("/references/tansy-one").text


def test_a_file_changed_by_hand_is_read_again(tmp_path: Path, store: Store) -> None:
    """A later edition put in the place of a file is on the shelf and in the library; one gone is gone."""
    file = kit.write_reference(tmp_path)
    shelf = shelf_from(Folders(tmp_path / "references"))
    client = create_app(Settings(store, shelf)).test_client()
    assert "2026-04" in client.get("/references/loom-one").text
    assert shelf.is_current
    kit.write_reference(tmp_path, LATER)
    assert not shelf.is_current
    assert "2027-01" in client.get("/references/loom-one").text
    assert [each.edition for each in store.library.editions("loom-one")] == ["2027-01"]
    file.unlink()
    assert client.get("/references/loom-one").status_code == 404


def test_pictures_count_as_well(tmp_path: Path) -> None:
    """A picture that is changed in the folder of a reference changes what is read."""
    folder = tmp_path / "references" / "loom-one"
    folder.mkdir(parents=True)
    (folder / "a.svg").write_text("<svg/>")
    folders = Folders(tmp_path / "references")
    before = folders.state()
    (folder / "a.svg").write_text("<svg></svg>")
    assert folders.state() != before
    assert Folders().state() == frozenset()


@pytest.mark.postgresql
@pytest.mark.skipif(programs() is None, reason="PostgreSQL is not installed")
def test_two_servers_on_one_book(
    tmp_path: Path, postgresql: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two programs on one PostgreSQL: what is opened, who came and what was written is told by both."""
    monkeypatch.setenv("QUICKCHECK_DATABASE_URL", postgresql.new())
    kit.write_reference(tmp_path)
    claim = {"reference": "loom-one", "year": "1953", "part": "early", "access": "open"}
    with Server(tmp_path, command="serve") as one, Server(tmp_path, command="serve") as other:
        opened = one.post("/", claim)
        assert opened.status == 200
        path = opened.url.removeprefix(one.url)
        assert other.get(path).status == 200
        assert path.split("/")[2] in other.get("/book").text
        one.post("/references/write/keep", {"text": TANSY})
        assert "Tansy One" in other.get("/references/tansy-one").text
        health = other.get("/health?json").text
        assert '"Device 1"' in health
        assert health.count('"Device 1"') == health.count('"Device 2"') == 1
        assert "PostgreSQL's fsync is off" in other.get("/health").text.replace("&#39;", "'")
        assert not (tmp_path / "book.sqlite3").exists()
