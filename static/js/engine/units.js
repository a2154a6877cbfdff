// @ts-check
/**
 * Lengths, weights and resistances as people write them at a table, and exact conversion.
 *
 * Factors are exact by definition (NIST SP 811, appendix B) and kept as fractions of whole numbers,
 * so a conversion is rounded once, at the end.
 */
import { unreadable } from './errors.js';
import { length, shown, spaced, strip } from './text.js';

/** Numerator and denominator. @typedef {readonly [bigint, bigint]} Fraction */
/**
 * `scale`: how many mm, g or ohm it holds; `split`: whether people write it in halves, quarters …
 * @typedef {{ name: string, kind: string, scale: Fraction, spellings: string[], split: boolean }} Unit
 */

const POUND = 45359237n; // of 1/100000 g
/** @type {Unit[]} */
const TABLE = [
  { name: 'in', kind: 'length', scale: [254n, 10n], spellings: ['in', 'inch', 'inches', '"', '″', '”'], split: true },
  { name: 'mm', kind: 'length', scale: [1n, 1n], spellings: ['mm', 'millimetre', 'millimetres'], split: false },
  { name: 'lb', kind: 'weight', scale: [POUND, 100000n], spellings: ['lb', 'lbs', 'pound', 'pounds'], split: true },
  { name: 'oz', kind: 'weight', scale: [POUND, 1600000n], spellings: ['oz', 'ounce', 'ounces'], split: true },
  { name: 'kg', kind: 'weight', scale: [1000n, 1n], spellings: ['kg', 'kilo', 'kilos'], split: false },
  { name: 'g', kind: 'weight', scale: [1n, 1n], spellings: ['g', 'gram', 'grams'], split: false },
  { name: 'ohm', kind: 'resistance', scale: [1n, 1n], spellings: ['ohm', 'ohms', 'Ω', 'r'], split: false },
  { name: 'kohm', kind: 'resistance', scale: [1000n, 1n], spellings: ['kohm', 'kohms', 'kΩ', 'k', 'k ohm'], split: false },
];
export const UNITS = new Map(TABLE.map((unit) => [unit.name, unit]));
const SPELT = new Map(TABLE.flatMap((unit) => unit.spellings.map((word) => [small(word), unit])));
const FINEST = 64; // gauges and rulers are cut to 64ths of an inch
const LONGEST = 40;
const SMALL_DIGIT = /[¹²³⁰-₉]/; // a raised 2 is no 2
const NUMBER =
  /^(?:(?:(?<whole>[0-9]{1,6})[ -]+)?(?<top>[0-9]{1,4})\/(?<bottom>[0-9]{1,2})|(?<decimal>[0-9]{1,9}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9}))$/;
const THOUSANDS = /^([1-9][0-9]{0,2}),([0-9]{3})$/;
const POUNDS_OUNCES = /^(.+?) ?(?:lbs?|pounds?) ?,? ?([0-9].*?) ?(?:oz|ounces?)$/;
/** @type {Record<string, string>} */
const EXAMPLES = { length: '1 11/16 in', weight: '8 lb 4 oz', resistance: '7.4 kohm' };

/** @param {string} name @returns {Unit} */
export function unitOf(name) {
  const unit = UNITS.get(name);
  if (!unit) throw unreadable('unit', `one of ${[...UNITS.keys()].join(', ')}`, shown(name), 'Use one of these.');
  return unit;
}

/** A value in another unit of the same kind. @param {number} value @param {string} unit @param {string} to */
export function convert(value, unit, to) {
  const [have, want] = [unitOf(unit), unitOf(to)];
  if (have.kind !== want.kind) {
    throw unreadable('unit', `a unit of ${want.kind} (${ofKind(want.kind)})`, shown(unit), `A ${have.kind} can't be told in ${to}.`);
  }
  const size = Number.isFinite(value) ? nearest(times(times(exact(value), have.scale), [want.scale[1], want.scale[0]])) : value;
  if (!Number.isFinite(size)) throw unreadable('value', 'a number of ordinary size', shown(value), how(have.kind));
  return size;
}

/**
 * What was written, in the unit written; `unit` where none is. Refused: a unit of another kind;
 * "7,400", which reads two ways; a fraction of a metric unit.
 * @param {string} text @param {string} unit @returns {{ value: number, unit: string }}
 */
export function parseQuantity(text, unit) {
  const asked = unitOf(unit);
  if (length(text) > LONGEST || SMALL_DIGIT.test(text)) {
    throw refused(asked, text, `one number and its unit, at most ${LONGEST} signs`);
  }
  const written = plainly(text);
  const pair = POUNDS_OUNCES.exec(written);
  if (pair) return poundsAndOunces(asked, text, pair);
  const figures = /^[0-9.,/ -]*/.exec(written)?.[0] ?? '';
  const given = named(strip(written.slice(figures.length)), asked, text);
  return { value: nearest(number(strip(figures), given, text)), unit: given.name };
}

/** @param {Unit} asked @param {string} text @param {RegExpExecArray} pair */
function poundsAndOunces(asked, text, pair) {
  const [pound, ounce] = [unitOf('lb'), unitOf('oz')];
  sameKind(pound, asked, text);
  const ounces = number(/** @type {string} */ (pair[2]), ounce, text);
  if (ounces[0] >= 16n * ounces[1]) throw refused(asked, text, 'fewer than 16 ounces beside pounds');
  const pounds = number(/** @type {string} */ (pair[1]), pound, text);
  return { value: nearest(plus(pounds, times(ounces, [1n, 16n]))), unit: 'lb' };
}

/** Small letters, compatible forms folded, single blanks. @param {string} text */
function small(text) {
  return spaced(text.normalize('NFKC').toLowerCase());
}

/** Small letters, single blanks, ½ as 1/2. @param {string} text */
function plainly(text) {
  const apart = [...text].map((sign) => (sign !== '⁄' && sign.normalize('NFKC').includes('⁄') ? ` ${sign}` : sign));
  return small(apart.join('').normalize('NFKC').replaceAll('⁄', '/'));
}

/** @param {string} name @param {Unit} asked @param {string} text */
function named(name, asked, text) {
  const given = name ? SPELT.get(name) : asked;
  if (!given) throw refused(asked, text, `a unit of ${asked.kind} (${ofKind(asked.kind)})`);
  return sameKind(given, asked, text);
}

/** @param {Unit} given @param {Unit} asked @param {string} text */
function sameKind(given, asked, text) {
  if (given.kind !== asked.kind) throw refused(asked, text, `a ${asked.kind} (${ofKind(asked.kind)})`);
  return given;
}

/** @param {string} figures @param {Unit} unit @param {string} text @returns {Fraction} */
function number(figures, unit, text) {
  const found = NUMBER.exec(figures)?.groups;
  if (!found) throw refused(unit, text, 'one number, not negative');
  if (found.decimal === undefined) return broken(found, unit, text);
  const thousands = THOUSANDS.exec(figures);
  if (thousands) {
    const [, whole, part] = thousands;
    throw unreadable('value', 'a number that reads only one way', shown(text), `Write ${whole}.${part} or ${whole}${part}.`);
  }
  const [whole = '', part = ''] = figures.split(/[.,]/);
  return [BigInt(whole + part), 10n ** BigInt(part.length)];
}

/**
 * @param {Record<string, string | undefined>} found @param {Unit} unit @param {string} text
 * @returns {Fraction}
 */
function broken(found, unit, text) {
  if (!unit.split) throw refused(unit, text, `a decimal number, as ${unit.name} are not told in fractions`);
  const [top, bottom] = [Number(found.top), Number(found.bottom)];
  const proper = found.whole === undefined || top < bottom;
  if ((bottom & (bottom - 1)) !== 0 || bottom < 2 || bottom > FINEST || !proper) {
    throw refused(unit, text, `halves, quarters, 8ths, 16ths, 32nds or ${FINEST}ths`);
  }
  return plus([BigInt(found.whole ?? 0), 1n], [BigInt(top), BigInt(bottom)]);
}

/** @param {Unit} asked @param {string} text @param {string} expected */
const refused = (asked, text, expected) => unreadable('value', expected, shown(text), how(asked.kind));

/** @param {string} kind */
const how = (kind) => `Write a number and its unit, like "${EXAMPLES[kind]}".`;

/** A weight of grams in tenths of an ounce, the nearest whole number, halves to even. @param {number} grams */
export function tenthsOfOunces(grams) {
  const [top, bottom] = times(exact(grams), [16000000n, POUND]);
  const doubled = 2n * (top % bottom);
  const up = doubled > bottom || (doubled === bottom && (top / bottom) % 2n === 1n);
  return Number(top / bottom + (up ? 1n : 0n));
}

/** @param {string} kind */
const ofKind = (kind) => TABLE.filter((unit) => unit.kind === kind).map((unit) => unit.name).join(', ');

// Fractions

/** @param {Fraction} a @param {Fraction} b @returns {Fraction} */
const times = (a, b) => [a[0] * b[0], a[1] * b[1]];

/** @param {Fraction} a @param {Fraction} b @returns {Fraction} */
const plus = (a, b) => [a[0] * b[1] + b[0] * a[1], a[1] * b[1]];

/** A finite number as the fraction that it is. @param {number} x @returns {Fraction} */
function exact(x) {
  let doublings = 0n;
  for (; !Number.isInteger(x); doublings += 1n) x *= 2;
  return [BigInt(x), 1n << doublings];
}

/**
 * The double nearest to a fraction: the quotient is taken to more than 64 bits, a lost rest is
 * kept as its last bit, and the one rounding is that of BigInt to Number (ties to even).
 * @param {Fraction} fraction
 */
function nearest([top, bottom]) {
  const size = top < 0n ? -top : top;
  const shift = Math.max(0, 66 + bits(bottom) - bits(size));
  const wide = size << BigInt(shift);
  const quotient = (wide / bottom) | (wide % bottom ? 1n : 0n);
  const value = Number(quotient) / 2 ** shift;
  return top < 0n ? -value : value;
}

/** @param {bigint} whole */
const bits = (whole) => whole.toString(2).length;
