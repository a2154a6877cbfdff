// @ts-check
/**
 * What to look at next: which open point would tell most about the window, per minute of work.
 *
 * @import { Model, NextLook, Point, Run, Sheet, Verdict } from './types.js'
 */
import { looked, spanOf } from './answers.js';
import { densities, startsOf, width } from './model.js';
import { r9 } from './numbers.js';
import { ACCESS } from './sheet.js';
import { knownChanges } from './witnesses.js';

/**
 * What a look at a point would show: P(answer | month), one row an answer, and its entropy by month in
 * bits. Months that no answer tells apart are one stretch; `starts`: where each begins, null: all months.
 * @typedef {{ rows: Float64Array[], entropy: Float64Array, starts: number[] | null }} Look
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

/** Makes ready for each open point what a look would show, one by one. @param {Model} model @param {Sheet} sheet @returns {Generator<void>} */
export function* looking(model, sheet) {
  for (const point of openPoints(model, sheet)) {
    yield;
    lookAt(model, point);
  }
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
  const within = new Float64Array(posterior.length);
  const rest = posterior.slice();
  let inside = 0;
  let held = 0;
  for (let t = first; t <= last; t += 1) {
    within[t] = posterior[t];
    inside += posterior[t];
    rest[t] = 0;
  }
  for (let t = 0; t < rest.length; t += 1) held += rest[t];
  if (held === 0) return null;
  for (let t = first; t <= last; t += 1) within[t] = (0.5 * within[t]) / inside;
  for (let t = 0; t < rest.length; t += 1) rest[t] = (0.5 * rest[t]) / held;
  return { within, rest };
}

/**
 * What a look would tell of the window and of the month.
 * @param {Look} look @param {Float64Array} posterior @param {ReturnType<typeof viewsOf>} views
 */
function bits({ rows, entropy, starts }, posterior, views) {
  const held = added(posterior, starts);
  const inside = views && added(views.within, starts);
  const outside = views && added(views.rest, starts);
  let date = -dot(entropy, held);
  let left = 0;
  for (const row of rows) {
    date += surprise(dot(row, held));
    if (!inside || !outside) continue;
    const within = dot(row, inside);
    const answer = within + dot(row, outside);
    left += answer * (surprise(within / answer) + surprise(1 - within / answer));
  }
  return { window_bits: views ? 1 - left : 0, date_bits: date };
}

/** Values by month, added up by stretch. @param {Float64Array} values @param {number[] | null} starts */
function added(values, starts) {
  if (!starts) return values;
  const sums = new Float64Array(starts.length);
  for (let n = 0; n < starts.length; n += 1) {
    const end = starts[n + 1] ?? values.length;
    for (let t = starts[n]; t < end; t += 1) sums[n] += values[t];
  }
  return sums;
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
  const { rows, starts } = point.json.kind === 'measure' ? measured(model, point) : listed(model, point);
  const entropy = new Float64Array(rows[0].length);
  for (let t = 0; t < entropy.length; t += 1) {
    let sum = 0;
    for (let n = 0; n < rows.length; n += 1) sum += rows[n][t];
    for (let n = 0; n < rows.length; n += 1) {
      const chance = rows[n][t] / sum;
      rows[n][t] = chance;
      entropy[t] += surprise(chance);
    }
  }
  return { rows, entropy, starts };
}

/** The answers of a pick, or the blocks of a serial. @param {Model} model @param {Point} point */
function listed({ rules }, point) {
  const slip = rules.misread_sure;
  const { changed, kind } = point.json;
  const misread = slip / point.made.length;
  const rows = point.made.slice(0, kind === 'serial' ? -1 : undefined).map((made, n) => {
    const later = point.later(n);
    const row = new Float64Array(made.length);
    for (let t = 0; t < row.length; t += 1) {
      row[t] = (1 - changed) * ((1 - slip) * made[t] + misread) + changed * ((1 - slip) * later[t] + misread);
    }
    return row;
  });
  return { rows, starts: null };
}

/** Equal bins of a measure's span. @param {Model} model @param {Point} point */
function measured({ rules }, point) {
  const [slip, count] = [rules.misread_sure, rules.look_bins];
  const { changed } = point.json;
  const { made } = point;
  const step = width(point) / count;
  const starts = startsOf(point);
  const rows = Array.from({ length: count }, (_, bin) => {
    const heights = densities(point, spanOf(point)[0] + (bin + 0.5) * step);
    const row = new Float64Array(starts.length);
    for (let n = 0; n < row.length; n += 1) {
      const t = starts[n];
      let height = 0;
      for (let i = 0; i < heights.length; i += 1) height += heights[i] * made[i][t];
      const first = (1 - slip) * (height * step + made[point.seen.length][t] / count) + slip / count;
      row[n] = (1 - changed) * first + changed / count;
    }
    return row;
  });
  return { rows, starts };
}
