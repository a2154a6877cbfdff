// @ts-check
/**
 * Numbers of US patents: the year in which each was issued, and so from when a part can bear it. The
 * same as the Python room `readings` gives.
 *
 * @import { Meaning } from './wording.js'
 */
import { capital, dayWords, january, weekday } from '../engine/datewords.js';
import { unreadable } from '../engine/errors.js';
import { shown } from '../engine/text.js';
import { PATENTS, SCHEMES, SOURCES } from './facts.js';
import { ONLY_THE_PART, areSure, boundWords, given, iso, once, statusName, statusOf, statusWords, thousands } from './wording.js';

/** First number of a year; `other`: the same boundary in a table that differs, 0 for none. @typedef {{ year: number, first: number, other: number, status: number, source: number }} Row */
/** @typedef {{ meaning: Meaning, first: number | null, status: number, sources: number[] }} Read */

const EXAMPLE = SCHEMES['patent-us'].example;
const NUMBERED_FROM = Date.UTC(1927, 3, 1) / 86400000;
const [UNSURE_FROM, UNSURE_TO] = [1904, 1995]; // designs: one year either way until somebody checks them
const NUMBER = /([A-Z][A-Z.' ]*?)?[ .:#-]*([0-9]{1,3}(?:,[0-9]{3}){1,2}|[0-9]{5,8})(?![0-9]|,[0-9])/g;
const DESIGN = /(?:^|[ .]|US)D(?:ES(?:IGN)?)?(?:[ .]|$)/;
const PENDING = /PAT(?:ENT)?S?[. ]+(?:PEND|APP)/;
const PENDING_SOURCE = '35 U.S.C. 292; USPTO guidance (goreading.org, noreklaw.com)';
const FOREIGN =
  'BRIT|BRITISH|G\\.?B|U\\.?K|CAN|CANADA|CANADIAN|GER|GERMAN|D\\.?R\\.?P|D\\.?B\\.?P|D\\.?R\\.?G\\.?M|D\\.?E|' +
  'F\\.?R|FRENCH|JAP|JAPAN|JAPANESE|J\\.?P|E\\.?P|W\\.?O|ITAL|ITALIAN|SWISS|SWEDISH';
/** The word before a number, and why the number says nothing here. @type {[RegExp, string][]} */
const OTHERS = [
  [/\bRE(?:ISSUE)?\b(?!G)/, 'reissues are a series of their own'],
  [/\bP\.?P\b|\bPLANT/, 'plants are a series of their own'],
  [/\bREG\b|\bREGISTRATION|\bT\.?M\b|\bTRADE ?-?MARK/, 'trade marks have numbers of their own'],
  [new RegExp(`\\b(?:${FOREIGN})\\b`), 'foreign patents are series of their own'],
];

/** @param {string} text */
export function readPatent(text) {
  const upper = text.toUpperCase();
  const found = [...upper.matchAll(NUMBER)].map((match) => ({ match, why: aside(match[1]) }));
  const numbers = found.filter(({ why }) => !why);
  const others = once(found.filter(({ why }) => why).map(({ match, why }) => `${match[0].trim()}: ${why}`));
  if (!numbers.length && !others.length && PENDING.test(upper)) return pending();
  if (!numbers.length) throw refused(text, others);
  const read = numbers.map(({ match }) => readNumber(match[1] ?? '', match[2]));
  const floor = latest(read);
  const sources = read.flatMap((each) => each.sources.map((source) => SOURCES[source]));
  return {
    meanings: read.map(({ meaning }) => meaning),
    floor: iso(floor),
    ceiling: null,
    says: says(read, floor, others),
    sources: once([...SCHEMES['patent-us'].sources, ...sources]),
  };
}

/** Why a number is no US utility or design patent; '' where it may be one. @param {string | undefined} kind */
function aside(kind) {
  const word = (kind ?? '').trim();
  const tail = word.slice(word.lastIndexOf('OFF') + (word.includes('OFF') ? 3 : 1));
  const before = tail.includes('PAT') ? tail : word;
  return OTHERS.find(([pattern]) => pattern.test(before))?.[1] ?? '';
}

function pending() {
  const known = statusWords([statusOf('checked')]);
  const words = `A patent that was pending or applied for bounds nothing: it has no legal effect by itself (${known}).`;
  return { meanings: [], floor: null, ceiling: null, says: words, sources: [PENDING_SOURCE] };
}

/** @param {string} text @param {string[]} others */
function refused(text, others) {
  if (others.length) {
    const why = `${capital(others.join('; '))}; they bound nothing here.`;
    return unreadable('patent', 'the number of a US utility or design patent', shown(text), why);
  }
  const wants = `a number of 5 to 8 digits, like ${EXAMPLE} or DES. 156,686`;
  return unreadable('patent', wants, shown(text), 'Copy the number again; the day of a patent is read by date-stamp.');
}

/** @param {string} series @returns {Row[]} */
const rowsOf = (series) =>
  PATENTS.filter(([name]) => name === series).map(([, year, first, other, status, source]) => ({ year, first, other, status, source }));

/** What one number means, and its sources. @param {string} kind @param {string} digits @returns {Read} */
function readNumber(kind, digits) {
  const series = DESIGN.test(kind) ? 'design' : 'utility';
  const number = Number(digits.replaceAll(',', ''));
  const table = rowsOf(series);
  const at = table.findLastIndex(({ first }) => first <= number);
  const used = at < 0 ? table.slice(0, 1) : table.slice(at, at + 2);
  const status = Math.max(...used.map((row) => row.status));
  const issued = `US ${series === 'design' ? 'design ' : ''}patent ${thousands(number)} ${areSure([status]) ? 'was' : 'is said to have been'} issued`;
  const told = at < 0 ? before(issued, table[0].year)
    : at === table.length - 1 ? after(issued, table[at].year)
      : inside(issued, series, table[at].year, table.some((row) => row.other && row.first <= number && number < row.other));
  const { first, last, year, words } = told;
  const meaning = { from: iso(first), to: iso(last), year, week: null, source: null, says: words, series, number, status: statusName(status) };
  return { meaning, first, status, sources: used.map((row) => row.source) };
}

/** @param {string} issued @param {number} year */
const before = (issued, year) =>
  ({ first: null, last: lastTuesday(year - 1), year: null, words: `${issued} before ${year}, where the table begins` });

/** @param {string} issued @param {number} year */
const after = (issued, year) =>
  ({ first: firstTuesday(year), last: null, year: null, words: `${issued} in ${year} or later: the table ends there` });

/** @param {string} issued @param {string} series @param {number} year @param {boolean} near */
function inside(issued, series, year, near) {
  const slack = series === 'design' && year >= UNSURE_FROM && year <= UNSURE_TO ? 1 : 0;
  const first = firstTuesday(year - (slack || near ? 1 : 0));
  const which = slack ? `${year}, give or take a year` : near ? `${year - 1} or ${year}: tables differ here` : `${year}`;
  return { first, last: lastTuesday(year + slack), year, words: `${issued} in ${which}` };
}

/** The first day of a year on which patents were issued. @param {number} year */
function firstTuesday(year) {
  const day = january(year, 1);
  return day + ((9 - weekday(day)) % 7);
}

/** @param {number} year */
const lastTuesday = (year) => firstTuesday(year + 1) - 7;

/** @param {Read[]} read */
function latest(read) {
  const days = given(read.map(({ first }) => first));
  return days.length ? Math.max(...days) : null;
}

/** @param {Read[]} read @param {number | null} floor @param {string[]} others */
function says(read, floor, others) {
  const statuses = read.map(({ status }) => status);
  const words = [`${read.map(({ meaning }) => meaning.says).join('; ')} (${statusWords(statuses)}).`];
  words.push(`${capital(boundWords(floor, null, areSure(statuses)))}.`);
  if (floor !== null) words.push(`${ONLY_THE_PART} A number stays on the tool for decades.`);
  if (floor !== null && floor < NUMBERED_FROM) {
    words.push(`Numbers on goods are usual from ${dayWords(NUMBERED_FROM)} on (${statusWords([statusOf('reported')])}).`);
  }
  if (others.length) words.push(`Left aside: ${others.join('; ')}.`);
  return words.join(' ');
}
