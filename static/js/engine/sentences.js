// @ts-check
/**
 * What every sentence is made of: the case that is told, and words for points, numbers and months.
 *
 * @import { Model, NextLook, Point, Sentence, Sheet, Verdict } from './types.js'
 * @import { Months } from './months.js'
 */
import { looked } from './answers.js';
import { runWords } from './months.js';
import { rint } from './numbers.js';

const NUMBERS = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine'];

/**
 * Everything that a sentence may need; `seen` are the witnesses that were looked at.
 * @typedef {object} Case
 * @property {Model} model
 * @property {Sheet} sheet
 * @property {Verdict} verdict
 * @property {NextLook[]} looks
 * @property {Set<string>} silent
 * @property {Point[]} witnesses
 * @property {Point[]} seen
 * @property {string[]} found
 */

/**
 * @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @param {NextLook[]} looks
 * @param {Set<string>} silent @returns {Case}
 */
export function caseOf(model, sheet, verdict, looks, silent) {
  const witnesses = model.points.filter((point) => point.witness);
  return {
    model,
    sheet,
    verdict,
    looks,
    silent,
    witnesses,
    seen: witnesses.filter((point) => lookedAt(sheet, point)),
    found: [...verdict.flagged, ...verdict.odd].filter((id) => !verdict.declared.includes(id)),
  };
}

/** Whether somebody looked there. @param {Sheet} sheet @param {Point} point */
export const lookedAt = (sheet, point) => looked(sheet.answers.get(point.id));

/** @param {string} about @param {string} text @param {string[]} points @returns {Sentence} */
export const sentence = (about, text, points = []) => ({ about, text, points });

/**
 * A point as it stands in a sentence, by the reference's short name for it.
 * @param {Case} told @param {string} id
 */
export const name = ({ model }, id) => within(model.byId.get(id)?.json.name ?? '');

/** Points as they stand in a sentence. @param {Case} told @param {string[]} ids */
export const names = (told, ids) => ids.map((id) => name(told, id)).join(', ');

/**
 * A label as it stands inside a sentence: "Head mark" → "head mark", "E string" as is.
 * @param {string} label
 */
function within(label) {
  const [first = '', second = '', ...rest] = label;
  const small = second !== second.toUpperCase();
  return small ? [first.toLowerCase(), second, ...rest].join('') : label;
}

/** A count in words up to nine. @param {number} count */
export const number = (count) => NUMBERS[count] ?? String(count);

/** @param {string} text */
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** Parts as in speech: "a, b and c". @param {string[]} parts */
export const listed = (parts) => [parts.slice(0, -1).join(', '), parts.at(-1)].filter(Boolean).join(' and ');

/** Runs of months in words. @param {Months[]} runs */
export const reads = (runs) => listed(runs.map(runWords));

/** A chance as "about one in … shows"; the arithmetic is too rough for more. @param {number} tail */
export function oneIn(tail) {
  if (tail > 0.6) return 'most show';
  if (tail < 0.001) return 'fewer than one in a thousand shows';
  const times = rint(1 / tail);
  return `about one in ${number(times < 20 ? times : 10 * rint(times / 10))} shows`;
}
