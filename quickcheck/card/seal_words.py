"""What a seal is worth, in words. None of them says "valid", for a buyer hears "genuine" in it."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Final

from quickcheck.card.seal import Seal, SealState

_UNCHANGED: Final = (
    "Text unchanged since issued on {issued} by {issuer}; the seal says nothing about the "
    "instrument."
)
SEAL_WORDS: Final[Mapping[SealState, str]] = MappingProxyType(
    {
        SealState.SEALED: _UNCHANGED,
        SealState.RETIRED: _UNCHANGED + " Its key signs no more since {retired}.",
        SealState.LOGGED: _UNCHANGED + " Its key was revoked on {revoked}; this card stands in "
        "the issuer’s own list of cards all the same.",
        SealState.CORRECTED: "Corrected on {recalled}: another card takes the place of this one, "
        "which was issued on {issued} by {issuer}.",
        SealState.WITHDRAWN: "Withdrawn on {recalled} by {issuer}, who issued it on {issued}. "
        "Do not rely on it.",
        SealState.OUT_OF_TIME: "Do not rely on it: it says {issued}, and the key of {issuer} that "
        "sealed it was not in use then.",
        SealState.REVOKED: "Do not rely on it: the key of {issuer} that sealed it was revoked on "
        "{revoked}, and it is not in the issuer’s own list of cards.",
        SealState.UNKNOWN_KEY: "Unknown issuer: nobody here knows the key {key} that it names, so "
        "nothing tells whether its text was changed.",
        SealState.ALTERED: "Altered or damaged: this is not what the key {key} sealed.",
        SealState.UNSEALED: "Not sealed: nothing tells who wrote it or whether it was changed.",
    }
)


def seal_words(seal: Seal) -> str:
    """Return what a seal is worth, in a sentence or two."""
    key = seal.key
    return SEAL_WORDS[seal.state].format(
        key=seal.key_id.hex() if seal.key_id else "",
        issuer=key.issuer if key else "",
        issued=_minute(seal.issued),
        retired=_day(key.retired if key else None),
        revoked=_day(key.revoked if key else None),
        recalled=_day(seal.recall.at if seal.recall else None),
    )


def _day(time: datetime | None) -> str:
    return f"{time.day} {time:%B %Y}" if time else ""


def _minute(time: datetime | None) -> str:
    return f"{_day(time)}, {time:%H:%M} UTC" if time else ""
