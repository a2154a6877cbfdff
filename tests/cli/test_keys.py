"""`quickcheck keys`: make, rotate, list, retire."""

import re
import stat
from pathlib import Path
from typing import Any

import pytest

from quickcheck.card import fingerprint
from quickcheck.store import open_store
from tests.cli.kit import printed_json, run

ISSUER = "Fettle & Daughter"


def made() -> dict[str, Any]:
    """Make a key and return what is told of it."""
    found: dict[str, Any] = printed_json(run("keys", "make", ISSUER, "--json"))
    return found


def secrets(data: Path) -> list[str]:
    return sorted(path.stem for path in (data / "keys").iterdir())


def test_make(data: Path) -> None:
    """A key is told with its issuer and all its fingerprint; its secret is a file of 0600."""
    result = run("keys", "make", ISSUER)
    assert result.exit_code == 0
    with open_store(data / "book.sqlite3") as store:
        (key,) = store.keys.list()
    lines = result.stdout.splitlines()
    assert lines[0] == f"{key.id.hex()}  {ISSUER}, made {key.made:%Y-%m-%d}, in use"
    assert lines[1] == f"  {fingerprint(key.public)}"
    assert "tells your key from others" in lines[2]
    path = data / "keys" / f"{key.id.hex()}.pem"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert path.read_text().splitlines()[1] not in result.output


def test_make_as_json(data: Path) -> None:
    """All that is told of the key, as data; its secret half is nowhere in it."""
    told = made()
    assert set(told) == {
        "id", "issuer", "public", "fingerprint", "made", "retired", "revoked", "secret_here",
    }  # fmt: skip
    assert (told["issuer"], told["retired"], told["secret_here"]) == (ISSUER, None, True)
    assert secrets(data) == [told["id"]]


@pytest.mark.parametrize("name", ["", "x" * 61, "two\nlines"])
def test_a_name_that_no_card_can_show(data: Path, name: str) -> None:
    """Exit code 6; nothing was made."""
    result = run("keys", "make", name)
    assert result.exit_code == 6
    assert "key.issuer: expected a name of 1 to 60 characters" in result.stderr
    assert secrets(data) == []


def test_rotate_the_only_key(data: Path) -> None:
    """Without a name the one in use is meant; both are told, the old secret is gone."""
    old = made()
    result = run("keys", "rotate")
    assert result.exit_code == 0
    first, _, second, _ = result.stdout.splitlines()
    assert re.fullmatch(rf"{old['id']}  {ISSUER}, made \S+, retired \S+", first)
    assert re.fullmatch(rf"[0-9a-f]{{8}}  {ISSUER}, made \S+, in use", second)
    assert secrets(data) == [second[:8]]


def test_rotate_by_name_as_json(data: Path) -> None:
    """Of several keys the one that is named."""
    one, two = made(), made()
    told = printed_json(run("keys", "rotate", one["id"], "--json"))
    assert told["retired"]["id"] == one["id"]
    assert told["made"]["issuer"] == ISSUER
    assert secrets(data) == sorted([two["id"], told["made"]["id"]])


@pytest.mark.parametrize("count", [0, 2])
def test_which_key_to_rotate_must_be_clear(count: int) -> None:
    """With none or with several in use it has to be said: exit code 7."""
    ids = [made()["id"] for _ in range(count)]
    result = run("keys", "rotate")
    assert result.exit_code == 7
    assert f"key: expected one key in use; got {count}: " in result.stderr
    for id_ in ids:
        assert id_ in result.stderr


def test_a_retired_key_is_not_rotated() -> None:
    """Exit code 8."""
    old = made()
    run("keys", "rotate")
    result = run("keys", "rotate", old["id"])
    assert result.exit_code == 8
    assert "which was retired" in result.stderr


@pytest.mark.parametrize("words", [("rotate",), ("retire",), ("retire", "--revoke")])
@pytest.mark.parametrize("key", ["01020304", "nonsense"])
def test_no_such_key(words: tuple[str, ...], key: str) -> None:
    """Exit code 7, in words and as JSON."""
    result = run("keys", *words, key)
    assert result.exit_code == 7
    assert key in result.stderr
    told = run("keys", *words, key, "--json")
    assert told.exit_code == 7
    assert printed_json(told)["error"] == "NotFoundError"


def test_list(data: Path) -> None:
    """Each key with its state, the first made first; a secret that is missing is told."""
    first = made()
    run("keys", "rotate")
    gone = made()
    (data / "keys" / f"{gone['id']}.pem").unlink()
    lines = run("keys", "list").stdout.splitlines()
    assert len(lines) == 7
    assert lines[0].startswith(f"{first['id']}  {ISSUER}, made ")
    assert ", retired " in lines[0]
    assert lines[2].endswith(", in use")
    assert lines[4].startswith(gone["id"])
    assert lines[6] == "  its secret half is not here, so it can't seal"


def test_list_as_json() -> None:
    """The same, as data."""
    first = made()
    told = printed_json(run("keys", "list", "--json"))
    assert told == {"keys": [first]}


def test_list_of_nothing() -> None:
    """It says what to do first."""
    assert run("keys", "list").stdout == "No key yet: quickcheck keys make.\n"
    assert printed_json(run("keys", "list", "--json")) == {"keys": []}


@pytest.mark.parametrize(("words", "state"), [((), "retired"), (("--revoke",), "revoked")])
def test_retire(data: Path, words: tuple[str, ...], state: str) -> None:
    """Its secret is destroyed; with --revoke it is believed no more."""
    key = made()
    result = run("keys", "retire", key["id"], *words)
    assert result.exit_code == 0
    assert f", {state} " in result.stdout
    assert secrets(data) == []


def test_retire_as_json() -> None:
    """Both times are told."""
    told = printed_json(run("keys", "retire", made()["id"], "--revoke", "--json"))
    assert told["retired"] == told["revoked"] is not None
    assert told["secret_here"] is False


def test_a_folder_that_cannot_be_written(data: Path) -> None:
    """Exit code 9, with what to do."""
    (data / "keys").write_text("")
    result = run("keys", "make", ISSUER)
    assert result.exit_code == 9
    assert "this user may read and write" in result.stderr
