// @ts-check
/**
 * A reference as tables of months, made from model.json: what was fitted when (U, as shipped), and
 * what replaces it (Q, reckoned here). A point's rows are its variants in file order, then "other".
 *
 * @import { Model, ModelJson, Point, PointJson, Runs, VariantJson } from './types.js'
 */
import { spanOf } from './answers.js';
import { r9 } from './numbers.js';
import { SerialPattern } from './serials.js';

/** The group of all date codes, and the set that may give their rate. */
export const CODES = 'codes';

const FORMAT = 1;
const BILLION = 1e9;

/** @param {ModelJson} json @returns {Model} */
export function compileModel(json) {
  if (json.format !== FORMAT) throw new RangeError(`model.json of format ${json.format}, not ${FORMAT}`);
  const months = json.covers[1] - json.covers[0] + 1;
  const points = json.points.map((point, place) => compilePoint(json, point, place, months));
  return {
    json,
    rules: json.constants,
    covers: json.covers,
    months,
    weights: fractions(json.weights, months),
    points,
    byId: new Map(points.map((point) => [point.id, point])),
  };
}

/**
 * What is made when it is first asked for: no point's tables are needed before it is answered.
 * @template T @param {() => T} make @returns {() => T}
 */
function once(make) {
  /** @type {T | undefined} */
  let made;
  return () => (made ??= make());
}

/**
 * @param {ModelJson} json @param {PointJson} point @param {number} place @param {number} months
 * @returns {Point}
 */
function compilePoint(json, point, place, months) {
  const seen = point.seen ?? [];
  const made = once(() => madeRows(point.made ?? [], months));
  const later = once(() => laterRows(json, point, made(), months));
  const group = point.kind === 'datecode' ? CODES : (point.changed_with ?? `point:${point.id}`);
  const together = Object.hasOwn(json.sets, group) ? json.sets[group].changed : 0;
  return {
    json: point,
    id: point.id,
    place,
    witness: point.kind !== 'sign' && point.assembly !== 'case',
    group,
    together,
    lasting: r9(Math.max(point.changed, together)) <= json.constants.lasting,
    seen,
    bearsOn: new Set(point.bears_on),
    get made() { return made(); },
    get later() { return later(); },
    normals: seen.map((v) => [v.mean ?? 0, Math.hypot(v.spread ?? 0, point.tolerance ?? 0)]),
    pattern: point.pattern === undefined ? null : new SerialPattern(point.pattern),
  };
}

/** Whole numbers written out. @param {Runs} runs @param {number} months */
function unrolled(runs, months) {
  const whole = new Float64Array(months);
  let at = 0;
  for (const run of runs) {
    const [value, count] = typeof run === 'number' ? [run, 1] : run;
    whole.fill(value, at, at + count);
    at += count;
  }
  return whole;
}

/** Billionths as the fractions that they count. @param {Runs} runs @param {number} months */
const fractions = (runs, months) => unrolled(runs, months).map((n) => n / BILLION);

/**
 * U; the last listed variant is shipped as what it differs from all that the others leave.
 * @param {Runs[]} rows @param {number} months
 */
function madeRows(rows, months) {
  const whole = rows.map((runs) => unrolled(runs, months));
  const last = whole.at(-2);
  for (let t = 0; last && t < months; t += 1) {
    last[t] += BILLION;
    for (const row of whole) if (row !== last) last[t] -= row[t];
  }
  return whole.map((row) => row.map((n) => n / BILLION));
}

/**
 * Q: a part put on later, from later production, a copy or a drawer.
 * @param {ModelJson} json @param {PointJson} point @param {Float64Array[]} made @param {number} months
 */
function laterRows(json, point, made, months) {
  const weights = givenWeights(json, point);
  if (weights) {
    const sum = weights.reduce((a, b) => a + b, 0);
    return weights.map((weight) => new Float64Array(months).fill(weight / sum));
  }
  const share = json.constants.later_production;
  return made.map((row) => {
    const later = row.slice();
    let sum = row[months - 1];
    for (let t = months - 2; t >= 0; t -= 1) {
      later[t] = sum / (months - 1 - t);
      sum += row[t];
    }
    return later.map((mean) => share * mean + (1 - share) / made.length);
  });
}

/**
 * The file's own weights among replaced parts, "other" last, or null.
 * @param {ModelJson} json @param {PointJson} point
 */
function givenWeights(json, point) {
  const seen = /** @type {VariantJson[]} */ (point.made ? point.seen : []);
  if (seen.every((variant) => variant.if_changed === undefined)) return null;
  const listed = seen.map((variant) => variant.if_changed ?? 0);
  const sum = listed.reduce((a, b) => a + b, 0);
  return [...listed, point.other_if_changed ?? json.constants.other_weight * sum];
}

/** The density of a measured value for each variant. @param {Point} point @param {number} x */
export function densities(point, x) {
  return point.normals.map(([mean, deviation]) => {
    const z = (x - mean) / deviation;
    return Math.exp(-0.5 * z * z) / (deviation * Math.sqrt(2 * Math.PI));
  });
}

/** The width of a measure's span, in the point's unit. @param {Point} point */
export function width(point) {
  const [low, high] = spanOf(point);
  return high - low;
}
