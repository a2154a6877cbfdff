"""``keys make``, ``keys rotate``, ``keys list`` and ``keys retire``."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import click

from quickcheck.card import IssuerKey, fingerprint
from quickcheck.card.key_list import key_json
from quickcheck.cli.serving import KEYS, open_book
from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.errors import NotFoundError, shown
from quickcheck.store import KeyFiles, Keys, make_key, retire_key, rotate_key

_EPILOG = """
Exit codes: 0 done; 6 a name that no card can show; 7 no such key; 8 the key was retired already;
9 the book or the keys folder can't be read or written.
"""


@click.group(epilog=_EPILOG)
def keys() -> None:
    """Make, rotate, list and retire the keys that seal cards.

    The secret halves are files in keys/ of the data folder, which only their owner may read. Keep a
    copy of them apart from the book's own copies.
    """


@dataclass(frozen=True)
class _Room:
    """The two halves of the keys."""

    known: Keys
    files: KeyFiles

    def as_json(self, key: IssuerKey) -> dict[str, object]:
        return key_json(key) | {"secret_here": self.files.has(key.id)}


@contextmanager
def _opened(data: Path) -> Iterator[_Room]:
    with open_book(data) as store:
        yield _Room(store.keys, KeyFiles(data / KEYS))


def _key_id(text: str) -> bytes:
    try:
        return bytes.fromhex(text)
    except ValueError:
        raise NotFoundError.of(
            "key",
            expected="the id of a key: 8 hex digits",
            came=shown(text),
            remedy="quickcheck keys list shows them.",
        ) from None


def _say(key: IssuerKey) -> None:
    state = "in use"
    if key.retired:
        state = f"retired {key.retired:%Y-%m-%d}"
    if key.revoked:
        state = f"revoked {key.revoked:%Y-%m-%d}"
    click.echo(f"{key.id.hex()}  {key.issuer}, made {key.made:%Y-%m-%d}, {state}")
    click.echo(f"  {fingerprint(key.public)}")


@keys.command()
@click.argument("issuer")
@json_option
@data_option
@speaking
def make(issuer: str, *, as_json: bool, data: Path) -> None:
    """Make a key for an ISSUER: the name that stands on every card it seals."""
    with _opened(data) as room:
        made = make_key(room.known, room.files, issuer=issuer, now=datetime.now(UTC))
        if as_json:
            print_json(room.as_json(made))
            return
    _say(made)
    click.echo("Show the line of digits where buyers can see it: it tells your key from others.")


@keys.command()
@click.argument("key", required=False)
@json_option
@data_option
@speaking
def rotate(key: str | None, *, as_json: bool, data: Path) -> None:
    """Make a new key for the issuer of a KEY in use, and retire that one.

    KEY (its id) may be left out if only one is in use. The old secret is destroyed; what it sealed
    still stands.
    """
    with _opened(data) as room:
        old = _key_id(key) if key else _only_one(room.known)
        retired, new = rotate_key(room.known, room.files, old=old, now=datetime.now(UTC))
        if as_json:
            print_json({"retired": room.as_json(retired), "made": room.as_json(new)})
            return
    _say(retired)
    _say(new)


def _only_one(known: Keys) -> bytes:
    in_use = [key.id for key in known.list() if key.in_use]
    if len(in_use) != 1:
        raise NotFoundError.of(
            "key",
            expected="one key in use",
            came=f"{len(in_use)}: {', '.join(id_.hex() for id_ in in_use) or 'none'}",
            remedy="Name the key to rotate, or make one: quickcheck keys make.",
        )
    return in_use[0]


@keys.command("list")
@json_option
@data_option
@speaking
def list_(*, as_json: bool, data: Path) -> None:
    """List the keys that are known here. As JSON the list can be given to card verify --keys."""
    with _opened(data) as room:
        found = room.known.list()
        if as_json:
            print_json({"keys": [room.as_json(key) for key in found]})
            return
        for key in found:
            _say(key)
            if key.in_use and not room.files.has(key.id):
                click.echo("  its secret half is not here, so it can't seal")
    if not found:
        click.echo("No key yet: quickcheck keys make.")


@keys.command()
@click.argument("key")
@click.option(
    "--revoke",
    is_flag=True,
    help="Somebody may have its secret: believe only what was issued here.",
)
@json_option
@data_option
@speaking
def retire(key: str, *, revoke: bool, as_json: bool, data: Path) -> None:
    """Let a KEY (its id) sign no more and destroy its secret; what it sealed still stands."""
    with _opened(data) as room:
        ended = retire_key(
            room.known, room.files, key_id=_key_id(key), now=datetime.now(UTC), revoke=revoke
        )
        if as_json:
            print_json(room.as_json(ended))
            return
    _say(ended)
