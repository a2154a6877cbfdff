// @ts-check
/** Days and years of stamps, and the words for them. Days are counted from 1 January 1970. */
import { NAMES } from './months.js';

const FIRST_LIST = 1946; // year of the registrar's first list of source symbols
const LAST_ONE_DIGIT = 1989; // judgement: two-digit years were the rule by the end of the 1960s
export const DAY = 86400000;

/** @param {number} year @param {number} month  1 to 12 @param {number} day */
export const dayOf = (year, month, day) => Date.UTC(year, month - 1, day) / DAY;

/** @param {number} year @param {number} day  of January */
export const january = (year, day) => dayOf(year, 1, day);

/** 1 for Monday to 7 for Sunday @param {number} day */
export const weekday = (day) => ((((day + 3) % 7) + 7) % 7) + 1;

/** "14 Aug 1966" @param {number} day */
export function dayWords(day) {
  const date = new Date(day * DAY);
  return `${date.getUTCDate()} ${NAMES[date.getUTCMonth()]} ${date.getUTCFullYear()}`;
}

/**
 * One digit: every decade from the first list on. Two: the hundred years from then on.
 * @param {string} digits
 */
export function registeredYears(digits) {
  const span = digits.length === 1 ? 10 : 100;
  const first = FIRST_LIST + ((((Number(digits) - FIRST_LIST) % span) + span) % span);
  const years = [];
  for (let year = first; year <= (span === 10 ? LAST_ONE_DIGIT : first); year += span) years.push(year);
  return years;
}

/** Two digits on a plain stamp may also be older than the registered symbols. @param {string} digits */
export function plainYears(digits) {
  return [...new Set([1900 + Number(digits), ...registeredYears(digits)])].sort((a, b) => a - b);
}

/** "1946, 1956 or 1966" @param {string[]} words */
export const listed = (words) =>
  words.length > 1 ? `${words.slice(0, -1).join(', ')} or ${words.at(-1)}` : words.join('');

/** @param {string} words */
export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** What a floor says of a part. @param {number} floor */
export const floorWords = (floor) =>
  `the part is no older than ${dayWords(floor)}. This bounds the part, never the instrument.`;
