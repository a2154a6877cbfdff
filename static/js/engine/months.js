// @ts-check
/** Whole months as numbers: January of year 0 is 0, so that months can be counted and compared. */
import { unreadable } from './errors.js';
import { shown, strip } from './text.js';

/** First and last month, both inclusive. @typedef {[number, number]} Months */

const FIRST = 12 * 1800;
const LAST = 12 * 2100 + 11;
const FORM = /^([0-9]{4})-(0[1-9]|1[0-2])$/;
export const NAMES = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** @param {number} year @param {number} month  1 to 12 */
export const monthOf = (year, month) => 12 * year + month - 1;

/** @param {number} month */
const yearOf = (month) => Math.floor(month / 12);

/** @param {string} text @param {string} where @returns {number} */
export function parseMonth(text, where = 'month') {
  const found = FORM.exec(strip(text));
  const month = found ? monthOf(Number(found[1]), Number(found[2])) : -1;
  if (month < FIRST || month > LAST) {
    throw unreadable(
      where,
      'a month from 1800-01 to 2100-12, written like 1954-03',
      shown(text),
      'Write four digits, a hyphen and two digits.',
    );
  }
  return month;
}

/** "1954-03" @param {number} month */
export const monthText = (month) =>
  `${String(yearOf(month)).padStart(4, '0')}-${String((month % 12) + 1).padStart(2, '0')}`;

/** "Mar 1954" @param {number} month */
export const monthWords = (month) => `${NAMES[month % 12]} ${yearOf(month)}`;

/** "Mar 1954", "Mar–May 1954", "Nov 1953–Jan 1955", "1953–1954" @param {Months} run */
export function runWords([first, last]) {
  if (first === last) return monthWords(first);
  const [year, end] = [yearOf(first), yearOf(last)];
  if (first % 12 === 0 && last % 12 === 11) return year === end ? `${year}` : `${year}–${end}`;
  return year === end ? `${NAMES[first % 12]}–${monthWords(last)}` : `${monthWords(first)}–${monthWords(last)}`;
}
