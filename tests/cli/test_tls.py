"""`quickcheck tls make` and `tls show`."""

from pathlib import Path

from quickcheck.errors import NotFoundError, SetupError
from tests.cli.kit import printed_json, run


def test_make(data: Path) -> None:
    """It says which files it made, what they are for, and plainly what each phone must be told."""
    result = run("tls", "make", "laptop.local", "192.168.1.20")
    assert result.exit_code == 0
    assert "for laptop.local, 192.168.1.20, until" in result.stdout
    assert "Certificate Trust Settings" in result.stdout
    assert "does not work offline there" in " ".join(result.stdout.split())
    assert "authority.key: its key; put it away" in result.stdout
    made = {path.relative_to(data / "tls").as_posix() for path in (data / "tls").rglob("*.*")}
    assert made == {
        "server.crt",
        "server.key",
        "authority/authority.crt",
        "authority/authority.key",
    }


def test_show(data: Path) -> None:
    """What was made can be shown again, as words and as data; also with the key put away."""
    made = printed_json(run("tls", "make", "laptop.local", "--json"))
    assert printed_json(run("tls", "show", "--json")) == made
    assert made["names"] == ["laptop.local"]
    Path(made["authority_key"]).unlink()
    assert printed_json(run("tls", "show", "--json"))["authority_key"] is None
    shown = run("tls", "show")
    assert made["authority_fingerprint"] in shown.stdout
    assert "put it away" not in shown.stdout


def test_nothing_to_show() -> None:
    """Without a certificate it says how to make one."""
    result = run("tls", "show")
    assert result.exit_code == NotFoundError.exit_code
    assert "quickcheck tls make" in result.stderr


def test_no_name() -> None:
    """A whole address is no name."""
    result = run("tls", "make", "https://laptop.local")
    assert result.exit_code == SetupError.exit_code
    assert "without https://" in result.stderr
