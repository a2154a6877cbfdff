"""What is done with a key's two halves at once: the secret file, and the list of known keys."""

from datetime import datetime

from quickcheck.card import IssuerKey, Signer
from quickcheck.errors import ConflictError, NotFoundError
from quickcheck.store.key_files import KeyFiles
from quickcheck.store.keys import Keys


def make_key(keys: Keys, files: KeyFiles, *, issuer: str, now: datetime) -> IssuerKey:
    """Make a key for an issuer. First the file: a key is never known without its secret half."""
    signer = files.make()
    try:
        key = IssuerKey(signer.public, issuer, now)
        keys.add(key)
    except BaseException:
        files.destroy(signer.id)
        raise
    return key


def rotate_key(
    keys: Keys, files: KeyFiles, *, old: bytes, now: datetime
) -> tuple[IssuerKey, IssuerKey]:
    """Make a key for the issuer of an old one, and retire that; return old and new."""
    before = keys.get(old)
    if not before.in_use:
        raise ConflictError.of(
            "key",
            expected="a key in use",
            came=f"{old.hex()}, which was retired",
            remedy="Rotate the key in use, or make a new one.",
        )
    signer = files.make()
    try:
        new = IssuerKey(signer.public, before.issuer, now)
        retired = keys.rotate(old, new)
    except BaseException:
        files.destroy(signer.id)
        raise
    files.destroy(old)
    return retired, new


def retire_key(
    keys: Keys, files: KeyFiles, *, key_id: bytes, now: datetime, revoke: bool = False
) -> IssuerKey:
    """Let a key sign no more, and destroy its secret half, which nothing needs from then on."""
    ended = (keys.revoke if revoke else keys.retire)(key_id, now)
    files.destroy(key_id)
    return ended


def signer_for(keys: Keys, files: KeyFiles, *, issuer: str | None = None) -> Signer:
    """Return the key to seal with: of those in use whose secret half is here, the last made."""
    usable = [
        key
        for key in keys.list()
        if key.in_use and issuer in {None, key.issuer} and files.has(key.id)
    ]
    if not usable:
        raise NotFoundError.of(
            "key",
            expected="an issuer key in use, with its secret half in the keys folder",
            came="none",
            remedy='Make one: quickcheck keys make "name of the issuer".',
        )
    return files.load(usable[-1].id)
