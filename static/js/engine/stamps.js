// @ts-check
/**
 * Dates stamped on parts: every day, month or year that the signs can mean. Which number is the
 * month, and which century two digits of a year belong to, is open: all that a calendar allows is
 * given. The same as the Python room `readings` gives.
 *
 * @import { Meaning } from './codes.js'
 */
import { capital, dayOf, dayWords, floorWords, listed, plainYears } from './datewords.js';
import { unreadable } from './errors.js';
import { monthOf, monthWords } from './months.js';
import { shown } from './text.js';

export const ABOUT =
  'Day, month and year, or month and year, or a year of four digits; the month as a number or in English.';
export const EXAMPLE = 'AUG 14 1966';

const FIRST_YEAR = 1850;
const LAST_YEAR = 2045;
const LONG = [
  'JANUARY', 'FEBRUARY', 'MARCH', 'APRIL', 'MAY', 'JUNE', 'JULY', 'AUGUST', 'SEPTEMBER', 'OCTOBER', 'NOVEMBER', 'DECEMBER',
];
const TOKENS = /[0-9]+|[A-Z]+|'/g;
const OTHER = /[^0-9A-Z' .,/-]|[ .,/-]{3}|^[ .,/-]|[,/-]$/;
const COUNTED = /([0-9])(?:ST|ND|RD|TH)\b/g;
/** @type {Record<number, string[]>} */
const ORDERS = { 3: ['mdy', 'dmy', 'ymd'], 2: ['my', 'ym'], 1: ['y'] };
/** @type {Record<number, number[][]>} */
const UNBROKEN = { 6: [[2, 2, 2]], 8: [[2, 2, 4], [4, 2, 2]] };

/** Which signs are year, month and day. @typedef {Record<string, string>} Signs */

/**
 * Every run of days that a date can mean, earliest first, and what it says.
 * @param {string} text  single blanks @returns {{ meanings: Meaning[], says: string }}
 */
export function readStamp(text) {
  const runs = pieces(text.toUpperCase()).flatMap((signs) =>
    (ORDERS[signs.length] ?? []).flatMap((order) => ordered(Object.fromEntries([...order].map((key, at) => [key, signs[at]])))));
  const meanings = [...new Map(runs.map((each) => [each.says, each])).values()].sort((a, b) => a.first - b.first || a.last - b.last);
  if (!meanings.length) {
    throw unreadable(
      'date',
      `a date like ${EXAMPLE}, 8-14-66, 8-66 or 1966. ${ABOUT}`,
      shown(text),
      'Copy the stamp again; a month and two digits up to 31 can be a day without a year, ' +
        "so write the year with four digits or like '14.",
    );
  }
  const which = listed(meanings.map((meaning) => meaning.says));
  return { meanings, says: `${capital(which)}: ${floorWords(meanings[0].first)}` };
}

/** The divisions of a text in signs of year, month and day; a year's ' stays with it. @param {string} text */
function pieces(text) {
  if (OTHER.test(text)) return [];
  const plain = text.replace(COUNTED, '$1');
  /** @type {string[]} */
  const signs = [];
  for (const token of plain.match(TOKENS) ?? []) {
    if (signs.at(-1) === "'") signs.push(signs.pop() + token);
    else signs.push(token);
  }
  const splits = /^[0-9]+$/.test(plain) ? UNBROKEN[plain.length] ?? [] : [];
  return [signs, ...splits.map((lengths) => cut(plain, lengths))];
}

/** @param {string} digits @param {number[]} lengths */
function cut(digits, lengths) {
  let at = 0;
  return lengths.map((size) => digits.slice(at, (at += size)));
}

/** The runs of days that these signs mean. @param {Signs} by @returns {Meaning[]} */
function ordered(by) {
  const month = by.m === undefined ? undefined : monthNumber(by.m);
  if (month === 0 || mayBeADay(by)) return [];
  return years(by.y, month === undefined).flatMap((year) => run(year, month, by.d));
}

/** Two digits beside a month in letters may be its day, the year being left out. @param {Signs} by */
function mayBeADay(by) {
  const year = Number(by.y);
  return by.m !== undefined && by.d === undefined && /^[A-Z]/.test(by.m) && /^[0-9]{2}$/.test(by.y) && year >= 1 && year <= 31;
}

/** @param {string} signs  0: none */
function monthNumber(signs) {
  if (/^[0-9]/.test(signs)) return signs.length <= 2 && Number(signs) <= 12 ? Number(signs) : 0;
  const long = signs === 'SEPT' ? 'SEPTEMBER' : signs;
  return long.length >= 3 ? LONG.findIndex((name) => name.startsWith(long)) + 1 : 0;
}

/** @param {string} signs @param {boolean} alone */
function years(signs, alone) {
  const digits = signs.replace(/^'/, '');
  if (/^[0-9]{2}$/.test(digits) && (signs !== digits || !alone)) return plainYears(digits);
  const full = /^[0-9]{4}$/.test(signs) ? Number(signs) : 0;
  return full >= FIRST_YEAR && full <= LAST_YEAR ? [full] : [];
}

/** @param {number} year @param {number | undefined} month @param {string | undefined} day @returns {Meaning[]} */
function run(year, month, day) {
  const meant = (/** @type {number} */ first, /** @type {number} */ last, /** @type {string} */ says) =>
    [{ first, last, year, week: null, says, source: '' }];
  if (month === undefined) return meant(dayOf(year, 1, 1), dayOf(year, 12, 31), String(year));
  const last = dayOf(year, month + 1, 0);
  if (day === undefined) return meant(dayOf(year, month, 1), last, monthWords(monthOf(year, month)));
  const date = /^[0-9]{1,2}$/.test(day) && Number(day) > 0 ? dayOf(year, month, Number(day)) : Infinity;
  return date <= last ? meant(date, date, dayWords(date)) : [];
}
