"""``tls make`` and ``tls show``: certificates for phones on the show's own network."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import click

from quickcheck.cli.shell import data_option, json_option, print_json, speaking
from quickcheck.store import Certificate, TlsFiles, read_certificate

TLS: Final = "tls"
"""The folder of certificates, in the data folder."""

_EPILOG = """
Exit codes: 0 done; 7 no certificate there; 9 a name that is none, or a folder that can't be read or
written.
"""
_WHAT_PHONES_DO: Final = """
This authority is known to no phone. On each phone that is to work with this server:
  iPhone, iPad  send it authority.crt; Settings, General, VPN & Device Management, install the profile;
                then Settings, General, About, Certificate Trust Settings, switch it on. Both are needed.
  Android       Settings, Security, Encryption & credentials, Install a certificate, CA certificate.
                Chrome then trusts it; Firefox keeps to its own list unless told otherwise.
  Windows, Mac  open authority.crt, and put it among the trusted root authorities.
A phone that does not trust it shows a warning. Whoever taps past that can look at pages, but the app
does not work offline there, and no camera opens: do not teach people to do that.
It can vouch for names of local networks and for those above, and for nothing else. Keep
authority/authority.key away from the hall: the server does not need it.
For phones of people you don't know, take a name of your own with a public certificate instead.
"""


@click.group(epilog=_EPILOG)
def tls() -> None:
    """Make and show certificates for a server on a local network, for devices that you manage."""


@tls.command()
@click.argument("names", nargs=-1, required=True)
@json_option
@data_option
@speaking
def make(names: tuple[str, ...], *, as_json: bool, data: Path) -> None:
    """Make a certificate for a server's NAMES or addresses, and the authority that signs it."""
    files = TlsFiles(data / TLS)
    made = files.make(names, datetime.now(UTC))
    if as_json:
        print_json(_as_json(files, made))
        return
    _say(files, made)
    click.echo(_WHAT_PHONES_DO)


@tls.command()
@json_option
@data_option
@speaking
def show(*, as_json: bool, data: Path) -> None:
    """Show the certificate that tls make made, and its authority."""
    files = TlsFiles(data / TLS)
    found = read_certificate(files.certificate)
    if as_json:
        print_json(_as_json(files, found))
        return
    _say(files, found)
    if fault := found.fault(datetime.now(UTC)):
        click.echo(f"It {fault}.")


def _authority(files: TlsFiles) -> Certificate:
    return read_certificate(files.authority)


def _as_json(files: TlsFiles, found: Certificate) -> dict[str, Any]:
    return {
        "names": list(found.names),
        "begins": found.begins.isoformat(),
        "ends": found.ends.isoformat(),
        "fingerprint": found.fingerprint,
        "certificate": str(files.certificate),
        "private_key": str(files.private_key),
        "authority": str(files.authority),
        "authority_key": str(files.authority_key) if files.authority_key.exists() else None,
        "authority_fingerprint": _authority(files).fingerprint,
    }


def _say(files: TlsFiles, found: Certificate) -> None:
    authority = _authority(files)
    click.echo(f"{files.certificate}: for {', '.join(found.names)}, until {found.ends:%Y-%m-%d}")
    click.echo(f"{files.private_key}: its key, for this machine only")
    click.echo(f"{files.authority}: the authority, for the phones, until {authority.ends:%Y-%m-%d}")
    click.echo(f"  SHA-256 {authority.fingerprint}")
    if files.authority_key.exists():
        click.echo(f"{files.authority_key}: its key; put it away")
    click.echo(
        f"Start: quickcheck serve --lan --certificate {files.certificate} "
        f"--private-key {files.private_key}"
    )
