"""A private authority and a server's certificate."""

import os
import stat
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from quickcheck.errors import NotFoundError, SetupError, StoreError
from quickcheck.store import TlsFiles, read_certificate

NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)


@pytest.fixture(name="files")
def _files(tmp_path: Path) -> TlsFiles:
    files = TlsFiles(tmp_path / "tls")
    files.make(["Laptop.local", "192.168.1.20"], NOW)
    return files


def verified(files: TlsFiles, name: x509.verification.Subject, at: datetime = NOW) -> bool:
    """Whether a browser's rules (cryptography's own, RFC 5280) take the certificate for a name."""
    authority = x509.load_pem_x509_certificate(files.authority.read_bytes())
    leaf = x509.load_pem_x509_certificate(files.certificate.read_bytes())
    verifier = PolicyBuilder().store(Store([authority])).time(at).build_server_verifier(name)
    try:
        verifier.verify(leaf, [])
    except VerificationError:
        return False
    return True


def test_what_browsers_take(files: TlsFiles) -> None:
    """It is good for its names, at its time, and for no other name."""
    assert verified(files, x509.DNSName("laptop.local"))
    assert verified(files, x509.IPAddress(ip_address("192.168.1.20")))
    assert not verified(files, x509.DNSName("other.local"))
    assert not verified(files, x509.DNSName("laptop.local"), NOW + timedelta(days=398))


def test_it_says(files: TlsFiles) -> None:
    """What it says can be read; its life is within the 398 days that browsers grant."""
    found = read_certificate(files.certificate)
    assert found.names == ("laptop.local", "192.168.1.20")
    assert found.ends - found.begins <= timedelta(days=398)
    assert found.fault(NOW) == ""
    assert not found.ends_soon(NOW)
    assert found.ends_soon(found.ends - timedelta(days=13))
    assert found.fault(found.ends) == f"ended on {found.ends:%Y-%m-%d}"
    assert "clock" in found.fault(found.begins - timedelta(seconds=1))
    assert len(found.fingerprint.split(":")) == 32


@pytest.mark.skipif(os.name != "posix", reason="no such rights there")
def test_rights(files: TlsFiles) -> None:
    """Both keys are their owner's alone, and the authority's lies apart."""
    for key in (files.private_key, files.authority_key):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
        assert stat.S_IMODE(key.parent.stat().st_mode) == 0o700
    assert files.authority_key.parent != files.private_key.parent


def test_again(files: TlsFiles) -> None:
    """A second certificate is by the same authority, which phones know; the first is put aside."""
    before, authority = files.certificate.read_bytes(), files.authority.read_bytes()
    files.make(["stand.local"], NOW)
    assert files.authority.read_bytes() == authority
    assert verified(files, x509.DNSName("stand.local"))
    assert files.certificate.with_name("server.crt.old").read_bytes() == before


def test_only_local_names(tmp_path: Path, files: TlsFiles) -> None:
    """An authority vouches for local names and those it was made for, and for nothing else."""
    with pytest.raises(SetupError, match="a local name, or one that the authority was made for"):
        files.make(["bank.example"], NOW)
    with pytest.raises(SetupError, match="made for"):
        files.make(["8.8.8.8"], NOW)
    own = TlsFiles(tmp_path / "own")
    own.make(["cards.show.example", "203.0.113.9"], NOW)
    assert verified(own, x509.DNSName("cards.show.example"))


@pytest.mark.parametrize(
    "name", ["", "a b", "-a.local", "a..local", "é.local", "a" * 64, "http://x"]
)
def test_no_names(tmp_path: Path, name: str) -> None:
    """What is neither a name nor an address is refused, and nothing is made."""
    with pytest.raises(SetupError, match="without https://"):
        TlsFiles(tmp_path / "tls").make([name], NOW)
    assert not (tmp_path / "tls").exists()


def test_key_put_away(files: TlsFiles) -> None:
    """Without the authority's key no other certificate is made, and the words say how to go on."""
    files.authority_key.unlink()
    with pytest.raises(StoreError, match="Put it back from where you keep it"):
        files.make(["stand.local"], NOW)
    assert verified(files, x509.DNSName("laptop.local"))


@pytest.mark.parametrize("content", [b"", b"nonsense", b"-----BEGIN CERTIFICATE-----\nAA\n"])
def test_no_certificate(tmp_path: Path, content: bytes) -> None:
    """A file that is none is told with what to do."""
    path = tmp_path / "server.crt"
    path.write_bytes(content)
    with pytest.raises(NotFoundError, match="a certificate in PEM"):
        read_certificate(path)
    with pytest.raises(NotFoundError, match="No such file"):
        read_certificate(tmp_path / "nothing")


def test_folder_that_can_not_be_made(tmp_path: Path) -> None:
    """A place that can't be written is told."""
    (tmp_path / "tls").write_text("", encoding="utf-8")
    with pytest.raises(StoreError, match="tls"):
        TlsFiles(tmp_path / "tls").make(["a.local"], NOW)
