// @ts-check
/**
 * Marks on parts and labels, and postal forms: each is found by its pattern and bounds a part by the
 * rows of a table. The same as the Python room `readings` gives.
 *
 * @import { Meaning } from './wording.js'
 */
import { DAY, capital, dayWords } from '../engine/datewords.js';
import { unreadable } from '../engine/errors.js';
import { shown, spaced } from '../engine/text.js';
import { BOUNDS, MARKS, SOURCES, US_STATES } from './facts.js';
import { ONLY_THE_PART, areSure, boundWords, given, iso, once, statusName, statusWords } from './wording.js';

/** @typedef {{ kind: string, day: number | null, says: string, source: string, status: number }} Bound */
/** @typedef {{ name: string, words: string, pattern: RegExp, check: string, bounds: Bound[], states: boolean }} Mark */

const NO_EVIDENCE = 'A mark that is missing is no evidence.';
/** @type {Record<string, string>} */
const SIGNS = { '®': '(r)', 'Ⓡ': '(r)', 'ⓡ': '(r)', '’': "'", '‘': "'", '–': '-' };
/** Where the row is sure, and where it is not. @type {Record<string, [string, string]>} */
const BOUND_WORDS = {
  floor: ['not before {}', 'said to be not before {}'],
  ceiling: ['not after {}', 'said to be not after {}'],
  'usual-from': ['usual from {} on', 'usual from {} on'],
  'usual-to': ['usual to {}', 'usual to {}'],
  rule: ['no day', 'no day'],
  none: ['bounds nothing', 'said to bound nothing'],
};
/** @type {Map<string, Mark[]>} */
const made = new Map();

/** @param {string} scheme @param {string} text */
export function readMarks(scheme, text) {
  const plain = scheme === 'mark' ? plainly(text) : text.normalize('NFKC');
  const known = marksOf(scheme);
  const marks = known.filter((mark) => isFound(mark, plain));
  if (!marks.length) {
    const words = known.map((mark) => mark.words).join('; ');
    throw unreadable('mark', `one of these: ${words}`, shown(text), 'Copy the words as they stand; a mark that is not known bounds nothing.');
  }
  const bounds = marks.flatMap((mark) => mark.bounds);
  const floor = ends(bounds, 'floor', Math.max);
  const ceiling = ends(bounds, 'ceiling', Math.min);
  const spelt = marks.some((mark) => mark.states) ? US_STATES : [];
  return {
    meanings: marks.flatMap((mark) => mark.bounds.map((bound) => meaning(mark, bound))),
    floor: iso(floor),
    ceiling: iso(ceiling),
    says: says(marks, floor, ceiling, spelt.map(([, , , , status]) => status)),
    sources: once([...bounds.map(({ source }) => source), ...spelt.map(([, , , source]) => SOURCES[source])]),
  };
}

/** @param {string} scheme */
function marksOf(scheme) {
  if (!made.has(scheme)) made.set(scheme, MARKS.filter((row) => row[1] === scheme).map(mark));
  return /** @type {Mark[]} */ (made.get(scheme));
}

/** @param {typeof MARKS[number]} row @returns {Mark} */
function mark([name, , words, pattern, check]) {
  const rows = BOUNDS.filter(([of]) => of === name);
  const bounds = rows.map(([, kind, day, text, source, status]) =>
    ({ kind, day: day ? Date.parse(day) / DAY : null, says: text, source: SOURCES[source], status }));
  return { name, words, pattern: new RegExp(filled(pattern), 'g'), check, bounds, states: pattern !== filled(pattern) };
}

/** A pattern with the states in place of {state}, their codes of {two}. @param {string} pattern */
function filled(pattern) {
  const words = US_STATES.flatMap(([code, name, older]) => [code, name, name.toUpperCase(), ...older.split(';')]);
  const spelt = once(words).sort((a, b) => b.length - a.length).map((word) => word.replaceAll('.', '\\.'));
  return pattern.replaceAll('{state}', spelt.join('|')).replaceAll('{two}', US_STATES.map(([code]) => code).join('|'));
}

/** Small letters, plain signs, without the stops of what is shortened. @param {string} text */
function plainly(text) {
  const small = [...text].map((sign) => SIGNS[sign] ?? sign).join('').normalize('NFKC').toLowerCase();
  const stopless = small.replace(/(?<=\b[a-z])\.|(?<=[a-z])\.(?![a-z])/g, '');
  return spaced(stopless.replace(/(?<=[0-9])\.(?=[0-9])/g, '-'));
}

/** @param {Mark} mark @param {string} text */
const isFound = ({ pattern, check }, text) =>
  [...text.matchAll(pattern)].some(([found]) => !check || checkDigitFits(found.replace(/[^0-9]/g, '')));

/** Whether the last digit of a bar code is its check digit. @param {string} digits */
function checkDigitFits(digits) {
  const [last = '0', ...rest] = [...digits].reverse();
  const sum = rest.reduce((total, digit, at) => total + Number(digit) * (at % 2 ? 1 : 3), Number(last));
  return sum % 10 === 0;
}

/** @param {Bound[]} bounds @param {string} kind @param {(...days: number[]) => number} pick */
function ends(bounds, kind, pick) {
  const days = given(bounds.filter((bound) => bound.kind === kind).map(({ day }) => day));
  return days.length ? pick(...days) : null;
}

/** @param {Mark} mark @param {Bound} bound @returns {Meaning} */
function meaning({ name, words }, bound) {
  const begins = bound.kind === 'floor' || bound.kind === 'usual-from';
  return {
    from: begins ? iso(bound.day) : null,
    to: begins ? null : iso(bound.day),
    year: null,
    week: null,
    source: null,
    says: `${words}: ${wordsOf(bound)}`,
    mark: name,
    bound: bound.kind,
    hard: isHard(bound),
    status: statusName(bound.status),
  };
}

/** @param {Bound} bound */
const isHard = ({ kind }) => kind === 'floor' || kind === 'ceiling';

/** @param {Bound} bound */
function wordsOf({ kind, day, says: why, status }) {
  const words = BOUND_WORDS[kind][areSure([status]) ? 0 : 1].replace('{}', day === null ? '' : dayWords(day));
  return `${words} (${why}; ${statusWords([status])})`;
}

/** @param {Mark[]} marks @param {number | null} floor @param {number | null} ceiling @param {number[]} spelt */
function says(marks, floor, ceiling, spelt) {
  const words = [`${whole(marks, floor, ceiling)} ${capital(marks.map(told).join('; '))}.`];
  if (spelt.length) words.push(`How states are spelt is a list of ours (${statusWords(spelt)}).`);
  return [...words, NO_EVIDENCE].join(' ');
}

/** @param {Mark[]} marks @param {number | null} floor @param {number | null} ceiling */
function whole(marks, floor, ceiling) {
  if (floor !== null && ceiling !== null && floor > ceiling) {
    return "No day fits all of these: they don't belong to one part, or one was misread.";
  }
  if (floor === null && ceiling === null) return `${capital(boundWords(null, null))}.`;
  const used = marks.flatMap((mark) => mark.bounds).filter((bound) => isHard(bound) && (bound.day === floor || bound.day === ceiling));
  return `${capital(boundWords(floor, ceiling, areSure(used.map(({ status }) => status))))}. ${ONLY_THE_PART}`;
}

/** @param {Mark} mark */
function told({ words, bounds }) {
  const parts = bounds.filter(({ kind }) => kind !== 'rule').map(wordsOf);
  const last = parts.pop();
  return `${words}: ${parts.length ? `${parts.join(', ')} and ` : ''}${last}`;
}
