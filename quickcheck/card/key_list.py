"""Public keys as text, so that whoever is handed a card can check it somewhere else.

The list is believed because of where it was fetched, as a fingerprint on a wall is; it carries no
signature, for whoever forges it signs it too.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final

from quickcheck.card.keys import IssuerKey, KeyRing, fingerprint
from quickcheck.errors import CardError, shown

LARGEST_KEY_LIST: Final = 1_000_000  # characters


def key_json(key: IssuerKey) -> dict[str, str | None]:
    """Return a key as plain data; times in ISO 8601, None for what has not happened."""
    return {
        "id": key.id.hex(),
        "issuer": key.issuer,
        "public": key.public.hex(),
        "fingerprint": fingerprint(key.public),
        "made": key.made.isoformat(),
        "retired": key.retired.isoformat() if key.retired else None,
        "revoked": key.revoked.isoformat() if key.revoked else None,
    }


def keys_json(keys: Iterable[IssuerKey]) -> dict[str, object]:
    """Return a list of keys as plain data."""
    return {"keys": [key_json(key) for key in keys]}


def read_keys(text: str) -> KeyRing:
    """Return the keys of a list, as JSON; CardError where it is none or does not agree in itself.

    Fields beside those of `key_json` are passed over; only key and issuer must be there.
    """
    try:
        if len(text) > LARGEST_KEY_LIST:
            raise _no_keys(f"{len(text)} characters")
        told = json.loads(text)["keys"]
        return KeyRing.of([_key(one) for one in told])
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise _no_keys(str(error)) from error


def _key(told: Mapping[str, Any]) -> IssuerKey:
    times = (_time(told.get(name)) for name in ("retired", "revoked"))
    made = datetime.fromisoformat(told["made"])
    key = IssuerKey(bytes.fromhex(told["public"]), told["issuer"], made, *times)
    if told["id"] != key.id.hex():
        raise _no_keys(f"key {told['id']} whose id is {key.id.hex()}")
    return key


def _time(told: str | None) -> datetime | None:
    return None if told is None else datetime.fromisoformat(told)


def _no_keys(came: str) -> CardError:
    return CardError.of(
        "public keys",
        expected="a list of public keys as the issuer publishes it",
        came=shown(came),
        remedy="Fetch it again from the issuer's own page.",
    )
