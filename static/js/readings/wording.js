// @ts-check
/** Words and numbers that several readings share, as the Python room `readings` has them. */
import { DAY, dayWords } from '../engine/datewords.js';
import { rounded } from '../engine/numbers.js';
import { STATUSES } from './facts.js';

/**
 * What a text can mean, in the form that the command line prints; days as "1966-08-14".
 * @typedef {{ from: string | null, to: string | null, year: number | null, week: number | null, source: string | null, says: string, [more: string]: unknown }} Meaning
 */
/**
 * @typedef {{ scheme: string, read: string, meanings: Meaning[], floor: string | null, ceiling: string | null, says: string, sources: string[] }} Reading
 */

export const ONLY_THE_PART = 'This bounds the part, never the instrument.';
const SURE = ['checked', 'derived'];
const NAMES = STATUSES.map(([name]) => name);

/** The words of the status that is known least well. @param {number[]} statuses  each by its number, best first */
export const statusWords = (statuses) => STATUSES[Math.max(...statuses)][1];

/** @param {number} status */
export const statusName = (status) => NAMES[status];

/** @param {string} name */
export const statusOf = (name) => NAMES.indexOf(name);

/** Whether all of these may be told as they stand. @param {number[]} statuses */
export const areSure = (statuses) => statuses.every((status) => SURE.includes(NAMES[status]));

/** Both bounds in a sentence's end. @param {number | null} floor @param {number | null} ceiling @param {boolean} [sure] */
export function boundWords(floor, ceiling, sure = true) {
  const ends = [];
  if (floor !== null) ends.push(`no older than ${dayWords(floor)}`);
  if (ceiling !== null) ends.push(`no younger than ${dayWords(ceiling)}`);
  return ends.length ? `the part is ${sure ? '' : 'said to be '}${ends.join(' and ')}` : 'that bounds nothing';
}

/** The days that are given. @param {(number | null)[]} days */
export const given = (days) => /** @type {number[]} */ (days.filter((day) => day !== null));

/** "1966-08-14" @param {number | null} day  from 1 January 1970 @returns {string | null} */
export const iso = (day) => (day === null ? null : new Date(day * DAY).toISOString().slice(0, 10));

/** Each once, empty ones left out. @param {string[]} words */
export const once = (words) => [...new Set(words)].filter((word) => word);

/** So many decimals, as the format "f" has them. @param {number} x @param {number} decimals */
export function fixed(x, decimals) {
  const near = rounded(x, decimals);
  return (Object.is(near, -0) ? '-' : '') + near.toFixed(decimals);
}

/** "7,400" @param {number} x */
export const thousands = (x) => fixed(x, 0).replace(/\B(?=(?:[0-9]{3})+$)/g, ',');

/** A meaning that is a number and bounds no day. @param {string} what @param {number} value @param {string} unit @param {string} says @param {Record<string, unknown>} [more] @returns {Meaning} */
export const measured = (what, value, unit, says, more = {}) =>
  ({ from: null, to: null, year: null, week: null, source: null, says, what, value, unit, ...more });
