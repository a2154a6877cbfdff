// @ts-check
/** What a code says: a card's address, its digits alone, or something that is none of ours. */

/** `host` is what the text names, empty for digits alone. @typedef {{ digits: string, host: string }} CardText */
/**
 * What was found among the texts of one picture; `elsewhere` is the host that a card names where it
 * is not ours. @typedef {{ what: 'nothing' | 'other' | 'several' } | { what: 'card', digits: string, elsewhere: string }} Found
 */

// As quickcheck/card/address.py and code.py have it; tests/vectors/card_texts.json holds both to the same.
const ADDRESS = /^(https?:\/\/([a-z0-9.-]+|\[[0-9a-f:]+\])(?::[0-9]{1,5})?(?:\/[a-z0-9._-]+)*)\/c\/([0-9]+)$/;
const LONGEST_BASE = 200;
const MOST_DIGITS = 723; // those of 300 bytes and the one before them

/** @param {string} text @returns {CardText | null} null unless it is the one spelling of a card */
export function readText(text) {
  if (/^[0-9]+$/.test(text)) return isCard(text) ? { digits: text, host: '' } : null;
  const [, base = '', host = '', digits = ''] = ADDRESS.exec(text) ?? [];
  return base && base.length <= LONGEST_BASE && isCard(digits) ? { digits, host } : null;
}

/** Whole bytes after a byte 1, as decimal digits are written. @param {string} digits */
function isCard(digits) {
  if (digits.length > MOST_DIGITS || /^0/.test(digits)) return false;
  const hex = BigInt(digits).toString(16);
  return hex.length % 2 === 1 && hex.startsWith('1');
}

/** @param {string[]} texts  of all codes in a picture @param {string[]} hosts  the names of this server @returns {Found} */
export function judge(texts, hosts) {
  const cards = new Map(texts.map(readText).flatMap((card) => (card ? [[card.digits, card.host]] : [])));
  if (cards.size > 1) return { what: 'several' };
  for (const [digits, host] of cards) return { what: 'card', digits, elsewhere: hosts.includes(host) ? '' : host };
  return { what: texts.length ? 'other' : 'nothing' };
}
