// @ts-check
/**
 * What to look at next: which open point would tell most about the window, per minute of work.
 *
 * @import { Model, NextLook, Point, Run, Sheet, Verdict } from './types.js'
 */
import { looked, spanOf } from './answers.js';
import { densities, width } from './model.js';
import { r9 } from './numbers.js';
import { ACCESS } from './sheet.js';
import { knownChanges } from './witnesses.js';

/**
 * What a look at a point would show: P(answer | month), one row an answer, and its entropy by month in bits.
 * @typedef {{ rows: Float64Array[], entropy: Float64Array }} Look
 */

/** Made when first asked for: a phone that judges need not propose. @type {WeakMap<Point, Look>} */
const LOOKS = new WeakMap();

/**
 * Every point that can still be looked at, the most telling per minute first.
 * @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @returns {NextLook[]}
 */
export function nextLooks(model, sheet, verdict) {
  /** @type {Run} */
  const window = [verdict.window[0] - model.covers[0], verdict.window[1] - model.covers[0]];
  const whole = window[0] === 0 && window[1] === model.months - 1;
  const views = viewsOf(verdict.posterior, window);
  const looks = openPoints(model, sheet).map((point) => ({
    point: point.id,
    ...bits(lookAt(model, point), verdict.posterior, views),
    minutes: point.json.minutes,
  }));
  const worth = (/** @type {NextLook} */ look) => r9((whole ? look.date_bits : look.window_bits) / look.minutes);
  return looks.sort((a, b) => worth(b) - worth(a));
}

/**
 * The points that may be looked at with the access and the tools at hand.
 * @param {Model} model @param {Sheet} sheet
 */
function openPoints(model, sheet) {
  const { own, silent } = knownChanges(model, sheet);
  return model.points.filter(
    (point) =>
      point.witness && point.made.length > 0 && isOpen(model, sheet, point) && !own.has(point.id) && !silent.has(point.id),
  );
}

/** @param {Model} model @param {Sheet} sheet @param {Point} point */
function isOpen({ rules }, sheet, point) {
  const answer = sheet.answers.get(point.id);
  if (looked(answer)) return false;
  if (answer && answer.not_seen !== null && answer.not_seen !== rules.still_open) return false;
  if (ACCESS.indexOf(point.json.access) > ACCESS.indexOf(sheet.access)) return false;
  const { tools } = sheet;
  return tools === null || (point.json.tools ?? []).every((tool) => tools.has(tool));
}

/**
 * The posterior within the window and in the rest, each with equal odds; null: nothing to tell it from.
 * @param {Float64Array} posterior @param {Run} window
 */
function viewsOf(posterior, [first, last]) {
  const within = posterior.map((p, t) => (t >= first && t <= last ? p : 0));
  const rest = posterior.map((p, t) => (t >= first && t <= last ? 0 : p));
  const held = rest.reduce((a, b) => a + b, 0);
  if (held === 0) return null;
  const inside = within.reduce((a, b) => a + b, 0);
  return { within: within.map((p) => (0.5 * p) / inside), rest: rest.map((p) => (0.5 * p) / held) };
}

/**
 * What a look would tell of the window and of the month.
 * @param {Look} look @param {Float64Array} posterior @param {ReturnType<typeof viewsOf>} views
 */
function bits({ rows, entropy }, posterior, views) {
  let date = -dot(entropy, posterior);
  let left = 0;
  for (const row of rows) {
    date += surprise(dot(row, posterior));
    if (!views) continue;
    const within = dot(row, views.within);
    const answer = within + dot(row, views.rest);
    left += answer * (surprise(within / answer) + surprise(1 - within / answer));
  }
  return { window_bits: views ? 1 - left : 0, date_bits: date };
}

/** @param {Float64Array} a @param {Float64Array} b */
function dot(a, b) {
  let sum = 0;
  for (let t = 0; t < a.length; t += 1) sum += a[t] * b[t];
  return sum;
}

/** −x·log₂x; no chance here is 0, as every look may be misread. @param {number} chance */
const surprise = (chance) => -chance * Math.log2(chance);

/** @param {Model} model @param {Point} point */
function lookAt(model, point) {
  let look = LOOKS.get(point);
  if (!look) LOOKS.set(point, (look = makeLook(model, point)));
  return look;
}

/**
 * What a look at a point would show, with the answer taken to be sure.
 * @param {Model} model @param {Point} point @returns {Look}
 */
function makeLook(model, point) {
  const { changed } = point.json;
  const { first, later } = point.json.kind === 'measure' ? measured(model, point) : listed(model, point);
  const rows = first.map((row, answer) => row.map((chance, t) => (1 - changed) * chance + changed * later[answer][t]));
  const entropy = new Float64Array(model.months);
  for (let t = 0; t < model.months; t += 1) {
    let sum = 0;
    for (const row of rows) sum += row[t];
    for (const row of rows) {
      row[t] /= sum;
      entropy[t] += surprise(row[t]);
    }
  }
  return { rows, entropy };
}

/** The answers of a pick, or the blocks of a serial. @param {Model} model @param {Point} point */
function listed({ rules }, point) {
  const slip = rules.misread_sure;
  const last = point.json.kind === 'serial' ? -1 : undefined;
  const misread = (/** @type {Float64Array} */ row) => row.map((chance) => (1 - slip) * chance + slip / point.made.length);
  const made = point.made.slice(0, last);
  return { first: made.map(misread), later: made.map((_, row) => misread(point.later(row))) };
}

/** Equal bins of a measure's span. @param {Model} model @param {Point} point */
function measured({ rules, months }, point) {
  const [slip, count] = [rules.misread_sure, rules.look_bins];
  const step = width(point) / count;
  const other = point.made[point.seen.length];
  const flat = new Float64Array(months).fill(1 / count);
  const first = Array.from({ length: count }, (_, bin) => {
    const heights = densities(point, spanOf(point)[0] + (bin + 0.5) * step);
    const chances = new Float64Array(months);
    heights.forEach((height, row) => {
      for (let t = 0; t < months; t += 1) chances[t] += height * point.made[row][t];
    });
    return chances.map((chance, t) => (1 - slip) * (chance * step + other[t] / count) + slip / count);
  });
  return { first, later: first.map(() => flat) };
}
