// @ts-check
/**
 * Points, answers and marks in words, as the server's pages have them.
 *
 * @import { Answer, Point, VariantJson } from './engine/types.js'
 */
import { MARK_KINDS, MARK_PLACES } from './card/tables.js';
import { monthWords, runWords } from './engine/months.js';
import { rounded } from './engine/numbers.js';
import { general } from './engine/text.js';
import { NOT_SEEN_WORDS, UNIT_WORDS } from './words.js';

/** A point's name: its own, or its id in words ("neck-depth-1": "Neck depth 1"). @param {Point} point */
export const pointWords = ({ json, id }) => json.name || capitalized(id.replaceAll('-', ' '));

/** @param {string} text */
const capitalized = (text) => text.charAt(0).toUpperCase() + text.slice(1).toLowerCase();

/** When a variant was fitted. @param {VariantJson} variant */
export function fittedWords({ knots, first, last }) {
  if (knots?.length) return knotWords(knots);
  if (first === undefined) return last === undefined ? 'all months' : `until ${monthWords(last)}`;
  return last === undefined ? `from ${monthWords(first)}` : runWords([first, last]);
}

/** Shares in words: a share that begins and never falls is a floor. @param {[number, number][]} knots */
function knotWords(knots) {
  const shares = knots.map(([, share]) => share);
  if (shares.every((share) => share === shares[0])) return 'all months';
  if (shares[0] === 0 && shares.every((share, i) => !i || share >= shares[i - 1])) {
    return `from ${monthWords(knots[shares.lastIndexOf(0)][0] + 1)}`;
  }
  return `shares by month ${runWords([knots[0][0], knots[knots.length - 1][0]])}`;
}

/** What was seen, how sure, where. @param {Point} point @param {Answer} answer */
export function answerWords(point, answer) {
  if (answer.not_seen) return `not seen: ${NOT_SEEN_WORDS[answer.not_seen].toLowerCase()}`;
  const unsure = answer.sure ? '' : ' (unsure)';
  const where = answer.where.length ? `, at ${answer.where.join(', ')}` : '';
  return seenWords(point, answer) + unsure + where;
}

/** @param {Point} point @param {Answer} answer */
function seenWords({ json, seen }, answer) {
  if (answer.value !== null) {
    const unit = json.unit ?? '';
    return `${general(rounded(answer.value, decimals(json.tolerance ?? 0)))} ${UNIT_WORDS[unit] ?? unit}`;
  }
  if (answer.read) return answer.read;
  const label = (/** @type {string} */ id) => seen.find((variant) => variant.id === id)?.label ?? 'None of these';
  return answer.seen.map(label).join(', ') || 'changed';
}

/**
 * How many decimals a gauge of this tolerance is worth: as many as bring up its first figure.
 * @param {number} tolerance
 */
export function decimals(tolerance) {
  return tolerance > 0 ? Math.max(0, -Number(tolerance.toExponential().split('e')[1])) : 3;
}

/** An identifying mark. @param {{ place: string, kind: string, mm: number }} mark */
export function markWords({ place, kind, mm }) {
  return `${MARK_KINDS[kind]}${mm ? `, ${general(mm)} mm` : ''}: ${MARK_PLACES[place]}`;
}

/** "11 Apr 2026", the day in UTC as it stands in the code. @param {Date} day */
export const dayWords = (day) => `${day.getUTCDate()} ${monthWords(12 * day.getUTCFullYear() + day.getUTCMonth())}`;

/** How wide a claim is: "3 months", "2 years 6 months". @param {[number, number]} claimed */
export function spanWords([first, last]) {
  const months = last - first + 1;
  const parts = /** @type {[number, string][]} */ ([[Math.floor(months / 12), 'year'], [months % 12, 'month']]);
  return parts.filter(([count]) => count).map(([count, unit]) => `${count} ${unit}${count > 1 ? 's' : ''}`).join(' ');
}
