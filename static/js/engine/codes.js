// @ts-check
/**
 * Date codes stamped on parts: from the digits to every stretch of days they can mean, read without
 * a clock and without the claim. Schemes, sources and customs of counting weeks: the Python room
 * `readings`, whose results these are, to the day and the word.
 */
import { unreadable } from './errors.js';
import { monthOf } from './months.js';
import { length, shown, spaced, strip } from './text.js';

/**
 * Days are counted from 1 January 1970.
 * @typedef {{ first: number, last: number, year: number, week: number, says: string, source: string }} Meaning
 */
/**
 * @typedef {{ scheme: string, read: string, meanings: Meaning[], months: number[], says: string }} Reading
 */
/**
 * `splits`: digits of the source symbol, digits of the year
 * @typedef {{ about: string, example: string, form: RegExp, splits: [number, number][], years: (digits: string) => number[] }} Scheme
 */

const FIRST_LIST = 1946; // year of the registrar's first list of source symbols
const LAST_ONE_DIGIT = 1989; // judgement: two-digit years were the rule by the end of the 1960s
const DAY = 86400000;
const SIGNS = /[ ./-]/g;

/** @type {Map<string, Scheme>} */
const SCHEMES = new Map([
  [
    'year-week',
    {
      about: 'Year and week: two digits each, with or without a sign between.',
      example: '59-31',
      form: /^[0-9]{2}[ ./-]?[0-9]{2}$/,
      splits: [[0, 2]],
      years: plainYears,
    },
  ],
  [
    'source-week',
    {
      about:
        "Registered symbol of whoever made the part (3 or 4 digits; X for one that can't be read), " +
        'then year (1 or 2 digits) and week (2 digits).',
      example: '137-6634',
      form: /^[0-9X?]{3,4}[ -]?(?:[0-9]{1,2}[ -]?[0-9]{2})$/,
      splits: [[3, 1], [3, 2], [4, 1], [4, 2]],
      years: registeredYears,
    },
  ],
]);

/**
 * One digit: every decade from the first list on. Two: the hundred years from then on.
 * @param {string} digits
 */
function registeredYears(digits) {
  const span = digits.length === 1 ? 10 : 100;
  const first = FIRST_LIST + ((((Number(digits) - FIRST_LIST) % span) + span) % span);
  const years = [];
  for (let year = first; year <= (span === 10 ? LAST_ONE_DIGIT : first); year += span) years.push(year);
  return years;
}

/** Two digits on a plain stamp may also be older than the registered symbols. @param {string} digits */
function plainYears(digits) {
  return [...new Set([1900 + Number(digits), ...registeredYears(digits)])].sort((a, b) => a - b);
}

/** @param {number} year @param {number} day  of January */
const january = (year, day) => Date.UTC(year, 0, day) / DAY;

/** 1 for Monday to 7 for Sunday @param {number} day */
const weekday = (day) => ((((day + 3) % 7) + 7) % 7) + 1;

/** @param {number} day */
const sundayBefore = (day) => day - (weekday(day) % 7);

/** First day of week 1, by each custom. @type {((year: number) => number)[]} */
const WEEK_RULES = [
  (year) => sundayBefore(january(year, 4)), // Sunday, most of the week
  (year) => sundayBefore(january(year, 7)), // Sunday, first full week
  (year) => sundayBefore(january(year, 1)), // Sunday, holds 1 January
  (year) => january(year, 4) - weekday(january(year, 4)) + 1, // Monday, ISO 8601
];

/**
 * Every meaning of a code, and the months in which a day of any falls.
 * @param {string} scheme @param {string} text @returns {Reading}
 */
export function readCode(scheme, text) {
  const rule = SCHEMES.get(scheme);
  if (!rule) throw unreadable('scheme', `one of ${[...SCHEMES.keys()].join(', ')}`, shown(scheme), 'Use one of these.');
  const code = length(text) <= 40 ? spaced(text.toUpperCase()) : '';
  if (!rule.form.test(code)) {
    throw unreadable('code', `a code like ${rule.example}. ${rule.about}`, shown(text), 'Copy the stamp again.');
  }
  const meanings = rule.splits.flatMap((lengths) => split(code, lengths)).flatMap((piece) => meaningsOf(piece, rule));
  if (!meanings.length) {
    throw unreadable(
      'code',
      'a week from 01 to 53 in the last two digits',
      shown(text),
      'Copy the stamp again; another way of stamping needs another scheme.',
    );
  }
  meanings.sort((a, b) => a.first - b.first || (a.source < b.source ? -1 : Number(a.source > b.source)));
  return { scheme, read: strip(text), meanings, months: monthsOf(meanings), says: says(meanings) };
}

/**
 * Symbol, year and week where these lengths fit and no sign stands inside a piece.
 * @param {string} code @param {[number, number]} lengths @returns {[string, string, string][]}
 */
function split(code, [symbol, year]) {
  const ends = [symbol, symbol + year, symbol + year + 2];
  const digits = code.replace(SIGNS, '');
  const breaks = [...code.matchAll(SIGNS)].map((found) => code.slice(0, found.index).replace(SIGNS, '').length);
  const fits = digits.length === ends[2] && breaks.every((at) => ends.includes(at));
  if (!fits || !/^[0-9]+$/.test(digits.slice(symbol))) return [];
  return [[digits.slice(0, symbol), digits.slice(symbol, ends[1]), digits.slice(ends[1])]];
}

/** @param {[string, string, string]} piece @param {Scheme} rule @returns {Meaning[]} */
function meaningsOf([source, digits, weekDigits], rule) {
  const week = Number(weekDigits);
  if (week < 1 || week > 53) return [];
  return rule.years(digits).map((year) => {
    const starts = WEEK_RULES.map((first) => first(year) + 7 * (week - 1));
    return { first: Math.min(...starts), last: Math.max(...starts) + 6, year, week, says: `week ${week} of ${year}`, source };
  });
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

/** @param {Meaning[]} meanings */
function says(meanings) {
  const all = [...new Set(meanings.map((meaning) => meaning.says))];
  const last = all.pop() ?? '';
  const which = all.length ? `${all.join(', ')} or ${last}` : last;
  return `${which.charAt(0).toUpperCase()}${which.slice(1)}. If the part is the first one, the instrument is not older.`;
}
