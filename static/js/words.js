// @ts-check
// Made by `python -m tests.vectors.make_tables`; change the Python it comes from, not this.
/** The words that screens show for the codes of records. */
/** @type {Readonly<Record<string, string>>} */
export const VERDICT_WORDS = {
  "agrees": "Agrees",
  "agrees-with-changes": "Agrees; some parts do not",
  "in-doubt": "In doubt",
  "too-little-seen": "Too little seen",
  "disagrees": "Does not agree"
};
/** @type {Readonly<Record<string, string>>} */
export const STATE_WORDS = {
  "": "Not looked for",
  "no-sign": "No sign seen",
  "undisturbed": "Undisturbed",
  "signs": "Signs of change",
  "changed": "Changed"
};
/** @type {Readonly<Record<string, string>>} */
export const NOT_SEEN_WORDS = {
  "not-allowed": "Not allowed",
  "not-visible": "Not visible",
  "no-tool": "No tool",
  "no-time": "No time"
};
/** @type {Readonly<Record<string, string>>} */
export const ACCESS_WORDS = {
  "look": "Eyes only",
  "handle": "Hands and gauges",
  "open": "May be opened"
};
/** @type {Readonly<Record<string, string>>} */
export const PLACE_WORDS = {
  "front": "Front",
  "headstock": "Headstock",
  "back": "Back",
  "edge": "Edge",
  "open": "Open",
  "case": "Case"
};
/** @type {Readonly<Record<string, string>>} */
export const ASSEMBLY_WORDS = {
  "neck": "Neck",
  "body": "Body",
  "electrics": "Electrics",
  "hardware": "Hardware",
  "case": "Case"
};
/** @type {Readonly<Record<string, string>>} */
export const LEANING_WORDS = {
  "within": "the claimed months",
  "earlier": "earlier",
  "later": "later",
  "silent": "nothing in particular"
};
/** @type {Readonly<Record<string, string>>} */
export const UNIT_WORDS = {
  "ohm": "Ω",
  "kohm": "kΩ"
};
/** @type {Readonly<Record<string, string>>} */
export const INTEREST_WORDS = {
  "selling": "The issuer is selling it.",
  "selling-for-owner": "The issuer is selling it for the owner.",
  "none": "The issuer has no interest in it."
};
