"""Certificates for phones on a local network: a private authority, and a server's certificate.

For devices that somebody manages: each must be told to trust the authority. It can vouch for names
of local networks, and for those it was made for, and for nothing else (RFC 5280, 4.2.1.10); its key
lies in a folder of its own, and can be put away after use.
Forms: RFC 5280; a server's certificate lasts at most 398 days, as browsers want it, and its names
stand in subjectAltName (RFC 6125).
"""

import ipaddress
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from quickcheck.errors import NotFoundError, SetupError, StoreError, shown
from quickcheck.store.faults import store_error
from quickcheck.store.key_files import read_private, write_new

_YEARS: Final = timedelta(days=5 * 365)
_MONTHS: Final = timedelta(days=397)
_BEFORE: Final = timedelta(days=1)  # a phone's clock may be behind ours
_SOON: Final = timedelta(days=14)
_LEAKED: Final = "take the authority off every phone, and remove its folder for a new one."
_LOCAL: Final = ("local", "lan", "internal", "home.arpa")
_NETWORKS: Final = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7")
_LARGEST: Final = 64 * 1024  # bytes of a certificate file

Name = x509.DNSName | x509.IPAddress


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a certificate says."""

    names: tuple[str, ...]
    begins: datetime
    ends: datetime
    issuer: str
    fingerprint: str  # SHA-256 of the whole, in hex pairs, as phones show it

    def fault(self, now: datetime) -> str:
        """Return what is wrong with it at this moment, "" if nothing is."""
        if now < self.begins:
            return f"begins on {self.begins:%Y-%m-%d}; is the clock of this machine right?"
        if now >= self.ends:
            return f"ended on {self.ends:%Y-%m-%d}"
        return "" if self.names else "names no server"

    def ends_soon(self, now: datetime) -> bool:
        """Whether it ends within two weeks."""
        return self.ends - now < _SOON


class TlsFiles:
    """A folder with ``authority/`` (its key apart) and the server's two files beside it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.authority = folder / "authority" / "authority.crt"
        self.authority_key = folder / "authority" / "authority.key"
        self.certificate = folder / "server.crt"
        self.private_key = folder / "server.key"

    def make(self, names: Iterable[str], now: datetime) -> Certificate:
        """Make a server's certificate for these names, and the authority if there is none yet.

        One that was there is put aside as ``server.crt.old``. SetupError where a name is none or not one that the
        authority may vouch for; StoreError where the folder can't be written or read.
        """
        wanted = tuple(_name(name) for name in names)
        if not wanted:
            raise _no_name("")
        try:
            for folder in (self.folder, self.authority.parent):
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if not self.authority.exists():
                self._make_authority(wanted, now)
            signed, key = self._signed(wanted, now)
            self._put_aside()
            write_new(self.private_key, _pem(key))
            write_new(self.certificate, signed)
        except OSError as error:
            raise store_error(error, place=str(self.folder)) from error
        return read_certificate(self.certificate)

    def _make_authority(self, names: tuple[Name, ...], now: datetime) -> None:
        key = ec.generate_private_key(ec.SECP256R1())
        name = _subject(f"quickcheck, made {now:%Y-%m-%d}")
        made = (
            _begun(name, name, key.public_key())
            .not_valid_before(now - _BEFORE)
            .not_valid_after(now + _YEARS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs_certificates=True), critical=True)
            .add_extension(x509.NameConstraints(_permitted(names), None), critical=True)
            .sign(key, hashes.SHA256())
        )
        self.authority_key.unlink(missing_ok=True)  # of one that was broken off half way
        write_new(self.authority_key, _pem(key))
        write_new(self.authority, made.public_bytes(Encoding.PEM))

    def _signed(
        self, names: tuple[Name, ...], now: datetime
    ) -> tuple[bytes, ec.EllipticCurvePrivateKey]:
        """Return a certificate in PEM, signed by the authority, and its key."""
        authority, authority_key = _load(self.authority), self._authority_key()
        _check_permitted(authority, names)
        key = ec.generate_private_key(ec.SECP256R1())
        usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
        issuer_id = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
        made = (
            _begun(_subject("quickcheck server"), authority.subject, key.public_key())
            .not_valid_before(now - _BEFORE)
            .not_valid_after(min(now + _MONTHS, authority.not_valid_after_utc))
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs_certificates=False), critical=True)
            .add_extension(usage, critical=False)
            .add_extension(issuer_id, critical=False)
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .sign(authority_key, hashes.SHA256())
        )
        return made.public_bytes(Encoding.PEM), key

    def _authority_key(self) -> ec.EllipticCurvePrivateKey:
        try:
            key = load_pem_private_key(
                read_private(self.authority_key, leaked=_LEAKED), password=None
            )
        except (FileNotFoundError, ValueError, TypeError):
            key = None
        if not isinstance(key, ec.EllipticCurvePrivateKey):
            raise StoreError.of(
                str(self.authority_key),
                expected="the key of the authority, to sign with",
                came="none",
                remedy="Put it back from where you keep it; or remove the folder authority/ for a "
                "new one, which every phone must then be told to trust.",
            )
        return key

    def _put_aside(self) -> None:
        for path in (self.certificate, self.private_key):
            if path.exists():
                path.replace(path.with_name(f"{path.name}.old"))


def read_certificate(path: Path) -> Certificate:
    """Return what the first certificate of a file says; NotFoundError where there is none."""
    found = _load(path)
    try:
        extension = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        names = tuple(str(each.value) for each in extension if isinstance(each, Name))
    except x509.ExtensionNotFound:
        names = ()
    return Certificate(
        names,
        found.not_valid_before_utc,
        found.not_valid_after_utc,
        found.issuer.rfc4514_string(),
        found.fingerprint(hashes.SHA256()).hex(":").upper(),
    )


def _load(path: Path) -> x509.Certificate:
    try:
        with path.open("rb") as file:
            return x509.load_pem_x509_certificates(file.read(_LARGEST))[0]
    except (OSError, ValueError) as error:
        raise NotFoundError.of(
            str(path),
            expected="a certificate in PEM",
            came=shown(getattr(error, "strerror", None) or str(error)),
            remedy="Name the file that your authority gave you, or make one: quickcheck tls make.",
        ) from None


def _name(text: str) -> Name:
    """Return a name or an address as certificates hold it; SetupError if it is neither."""
    try:
        return x509.IPAddress(ipaddress.ip_address(text))
    except ValueError:
        pass
    labels = text.lower().split(".")
    fits = all(
        0 < len(label) <= 63 and label.strip("-") == label and label.replace("-", "a").isalnum()
        for label in labels
    )
    if not fits or not text.isascii() or len(text) > 253:
        raise _no_name(text)
    return x509.DNSName(text.lower())


def _no_name(text: str) -> SetupError:
    return SetupError.of(
        "name",
        expected="a name such as laptop.local, or an address such as 192.168.1.20",
        came=shown(text),
        remedy="Give what the phones will type, without https:// and without a port.",
    )


def _permitted(names: tuple[Name, ...]) -> list[x509.GeneralName]:
    """Return what an authority may vouch for: local names and networks, and these names."""
    networks = map(ipaddress.ip_network, _NETWORKS)
    own = [
        each if isinstance(each, x509.DNSName) else x509.IPAddress(ipaddress.ip_network(each.value))
        for each in names
    ]
    return [*map(x509.DNSName, _LOCAL), *map(x509.IPAddress, networks), *own]


def _check_permitted(authority: x509.Certificate, names: tuple[Name, ...]) -> None:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = constraints.permitted_subtrees or []
    for name in names:
        if not any(_covers(each, name) for each in permitted):
            raise SetupError.of(
                "name",
                expected="a local name, or one that the authority was made for",
                came=shown(str(name.value)),
                remedy="Remove the folder authority/ for a new one, which every phone must then be "
                "told to trust.",
            )


def _covers(permitted: x509.GeneralName, name: Name) -> bool:
    if isinstance(name, x509.DNSName) and isinstance(permitted, x509.DNSName):
        return f".{name.value}".endswith(f".{permitted.value}")
    if isinstance(name, x509.IPAddress) and isinstance(permitted, x509.IPAddress):
        return ipaddress.ip_address(str(name.value)) in ipaddress.ip_network(str(permitted.value))
    return False


def _subject(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def open_to_others(path: Path) -> bool:
    """Whether others than its owner may read a file, where the system knows such rights."""
    return os.name == "posix" and bool(path.stat().st_mode & 0o077)
