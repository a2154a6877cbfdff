// @ts-check
/**
 * Codes that date a part, by their scheme: every meaning a run of days, read without a clock and
 * without the claim. The same as the Python room `readings` gives, to the day and the word.
 */
import { DAY } from './datewords.js';
import { unreadable } from './errors.js';
import { monthOf } from './months.js';
import { ABOUT, EXAMPLE, readStamp } from './stamps.js';
import { length, shown, spaced } from './text.js';
import { SOURCE_WEEK, YEAR_WEEK, readWeeks } from './weekcodes.js';

/**
 * Days are counted from 1 January 1970.
 * @typedef {{ first: number, last: number, year: number, week: number | null, says: string, source: string }} Meaning
 */
/**
 * @typedef {{ scheme: string, read: string, meanings: Meaning[], months: number[], says: string }} Reading
 */
/**
 * @typedef {{ about: string, example: string, read: (text: string) => { meanings: Meaning[], says: string } }} Scheme
 */

const LONGEST = 40;

/** @type {Map<string, Scheme>} */
const SCHEMES = new Map([
  ['year-week', { ...YEAR_WEEK, read: (text) => readWeeks(YEAR_WEEK, text) }],
  ['source-week', { ...SOURCE_WEEK, read: (text) => readWeeks(SOURCE_WEEK, text) }],
  ['date-stamp', { about: ABOUT, example: EXAMPLE, read: readStamp }],
]);

/**
 * Every meaning of a code, and the months in which a day of any falls.
 * @param {string} scheme @param {string} text @returns {Reading}
 */
export function readCode(scheme, text) {
  const rule = SCHEMES.get(scheme);
  if (!rule) throw unreadable('scheme', `one of ${[...SCHEMES.keys()].join(', ')}`, shown(scheme), 'Use one of these.');
  if (length(text) > LONGEST) {
    throw unreadable('code', `a code like ${rule.example}. ${rule.about}`, shown(text), 'Copy the stamp again.');
  }
  const plain = spaced(text);
  const { meanings, says } = rule.read(plain);
  return { scheme, read: plain, meanings, months: monthsOf(meanings), says };
}

/** @param {Meaning[]} meanings */
function monthsOf(meanings) {
  const months = new Set();
  for (const { first, last } of meanings) {
    for (let month = monthOfDay(first); month <= monthOfDay(last); month += 1) months.add(month);
  }
  return [...months].sort((a, b) => a - b);
}

/** @param {number} day */
function monthOfDay(day) {
  const date = new Date(day * DAY);
  return monthOf(date.getUTCFullYear(), date.getUTCMonth() + 1);
}
