"""The closed tables of the card: what it can say, each word by its number.

Append only. A number that was printed once keeps its meaning for ever, so nothing here is sorted,
renamed or removed; a test pins every row. Forms and pages offer these words and no others.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

VERDICTS: Final = ("agrees", "agrees-with-changes", "in-doubt", "too-little-seen", "disagrees")
ACCESS: Final = ("look", "handle", "open")
STATES: Final = (None, "changed", "signs", "no-sign", "undisturbed")
NOT_SEEN: Final = ("not-allowed", "not-visible", "no-tool", "no-time")
SIGN_PLACES: Final = ("front", "headstock", "back", "edge", "open", "case")

INTERESTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "selling": "The issuer is selling it",
        "selling-for-owner": "The issuer is selling it for the owner",
        "none": "The issuer has no interest in it",
    }
)
"""What the issuer has to gain: a line that every card must show."""

_FRETS: Final = range(1, 25)

MARK_PLACES: Final[Mapping[str, str]] = MappingProxyType(
    {
        **{f"board-{fret}": f"Fingerboard, fret {fret}" for fret in _FRETS},
        "headstock": "Headstock, face",
        "headstock-back": "Headstock, back",
        "headstock-edge": "Headstock, edge",
        "nut": "At the nut",
        "neck-back": "Neck, back",
        "neck-pocket": "Where neck and body meet",
        "heel": "Heel",
        "belly": "Top, below the strings",
        "belly-treble": "Top, treble side",
        "belly-bass": "Top, bass side",
        "bridge": "On the bridge",
        "bridge-back": "Behind the bridge",
        "tailpiece": "At the tailpiece",
        "guard": "On the guard or plate",
        "knob": "On a knob",
        "back": "Back, middle",
        "back-upper": "Back, upper part",
        "back-lower": "Back, lower part",
        "side": "Side",
        "side-treble": "Side, treble side",
        "side-bass": "Side, bass side",
        "upper-edge": "Edge, upper end",
        "lower-edge": "Edge, lower end",
        "upper-horn": "Upper horn or shoulder",
        "lower-horn": "Lower horn or shoulder",
        "forearm": "Where the forearm rests",
        "soundhole": "At the sound hole",
        "inside": "Inside, through the hole or by mirror",
        "cavity": "In a cavity",
        "label": "On the label",
        "tag": "On or under the serial tag",
        "case": "In or on the case",
    }
)
"""Where an identifying mark is. 6 bits, so at most 64 rows."""

MARK_KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "burn": "Burn",
        "dent": "Dent",
        "chip": "Chip",
        "scratch": "Scratch",
        "crack": "Crack",
        "mended-crack": "Crack, mended",
        "holes": "Holes",
        "filled-holes": "Filled holes",
        "pins": "Pins or nails",
        "wear": "Worn spot",
        "checking": "Pattern of fine cracks in the finish",
        "line": "Line in the finish or wood",
        "seam": "Seam or joint",
        "touch-up": "Touched-up spot",
        "stain": "Stain",
        "pale-square": "Pale patch where something was",
        "dark-patch": "Dark patch",
        "initials": "Initials or writing",
        "stamp": "Stamp",
        "tape": "Tape",
        "sticker": "Sticker",
        "ticket": "Ticket or paper",
        "tear": "Tear",
        "knot": "Knot in the wood",
        "figure": "Streak or figure in the wood",
        "missing": "Piece missing",
        "patch": "Patch or plug",
    }
)
"""What an identifying mark is. 5 bits, so at most 32 rows."""

MOST_MARKS: Final = 2
LONGEST_MARK_MM: Final = 1023
