"""The options that open a server to others, what they need, and what is said of them."""

import functools
import ipaddress
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, TypeVar

import click

from quickcheck.cli.tls import TLS
from quickcheck.desk import Doors, Lan, Proxy, Tls, checked_base_url, words_on_base_url
from quickcheck.errors import SetupError, shown
from quickcheck.store import Store, TlsFiles, open_to_others, read_certificate

Command = TypeVar("Command", bound=Callable[..., None])
_FIND_OUT: Final = "find"
_TLS_PORT: Final = 8443
_PLAIN_PORT: Final = 8080
# RFC 5737: an address that is nobody's. Nothing is sent to it; the system only says which of ours
# it would send from.
_NOBODY: Final = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Asked:
    """What the options say, as they came."""

    port: int
    base_url: str | None
    lan: str | None
    lan_port: int | None
    certificate: Path | None
    private_key: Path | None
    plain: bool
    proxy: int | None
    proxy_at: str


_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_OPTIONS: Final = (
    click.option(
        "--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="Port here."
    ),
    click.option("--base-url", help="What codes lead to.", show_default="as set up"),
    click.option(
        "--lan",
        metavar="[ADDRESS]",
        is_flag=False,
        flag_value=_FIND_OUT,
        help="Open it to the local network, at this address of this machine or the one it has.",
    ),
    click.option(
        "--lan-port",
        type=click.IntRange(1, 65535),
        help="Port there.",
        show_default=f"{_TLS_PORT}, {_PLAIN_PORT} with --plain",
    ),
    click.option("--certificate", type=_FILE, help="Of this server, in PEM, for --lan."),
    click.option("--private-key", type=_FILE, help="Its key, in PEM, without a password."),
    click.option(
        "--plain", is_flag=True, help="Without TLS: read along by anybody, nothing works offline."
    ),
    click.option(
        "--proxy",
        type=click.IntRange(1, 5),
        metavar="HOPS",
        envvar="QUICKCHECK_PROXY",
        help="So many proxies stand in front, and end TLS.",
    ),
    click.option(
        "--proxy-at",
        default="127.0.0.1",
        show_default=True,
        envvar="QUICKCHECK_PROXY_AT",
        help="The address that the proxy sends from.",
    ),
)


def door_options(command: Command) -> Command:
    """Give a command the options of `Asked`, gathered in ``asked``."""

    @functools.wraps(command)
    def gathered(*args: Any, **kwargs: Any) -> None:
        asked = Asked(**{name: kwargs.pop(name) for name in Asked.__dataclass_fields__})
        command(*args, asked=asked, **kwargs)

    for option in reversed(_OPTIONS):
        gathered = option(gathered)
    return gathered  # type: ignore[return-value]  # wraps keeps the signature


def doors_of(asked: Asked, store: Store, data: Path) -> Doors:
    """Return the doors that were asked for; UsageError where the options don't go together.

    SetupError where they are open to others and no organizer's secret was ever set, or where the
    certificate is no good at this moment.
    """
    _check_together(asked)
    proxy = None
    if asked.proxy:
        proxy = Proxy(asked.proxy, _address(asked.proxy_at, "--proxy-at"))
    lan = _lan(asked, data) if asked.lan else None
    show = store.show.get()
    base = asked.base_url or (show.base_url if show else "")
    if proxy and not base:
        raise click.UsageError("--proxy needs --base-url, or one from quickcheck setup.")
    doors = Doors(asked.port, lan, proxy, checked_base_url(base) if base else "")
    if doors.is_open and not store.access.is_set_up():
        raise SetupError.of(
            "organizer",
            expected="an organizer's secret before others can reach the book",
            came="none yet",
            remedy="Set one: quickcheck setup. Without it whoever opens the address owns the book.",
        )
    return doors


def _check_together(asked: Asked) -> None:
    pair = (asked.certificate, asked.private_key)
    faults = {
        "--certificate and --private-key go together.": len([each for each in pair if each]) == 1,
        "--certificate, --plain and --lan-port are for --lan.": not asked.lan
        and bool(asked.certificate or asked.plain or asked.lan_port),
        "--plain or --certificate, not both.": asked.plain and bool(asked.certificate),
        "--proxy ends TLS: with --lan it needs --plain.": bool(asked.proxy and asked.lan)
        and not asked.plain,
    }
    for words, is_so in faults.items():
        if is_so:
            raise click.UsageError(words)


def _lan(asked: Asked, data: Path) -> Lan:
    address = own_address() if asked.lan == _FIND_OUT else _address(str(asked.lan), "--lan")
    if ipaddress.ip_address(address).is_unspecified and not asked.proxy:
        raise click.BadParameter(
            "name one address of this machine, not all of them", param_hint="--lan"
        )
    if asked.plain:
        return Lan(address, asked.lan_port or _PLAIN_PORT)
    return Lan(address, asked.lan_port or _TLS_PORT, _tls(asked, data))


def _tls(asked: Asked, data: Path) -> Tls:
    files = TlsFiles(data / TLS)
    certificate = asked.certificate or files.certificate
    private_key = asked.private_key or files.private_key
    if not certificate.exists():
        raise SetupError.of(
            "--lan",
            expected="--certificate and --private-key, or those that quickcheck tls make made",
            came="neither",
            remedy="Make a pair: quickcheck tls make NAME. Or take --plain, and read what it says.",
        )
    found = read_certificate(certificate)
    if fault := found.fault(datetime.now(UTC)):
        raise SetupError.of(
            str(certificate),
            expected="a certificate that is good today",
            came=f"one that {fault}",
            remedy="Renew it; quickcheck tls make makes another where the authority is ours.",
        )
    if private_key.exists() and open_to_others(private_key):
        click.echo(f"Others can read {private_key}: run chmod 600 on it.", err=True)
    if found.ends_soon(datetime.now(UTC)):
        click.echo(f"The certificate ends on {found.ends:%Y-%m-%d}.", err=True)
    return Tls(certificate, private_key, found.names)


def _address(text: str, option: str) -> str:
    try:
        return str(ipaddress.ip_address(text))
    except ValueError:
        raise click.BadParameter(
            f"{shown(text)} is no address such as 192.168.1.20", param_hint=option
        ) from None


def own_address() -> str:
    """Return the address that this machine has on its network; SetupError if it has none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_NOBODY)  # of a datagram socket: nothing is sent
            return str(probe.getsockname()[0])
    except OSError:
        raise SetupError.of(
            "--lan",
            expected="a network that this machine is on",
            came="none that leads anywhere",
            remedy="Name the address of this machine: --lan 192.168.1.20.",
        ) from None


def words_on(doors: Doors) -> list[str]:
    """Return what whoever opens these doors should read: the addresses, and what they mean."""
    said = [f"Open {doors.here}"]
    if doors.lan and not doors.proxy:
        said += [f"On phones: {url}" for url in doors.lan.urls]
        if not doors.lan.tls:
            said.append(
                "Without TLS everybody in the hall may read along. Phones save to this server only: "
                "nothing works offline there, and no camera opens on a page."
            )
    if doors.proxy:
        said.append(
            f"Behind {doors.proxy.hops} proxy at {doors.proxy.address}: X-Forwarded-For and "
            "X-Forwarded-Proto are believed from there, and nothing else."
        )
    if doors.is_open and (words := words_on_base_url(doors.home)):
        said.append(f"Codes lead to {doors.home}. {words}")
    return said
