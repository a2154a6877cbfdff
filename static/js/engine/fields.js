// @ts-check
/** Reading plain data field by field: each refusal names the field, all are told at once. */
import { AnswerError, FaultsError, refusal } from './errors.js';
import { nearest } from './near.js';
import { r9 } from './numbers.js';
import { numeral, shown } from './text.js';

/**
 * Named values of JSON; the keys may be anything, so they are only asked for with `get`.
 * @typedef {{ [key: string]: unknown }} Named
 */

/**
 * A field, or undefined; a name such as "constructor" finds nothing that is not there.
 * @param {Named} named @param {string} key
 */
export const get = (named, key) => (Object.hasOwn(named, key) ? (named[key] ?? undefined) : undefined);

/** Collects faults and goes on, so that all are told at once. */
export class Gather {
  constructor() {
    /** @type {import('./errors.js').Fault[]} */
    this.faults = [];
  }

  /**
   * What a reader returns, or `otherwise` where it refuses.
   * @template T @param {() => T} read @param {T} otherwise @returns {T}
   */
  take(read, otherwise) {
    try {
      return read();
    } catch (error) {
      if (!(error instanceof FaultsError)) throw error;
      this.faults.push(...error.faults);
      return otherwise;
    }
  }

  /** Throw what was collected, if anything was. */
  check() {
    if (this.faults.length) throw new AnswerError(this.faults);
  }
}

/**
 * Those of the keys that hold something; null counts as left out.
 * @param {Named} named @param {string[]} keys
 */
export const givenOf = (named, ...keys) => keys.filter((key) => get(named, key) !== undefined);

/**
 * A value that must be an object; `like` is an example of one.
 * @param {unknown} value @param {string} where @param {string} like @returns {Named}
 */
export function mapping(value, where, like = '{"seen": "…"}') {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw refusal(where, 'named fields', shown(value), `Write an object such as ${like}.`);
  }
  return /** @type {Named} */ (value);
}

/**
 * Refuse every key that is not known: a misspelt one would change the verdict unheard.
 * @param {Named} given @param {readonly string[]} known @param {string} where
 */
export function onlyKnown(given, known, where) {
  const unknown = Object.keys(given).filter((key) => !known.includes(key));
  if (!unknown.length) return;
  const faults = unknown.map((key) => {
    const near = nearest(key, known);
    const remedy = near === null ? 'Take it out.' : `Did you mean "${near}"?`;
    return { where: `${where}.${key}`, expected: `one of ${known.join(', ')}`, came: shown(key), remedy };
  });
  throw new AnswerError(faults);
}

/** @param {string} where @param {string} expected @param {unknown} value */
const mistyped = (where, expected, value) => refusal(where, expected, shown(value), 'Write it so, or leave it out.');

/** @param {Named} named @param {string} key @param {string} where @param {string} otherwise */
export function text(named, key, where, otherwise = '') {
  const value = get(named, key);
  if (value === undefined) return otherwise;
  if (typeof value !== 'string') throw mistyped(where, 'text', value);
  return value;
}

/** @param {Named} named @param {string} key @param {string} where @param {boolean} otherwise */
export function flag(named, key, where, otherwise) {
  const value = get(named, key);
  if (value === undefined) return otherwise;
  if (typeof value !== 'boolean') throw mistyped(where, 'true or false', value);
  return value;
}

/** @param {Named} named @param {string} key @param {string} where @returns {unknown[]} */
export function list(named, key, where) {
  const value = get(named, key);
  if (value === undefined) return [];
  if (!Array.isArray(value)) throw mistyped(where, 'a list', value);
  return value;
}

/** @param {Named} named @param {string} key @param {string} where */
export function texts(named, key, where) {
  return list(named, key, where).map((value) => {
    if (typeof value !== 'string') throw refusal(where, 'a list of texts', shown(value), 'Put it in quotes.');
    return value;
  });
}

/**
 * A text that must be one of those allowed.
 * @param {unknown} value @param {readonly string[]} allowed @param {string} where
 */
export function oneOf(value, allowed, where) {
  if (typeof value !== 'string' || !allowed.includes(value)) {
    throw refusal(where, `one of ${allowed.join(', ')}`, shown(value), 'Choose one of these.');
  }
  return value;
}

/** A number that is neither infinite nor "not a number". @param {unknown} value @param {string} where */
export function finite(value, where) {
  if (typeof value !== 'number' || !Number.isFinite(value)) {
    throw refusal(where, 'a finite number', shown(value), 'Write a number.');
  }
  return value;
}

/** A number with all the digits that comparisons go by. @param {number} value */
export const digits = (value) => numeral(r9(value) + 0);
