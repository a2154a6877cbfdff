// @ts-check
/**
 * Numbers and short texts as bits, most significant first: one way to write each, or none. The
 * rules and the reasons are those of the Python room `card`; so are the bytes.
 */
import { length, shown, written } from '../engine/text.js';
import { noCard } from './errors.js';
import { BITS, LETTERS, LONGEST_TEXT, NIBBLES, NIBBLES_END, SMALL } from './tables.js';

/** How many bits tell so many choices apart (0 for one choice). @param {number} count */
export const widthFor = (count) => (count < 2 ? 0 : (count - 1).toString(2).length);

/** The number of a choice in its table. @template T @param {T} choice @param {readonly T[]} choices @param {string} where */
export function numberOf(choice, choices, where) {
  const number = choices.indexOf(choice);
  if (number >= 0) return number;
  const known = choices.map((one) => (typeof one === 'string' ? one : written(one))).join(', ');
  const expected = `one of ${choices.length} choices: ${known}`;
  throw noCard(where, expected, shown(choice), 'Choose one of these; the card carries nothing else here.');
}

/** Collects numbers, each in its own width. */
export class BitWriter {
  #value = 0n;
  length = 0; // bits written

  /** Append a number of 0 to 2^width − 1. @param {number | bigint} value @param {number} width @param {string} where */
  put(value, width, where) {
    const end = 1n << BigInt(width);
    const whole = BigInt(value);
    if (whole < 0n || whole >= end) {
      const expected = `a whole number from 0 to ${end - 1n}`;
      throw noCard(where, expected, shown(String(value)), 'The card has no room for more: leave it out or correct it.');
    }
    this.#value = (this.#value << BigInt(width)) | whole;
    this.length += width;
  }

  /** @template T @param {T} choice @param {readonly T[]} choices @param {number} width @param {string} where */
  putChoice(choice, choices, width, where) {
    this.put(numberOf(choice, choices, where), width, where);
  }

  /** One bit a flag, in order. @param {boolean[]} flags @param {string} where */
  putFlags(flags, where) {
    for (const flag of flags) this.put(Number(flag), 1, where);
  }

  /**
   * A text of at most 16 signs: digits and separators in 4 bits and an end mark, where that can
   * say it; else a count and 6 bits each.
   * @param {string} text @param {string} where
   */
  putText(text, where) {
    const signs = [...text];
    const fits = length(text) <= LONGEST_TEXT;
    if (fits && signs.every((sign) => NIBBLES.includes(sign))) {
      this.put(0, 1, where);
      for (const sign of signs) this.put(NIBBLES.indexOf(sign), 4, where);
      this.put(NIBBLES_END, 4, where);
      return;
    }
    if (!fits || !signs.every((sign) => (LETTERS + LETTERS.toLowerCase()).includes(sign))) {
      const expected = `at most ${LONGEST_TEXT} letters A-Z, digits, spaces and - . / ?`;
      throw noCard(where, expected, shown(text), 'Write it shorter or with these characters only.');
    }
    this.put(1, 1, where);
    this.put(signs.length, BITS.length, where);
    for (const sign of signs) {
      if (!LETTERS.includes(sign)) this.put(SMALL, 6, where);
      this.put(LETTERS.indexOf(sign.toUpperCase()), 6, where);
    }
  }

  /** The bytes, the last one filled with zeros. @returns {Uint8Array} */
  data() {
    const padding = (8 - (this.length % 8)) % 8;
    const size = (this.length + padding) / 8;
    const hex = (this.#value << BigInt(padding)).toString(16).padStart(2 * size, '0');
    return Uint8Array.from({ length: size }, (_, i) => Number.parseInt(hex.slice(2 * i, 2 * i + 2), 16));
  }
}
