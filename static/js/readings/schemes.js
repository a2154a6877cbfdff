// @ts-check
/**
 * Every way of reading a marking or a gauge, by name. What comes out is what the command line prints
 * with `--json`: the Python room `readings` is the one that counts, this one gives its words exactly.
 *
 * @import { Meaning, Reading } from './wording.js'
 * @import { Meaning as Days } from '../engine/codes.js'
 */
import { readCode } from '../engine/codes.js';
import { unreadable } from '../engine/errors.js';
import { length, shown, spaced } from '../engine/text.js';
import { readResistance } from './coils.js';
import { PARTS, SCHEMES, SOURCES } from './facts.js';
import { readScale } from './frets.js';
import { readMarks } from './marks.js';
import { readPatent } from './patents.js';
import { readWeight } from './scales.js';
import { iso, once, statusName } from './wording.js';

/** @typedef {Omit<Reading, 'scheme' | 'read'>} Found */
/** @typedef {(text: string) => Found} Read */

/** @type {Map<string, Read>} */
const READ = new Map([
  ...['year-week', 'source-week', 'date-stamp'].map((name) => /** @type {[string, Read]} */ ([name, (text) => readDate(name, text)])),
  ['patent-us', readPatent],
  ...['postal-us', 'mark'].map((name) => /** @type {[string, Read]} */ ([name, (text) => readMarks(name, text)])),
  ['scale-length', readScale],
  ['resistance', readResistance],
  ['weight', readWeight],
]);

/** What a text means by a scheme; ReadingError where it means nothing. @param {string} name @param {string} text @returns {Reading} */
export function readText(name, text) {
  const scheme = SCHEMES[name];
  const read = READ.get(name);
  if (!scheme || !read) throw unreadable('scheme', `one of ${[...READ.keys()].join(', ')}`, shown(name), 'Use one of these.');
  if (length(text) > scheme.longest) {
    throw unreadable('code', `a code like ${scheme.example}. ${scheme.about}`, shown(text), 'Copy the stamp again.');
  }
  const plain = spaced(text);
  return { scheme: name, read: plain, ...read(plain) };
}

/** @param {string} name @param {string} text */
function readDate(name, text) {
  const { meanings, says } = readCode(name, text);
  const parts = meanings.flatMap(({ source }) => PARTS.filter(([symbol]) => symbol === source));
  return {
    meanings: meanings.map(meaning),
    floor: iso(meanings[0].first),
    ceiling: null,
    says,
    sources: once([...SCHEMES[name].sources, ...parts.map((part) => `part symbols: ${SOURCES[part[3]]}`)]),
  };
}

/** @param {Days} days @returns {Meaning} */
function meaning({ first, last, year, week, says, source }) {
  const part = PARTS.find(([symbol]) => symbol === source);
  const usual = part ? { usual: part[1], status: statusName(part[2]) } : {};
  return { from: iso(first), to: iso(last), year, week, source: source || null, says, ...usual };
}
