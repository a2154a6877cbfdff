// @ts-check
/**
 * Week codes stamped on parts: from the digits to every stretch of days they can mean. Schemes,
 * sources and customs of counting weeks: the Python room `readings`, whose results these are.
 *
 * @import { Meaning } from './codes.js'
 */
import { capital, floorWords, january, listed, plainYears, registeredYears, weekday } from './datewords.js';
import { unreadable } from './errors.js';
import { USUAL } from './parts_table.js';
import { shown } from './text.js';

/** Digits of symbol, year and week. @typedef {[number, number, number]} Split */
/**
 * `extra`: a sign of plant or shift may follow
 * @typedef {{ about: string, example: string, form: RegExp, splits: Split[], years: (digits: string) => number[], extra: boolean }} WeekCode
 */

const SIGNS = /[ ./-]/g;
// A plant or a shift after a code of six digits or more: letters, or digits that are set off.
const EXTRA = /^((?:[ -]?[0-9X?]){6,8})(?:[ -]?[A-WYZ]{1,2}|[ -][0-9]{1,2})$/;

/** @type {WeekCode} */
export const YEAR_WEEK = {
  about: 'Year and week: two digits each, with or without a sign between.',
  example: '59-31',
  form: /^[0-9]{2}[ ./-]?[0-9]{2}$/,
  splits: [[0, 2, 2]],
  years: plainYears,
  extra: false,
};

/** @type {WeekCode} */
export const SOURCE_WEEK = {
  about:
    "Registered symbol of whoever made the part (3 or 4 digits; X for one that can't be read), " +
    'then year (1 or 2 digits) and week (2 digits).',
  example: '137-6634',
  form: /^[0-9X?]{3,4}[ -]?[0-9]{1,2}[ -]?[0-9]{1,2}$/,
  splits: [[3, 1, 1], [3, 1, 2], [3, 2, 2], [4, 1, 2], [4, 2, 2]],
  years: registeredYears,
  extra: true,
};

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
 * Every meaning of a code, earliest first, and what it says.
 * @param {WeekCode} rule @param {string} text  single blanks @returns {{ meanings: Meaning[], says: string }}
 */
export function readWeeks(rule, text) {
  const texts = forms(rule, text.toUpperCase());
  if (!texts.length) {
    throw unreadable('code', `a code like ${rule.example}. ${rule.about}`, shown(text), 'Copy the stamp again.');
  }
  const pieces = texts.flatMap((code) => rule.splits.flatMap((lengths) => split(code, lengths)));
  const meanings = unique(pieces.flatMap((piece) => meaningsOf(piece, rule)));
  if (!meanings.length) {
    throw unreadable(
      'code',
      'a week from 01 to 53 in the last two digits',
      shown(text),
      'Copy the stamp again; another way of stamping needs another scheme.',
    );
  }
  meanings.sort((a, b) => a.first - b.first || (a.source < b.source ? -1 : Number(a.source > b.source)));
  return { meanings, says: says(meanings) };
}

/** The code as it stands, and without what may be a plant or a shift. @param {WeekCode} rule @param {string} code */
function forms(rule, code) {
  const cut = rule.extra ? EXTRA.exec(code) : null;
  return (cut ? [code, cut[1]] : [code]).filter((each) => rule.form.test(each));
}

/**
 * Symbol, year and week where these lengths fit and no sign stands inside a piece.
 * @param {string} code @param {Split} lengths @returns {[string, string, string][]}
 */
function split(code, [symbol, year, week]) {
  const ends = [symbol, symbol + year, symbol + year + week];
  const digits = code.replace(SIGNS, '');
  const breaks = [...code.matchAll(SIGNS)].map((found) => code.slice(0, found.index).replace(SIGNS, '').length);
  const fits = digits.length === ends[2] && breaks.every((at) => ends.includes(at));
  if (!fits || !/^[0-9]+$/.test(digits.slice(symbol))) return [];
  return [[digits.slice(0, symbol), digits.slice(symbol, ends[1]), digits.slice(ends[1])]];
}

/** @param {[string, string, string]} piece @param {WeekCode} rule @returns {Meaning[]} */
function meaningsOf([source, digits, weekDigits], rule) {
  const week = Number(weekDigits);
  if (week < 1 || week > 53) return [];
  return rule.years(digits).map((year) => {
    const starts = WEEK_RULES.map((first) => first(year) + 7 * (week - 1));
    return { first: Math.min(...starts), last: Math.max(...starts) + 6, year, week, says: `week ${week} of ${year}`, source };
  });
}

/** Two divisions can mean the same. @param {Meaning[]} meanings */
function unique(meanings) {
  return [...new Map(meanings.map((each) => [`${each.first} ${each.source} ${each.says}`, each])).values()];
}

/** @param {Meaning[]} meanings */
function says(meanings) {
  const symbols = [...new Set(meanings.map(({ source }) => source))].filter((symbol) => USUAL[symbol]);
  const usual = symbols.map((symbol) => ` Symbol ${symbol} is ${USUAL[symbol]}.`).join('');
  return `${capital(weeksWords(meanings))}: ${floorWords(meanings[0].first)}${usual}`;
}

/** "week 34 of 1946, 1956 or 1966"; runs of one week are told together. @param {Meaning[]} meanings */
function weeksWords(meanings) {
  /** @type {{ week: number | null, years: number[] }[]} */
  const runs = [];
  const told = new Set();
  for (const { week, year, says: words } of meanings) {
    if (told.has(words)) continue;
    told.add(words);
    const run = runs.at(-1);
    if (run && run.week === week) run.years.push(year);
    else runs.push({ week, years: [year] });
  }
  return listed(runs.map(({ week, years }) => `week ${week} of ${listed(years.map(String))}`));
}
