"""What the organizer unlocks with: a passphrase anywhere, a PIN at a station that is theirs.

Kept as argon2id (RFC 9106, its second recommendation) and given out to nobody: six digits would
fall in a day to whoever has their hash.
"""

import re
import unicodedata
from datetime import datetime
from typing import Any, Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import Connection, insert, select, update

from quickcheck.errors import ConflictError, SecretError
from quickcheck.store.access_tables import SecretRow

SHORTEST: Final = 15
"""Characters of a passphrase (OWASP ASVS 5.0, 6.2.1 asks for 8 and recommends 15)."""
_LONGEST: Final = 1000
_PIN: Final = re.compile(r"[0-9]{6}", re.ASCII)
_RUNS: Final = "01234567890 09876543210"
_HASHER: Final = PasswordHasher()
_SECRET: Final = select(SecretRow.passphrase, SecretRow.pin)


def checked_passphrase(text: str) -> str:
    """Return the hash of a new passphrase; SecretError if it is none."""
    if not SHORTEST <= len(_even(text)) <= _LONGEST or len(set(text)) < 5:
        raise SecretError.of(
            "passphrase",
            expected=f"{SHORTEST} characters or more, not the same few again and again",
            came=f"{len(text)} characters",
            remedy="Take four words that have nothing to do with each other.",
        )
    return _HASHER.hash(_even(text))


def checked_pin(text: str) -> str | None:
    """Return the hash of a new PIN, None for "": no PIN; SecretError if it is none."""
    if not text:
        return None
    if not _PIN.fullmatch(text) or text in _RUNS or len(set(text)) < 3:
        raise SecretError.of(
            "PIN",
            expected="six digits, not in a row and not all alike",
            came=f"{len(text)} characters" if not _PIN.fullmatch(text) else "an easy one",
            remedy="Take six digits that nobody would try first.",
        )
    return _HASHER.hash(text)


def is_right(kept: str | None, text: str) -> bool:
    """Whether a text is the one that was hashed; never for a secret that is not there."""
    if kept is None or len(text) > _LONGEST:
        return False
    try:
        return _HASHER.verify(kept, _even(text))
    except (VerificationError, InvalidHashError):
        return False


def _even(text: str) -> str:
    """Return a text in one of the two forms in which keyboards write accents."""
    return unicodedata.normalize("NFC", text.encode(errors="replace").decode())


def read_secret(connection: Connection) -> tuple[str, str | None] | None:
    """Return the two hashes, None if nothing was ever set."""
    row = connection.execute(_SECRET).one_or_none()
    return (row.passphrase, row.pin) if row else None


def write_secret(connection: Connection, *, now: datetime, first: bool, **hashes: Any) -> None:
    """Keep the hashes; ConflictError where ``first`` is not what it is."""
    is_there = read_secret(connection) is not None
    if is_there is first:
        raise ConflictError.of(
            "organizer",
            expected="no passphrase yet" if first else "a passphrase to change",
            came="one that was set before" if first else "none",
            remedy="Change it on the page /organizer."
            if first
            else "Set one up: quickcheck setup.",
        )
    values = {**hashes, "changed": now}
    if first:
        connection.execute(insert(SecretRow).values(id=1, **values))
    else:
        connection.execute(update(SecretRow).values(**values))
