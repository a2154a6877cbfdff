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

/** The same by number. @template T @param {(n: number) => T} make @returns {(n: number) => T} */
function onceEach(make) {
  /** @type {T[]} */
  const made = [];
  return (n) => (made[n] ??= make(n));
}

/**
 * @param {ModelJson} json @param {PointJson} point @param {number} place @param {number} months
 * @returns {Point}
 */
function compilePoint(json, point, place, months) {
  const seen = point.seen ?? [];
  const made = once(() => madeRows(point.made ?? [], months));
  const given = once(() => givenShares(json, point));
  const later = onceEach((row) => laterRow(json, given(), made(), row));
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
    later,
    normals: seen.map((v) => [v.mean ?? 0, Math.hypot(v.spread ?? 0, point.tolerance ?? 0)]),
    pattern: point.pattern === undefined ? null : new SerialPattern(point.pattern),
  };
}

/**
 * Calls for each run of equal numbers.
 * @param {Runs} runs @param {(value: number, from: number, to: number) => void} each
 */
function byRun(runs, each) {
  let at = 0;
  for (const run of runs) {
    const value = typeof run === 'number' ? run : run[0];
    const end = at + (typeof run === 'number' ? 1 : run[1]);
    each(value, at, end);
    at = end;
  }
}

/** The months from which on some row of a point may say something else, rising. @param {Point} point */
export function startsOf(point) {
  const starts = new Set([0]);
  for (const runs of point.json.made ?? []) byRun(runs, (_value, from) => starts.add(from));
  return [...starts].sort((a, b) => a - b);
}

/** Billionths as the fractions that they count. @param {Runs} runs @param {number} months */
function fractions(runs, months) {
  const whole = new Float64Array(months);
  byRun(runs, (value, from, to) => whole.fill(value / BILLION, from, to));
  return whole;
}

/**
 * U; the last listed variant is shipped as what it differs from all that the others leave.
 * @param {Runs[]} rows @param {number} months
 */
function madeRows(rows, months) {
  const last = rows.length - 2;
  return rows.map((runs, row) => (row === last ? lastRow(rows, last, months) : fractions(runs, months)));
}

/**
 * Runs are long: what changes from month to month is added up, in whole numbers.
 * @param {Runs[]} rows @param {number} last @param {number} months
 */
function lastRow(rows, last, months) {
  const steps = new Float64Array(months + 1);
  steps[0] = BILLION;
  rows.forEach((runs, row) => byRun(runs, (value, from, to) => {
    const step = row === last ? value : -value;
    steps[from] += step;
    steps[to] -= step;
  }));
  const whole = new Float64Array(months);
  let left = 0;
  for (let t = 0; t < months; t += 1) whole[t] = (left += steps[t]) / BILLION;
  return whole;
}

/**
 * A row of Q: a part put on later, from later production, a copy or a drawer.
 * @param {ModelJson} json @param {number[] | null} given  shares that the file gives @param {Float64Array[]} made @param {number} row
 */
function laterRow(json, given, made, row) {
  const now = made[row];
  const months = now.length;
  const later = new Float64Array(months);
  if (given) return later.fill(given[row]);
  const share = json.constants.later_production;
  const other = (1 - share) / made.length;
  let sum = now[months - 1];
  later[months - 1] = share * sum + other;
  for (let t = months - 2; t >= 0; t -= 1) {
    later[t] = share * (sum / (months - 1 - t)) + other;
    sum += now[t];
  }
  return later;
}

/**
 * The file's own shares among replaced parts, "other" last, or null.
 * @param {ModelJson} json @param {PointJson} point
 */
function givenShares(json, point) {
  const seen = /** @type {VariantJson[]} */ (point.made ? point.seen : []);
  if (seen.every((variant) => variant.if_changed === undefined)) return null;
  const listed = seen.map((variant) => variant.if_changed ?? 0);
  const sum = listed.reduce((a, b) => a + b, 0);
  const weights = [...listed, point.other_if_changed ?? json.constants.other_weight * sum];
  const all = weights.reduce((a, b) => a + b, 0);
  return weights.map((weight) => weight / all);
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
