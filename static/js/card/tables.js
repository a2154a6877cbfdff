// @ts-check
// Made by `python -m tests.vectors.make_tables`; change the Python it comes from, not this.
/** What a card can say, each word by its number. */
/** Form of the bytes. */
export const FORMAT = 1;
/** Bits of the fields of fixed width, in order. @type {Readonly<Record<string, number>>} */
export const WIDTHS = {
  "format": 4,
  "sealed": 4,
  "rules": 8,
  "reference": 64,
  "claimed from": 12,
  "claimed to": 12,
  "reads as from": 12,
  "reads as to": 12,
  "verdict": 3,
  "found": 8,
  "declared": 8,
  "number": 12,
  "issued": 26,
  "interest": 2,
  "nothing changed": 1,
  "access": 2
};
/** Minute 0, in milliseconds. */
export const EPOCH = 1577836800000;
/** Month 0 on a card. */
export const FIRST_MONTH = 21600;
/** The last month that a claim may name. */
export const LAST_MONTH = 25211;
export const VERDICTS = ["agrees", "agrees-with-changes", "in-doubt", "too-little-seen", "disagrees"];
export const ACCESS = ["look", "handle", "open"];
export const STATES = [null, "changed", "signs", "no-sign", "undisturbed"];
/** A point without an answer: why. */
export const REASONS = ["changed", "not-allowed", "not-visible", "no-tool", "no-time"];
export const SIGN_PLACES = ["front", "headstock", "back", "edge", "open", "case"];
export const INTERESTS = ["selling", "selling-for-owner", "none"];
/** Where a mark is, in words. @type {Readonly<Record<string, string>>} */
export const MARK_PLACES = {
  "board-1": "Fingerboard, fret 1",
  "board-2": "Fingerboard, fret 2",
  "board-3": "Fingerboard, fret 3",
  "board-4": "Fingerboard, fret 4",
  "board-5": "Fingerboard, fret 5",
  "board-6": "Fingerboard, fret 6",
  "board-7": "Fingerboard, fret 7",
  "board-8": "Fingerboard, fret 8",
  "board-9": "Fingerboard, fret 9",
  "board-10": "Fingerboard, fret 10",
  "board-11": "Fingerboard, fret 11",
  "board-12": "Fingerboard, fret 12",
  "board-13": "Fingerboard, fret 13",
  "board-14": "Fingerboard, fret 14",
  "board-15": "Fingerboard, fret 15",
  "board-16": "Fingerboard, fret 16",
  "board-17": "Fingerboard, fret 17",
  "board-18": "Fingerboard, fret 18",
  "board-19": "Fingerboard, fret 19",
  "board-20": "Fingerboard, fret 20",
  "board-21": "Fingerboard, fret 21",
  "board-22": "Fingerboard, fret 22",
  "board-23": "Fingerboard, fret 23",
  "board-24": "Fingerboard, fret 24",
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
  "case": "In or on the case"
};
/** What a mark is, in words. @type {Readonly<Record<string, string>>} */
export const MARK_KINDS = {
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
  "patch": "Patch or plug"
};
export const MOST_MARKS = 2;
export const DISCLOSURES = ["refinish", "overspray", "touch-up", "stripped", "polished", "checking", "faded", "refret", "partial-refret", "planed-board", "replaced-board", "replaced-nut", "replaced-saddle", "changed-tuners", "plugged-holes", "reamed", "changed-hardware", "reproduction-part", "period-part", "replated", "rewound", "changed-pickups", "rewired", "resoldered", "routed", "filled-rout", "refitted-electronics", "new-top", "new-back", "neck-reset", "neck-shim", "neck-reshaped", "other-neck", "married", "headstock-repair", "new-veneer", "renumbered", "replaced-bridge", "cleated-crack", "new-braces", "new-binding", "player-wear", "other-case", "modified"];
/** Bits of what is not in `WIDTHS`. @type {Readonly<Record<string, number>>} */
export const BITS = {
  "mark count": 2,
  "place": 6,
  "kind": 5,
  "mm": 10,
  "block count": 4,
  "block": 8,
  "opening": 2,
  "unsure": 1,
  "state": 3,
  "reason": 3,
  "measure": 12,
  "length": 5
};
/** The first bits of a slot. @type {Readonly<Record<string, number>>} */
export const OPENINGS = {
  "not looked at": 0,
  "sure": 1,
  "more": 2,
  "no answer": 3
};
/** 4 bits each. */
export const NIBBLES = "0123456789- ./?";
export const NIBBLES_END = 15;
/** 6 bits each. */
export const LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ -./?";
/** Before a letter: a small one. */
export const SMALL = 41;
export const LONGEST_TEXT = 16;
/** Bytes of a card, its seal included. */
export const LARGEST = 300;
export const SEAL_BYTES = 68;
/** Bytes of the reference's hash. */
export const PREFIX = 8;
/** Modules of white around a symbol. */
export const QUIET = 4;
/** A module in print, in millimetres. */
export const MODULE_MM = 0.75;
/** Of a symbol that a phone can show. */
export const HIGHEST_VERSION = 13;
