"""The secret halves of issuer keys: one file each, that only its owner may read.

Never in the database, a backup of it, or a log. A file is written whole under another name, brought
to the disk, and then linked to its own name, so that there is never half a key and none is ever
written over.
"""

import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path
from typing import Final

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from quickcheck.card import Signer
from quickcheck.card.keys import SEED_BYTES
from quickcheck.errors import StoreError
from quickcheck.store.faults import store_error

_HAS_RIGHTS: Final = os.name == "posix"
_OTHERS: Final = stat.S_IRWXG | stat.S_IRWXO
_LARGEST: Final = 4096  # bytes; a key takes 119


class KeyFiles:
    """A folder of secret keys, ``<key id>.pem`` each (PKCS #8, as other tools write and read)."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where they are."""
        return self._folder

    def make(self) -> Signer:
        """Make a key from 32 random bytes and keep it; it is on the disk when this returns."""
        seed = secrets.token_bytes(SEED_BYTES)
        signer = Signer(seed)
        pem = Ed25519PrivateKey.from_private_bytes(seed).private_bytes(
            Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
        )
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_new(self._path(signer.id), pem)
        except OSError as error:
            raise store_error(error, place=str(self._folder)) from error
        return signer

    def has(self, key_id: bytes) -> bool:
        """Whether the secret half of this key is here."""
        return self._path(key_id).is_file()

    def load(self, key_id: bytes) -> Signer:
        """Return a key; StoreError if it is not here, is open to others, or is another one."""
        path = self._path(key_id)
        try:
            pem = read_private(
                path, leaked=f"revoke the key: quickcheck keys retire {path.stem} --revoke"
            )
        except FileNotFoundError:
            raise StoreError.of(
                str(path),
                expected="the secret half of this key",
                came="no such file",
                remedy="Put it back from where you keep a copy, or rotate the key.",
            ) from None
        except OSError as error:
            raise store_error(error, place=str(path)) from error
        signer = _signer(pem)
        if signer is None or signer.id != key_id:
            raise StoreError.of(
                str(path),
                expected=f"the secret half of key {key_id.hex()}",
                came="something else",
                remedy="Put the right file back, or rotate the key.",
            )
        return signer

    def destroy(self, key_id: bytes) -> None:
        """Take a secret away for good; one that is not here is no fault."""
        path = self._path(key_id)
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise store_error(error, place=str(path)) from error

    def _path(self, key_id: bytes) -> Path:
        return self._folder / f"{key_id.hex()}.pem"


def write_new(path: Path, content: bytes) -> None:
    """Write a file that was not there; on the disk as a whole, or not at all."""
    draft = path.with_name(f".{secrets.token_hex(8)}.part")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        path.hardlink_to(draft)
    finally:
        draft.unlink(missing_ok=True)
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Bring a name to the disk; where a folder can't be opened (Windows), the system does so."""
    with suppress(PermissionError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def read_private(path: Path, *, leaked: str) -> bytes:
    """Return the content of a file that nobody else may read; no link is followed.

    ``leaked`` says what to do where somebody else could.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    with os.fdopen(handle, "rb") as file:
        mode = os.fstat(file.fileno()).st_mode
        if _HAS_RIGHTS and mode & _OTHERS:
            raise StoreError.of(
                str(path),
                expected="a file that only its owner may read (0600)",
                came=stat.filemode(mode),
                remedy=f"Run chmod 600 on it. If others could read it, {leaked}",
            )
        return file.read(_LARGEST)


def _signer(pem: bytes) -> Signer | None:
    """Return the key in a PEM text, None if it holds none of our kind."""
    try:
        key = load_pem_private_key(pem, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        return None
    return Signer(key.private_bytes_raw()) if isinstance(key, Ed25519PrivateKey) else None
