"""``kiosk``: the server, and a browser on this machine that shows nothing else."""

import os
import shutil
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import FrameType
from typing import Final

import click

from quickcheck.cli.browsers import (
    Browser,
    Kind,
    Machine,
    browser_at,
    by_hand,
    command,
    find_browser,
    has_screen,
    profile_of,
)
from quickcheck.cli.doors import Asked, door_options, doors_of
from quickcheck.cli.keeping_open import KeptOpen, answers, prepare
from quickcheck.cli.serving import Server, run_server, shop_of
from quickcheck.cli.shell import data_option, json_option, speaking
from quickcheck.errors import StoreError, shown
from quickcheck.store import Role, Store

PROFILES: Final = "kiosk"
"""The folder of browser profiles, in the data folder."""
_COOKIE_LASTS: Final = timedelta(hours=12)


@dataclass(frozen=True)
class _Place:
    """Where the kiosk is: its machine, and the folder of its profiles."""

    machine: Machine
    folder: Path
    browser: Browser | None

    @property
    def profile(self) -> Path:
        return profile_of(self.browser, self.folder) if self.browser else self.folder


@click.command()
@data_option
@door_options
@click.option("--browser", metavar="PROGRAM", help="This browser, not the first that is found.")
@json_option
@click.pass_obj
@speaking
def kiosk(server: Server, data: Path, *, asked: Asked, browser: str | None, as_json: bool) -> None:
    """Serve the app, and show it on this machine's whole screen.

    The browser is started again when it ends. End with Ctrl-C here; in front of the screen, Alt-Tab
    or the system's own keys lead to this window.
    """
    machine = this_machine()
    found = browser_at(browser, machine) if browser else find_browser(machine)
    place = _Place(machine, data / PROFILES, found)
    with shop_of(data) as shop, ExitStack() as at_the_end, _ended_by_system():
        doors = doors_of(asked, shop.store, data)
        _revoke_old(shop.store)

        def begin() -> None:
            kept = _kept_open(place, lambda: doors.here + _start_path(shop.store), doors.port)
            if kept:
                at_the_end.enter_context(kept)

        run_server(server, shop, doors=doors, as_json=as_json, then=begin)


def this_machine() -> Machine:
    """Return the machine that this runs on."""
    return Machine(sys.platform, os.environ, shutil.which, os.path.exists, Path.home())


def _kept_open(place: _Place, address: Callable[[], str], port: int) -> KeptOpen | None:
    """Return the browser to keep open; None, with words on what to do by hand, where none can be."""
    browser = place.browser
    if browser is None or not has_screen(place.machine):
        why = "No browser was found" if browser is None else "There is no screen here"
        click.echo(f"{why}. Start one by hand, for instance with one of these:", err=True)
        click.echo(by_hand(place.machine, place.folder, address()), err=True)
        return None
    _prepare(browser, place.profile)
    if browser.kind is Kind.EDGE:
        click.echo("Edge's own kiosk mode loses what was not sent; F11 leaves this one.", err=True)

    def words() -> tuple[str, ...]:
        return command(browser, place.profile, address())

    return KeptOpen(words, lambda text: click.echo(text, err=True), lambda: answers(port))


def _prepare(browser: Browser, profile: Path) -> None:
    try:
        prepare(browser, profile)
    except OSError as error:
        raise StoreError.of(
            str(profile),
            expected="a folder for the browser's profile",
            came=shown(error.strerror or str(error)),
            remedy="Choose another data folder with --data, or another --browser.",
        ) from None


def _start_path(store: Store) -> str:
    """Return the path that a browser begins at.

    Where devices are paired that is a fresh code each time: a browser that still has its cookie
    goes on to the start page, one that lost it in a crash (Chromium writes cookies down every half
    minute, and not when it is asked to end) is paired anew.
    """
    if not store.access.is_set_up():
        return "/"
    book = store.access.books()[0].id
    code = store.access.offer(Role.KIOSK, book, name=_name(), now=datetime.now(UTC))
    return f"/pair/{code}?here"


def _name() -> str:
    return f"Kiosk {socket.gethostname()}"


def _revoke_old(store: Store) -> None:
    """Revoke what this kiosk was yesterday: its cookie is over, and it is waited for in vain."""
    now = datetime.now(UTC)
    for each in store.access.devices():
        is_ours = each.role is Role.KIOSK and each.name == _name() and each.revoked is None
        if is_ours and now - each.last_seen > _COOKIE_LASTS:
            store.access.revoke(each.id, now)


@contextmanager
def _ended_by_system() -> Iterator[None]:
    """Let a request to end, as a service manager sends it, end the browser as well."""

    def leave(_number: int, _frame: FrameType | None) -> None:
        raise SystemExit(0)

    before = signal.signal(signal.SIGTERM, leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
