// @ts-check
/**
 * From answers to chances: what each witness says of every month.
 *
 * O is the chance of the answer if the part is the first one and the instrument was built in t; B the
 * chance if it was changed; G the part of O in which it was read right and is a listed variant. They
 * are kept scaled by what is known about change:
 *
 *     later = ρ·r·B      swapped = r·B      listed = (1−ρ)·o·G      alone = (1−ρ)·o·O + later
 *
 * Date codes share one unknown, how long parts lay in stock: they carry a stretch of T numbers for
 * each scale of it, one after the other.
 *
 * @import { Answer, Model, Point, Rules, Sheet, VariantJson } from './types.js'
 */
import { hasReading, measureStep, measureValue, nothing } from './answers.js';
import { CODES, densities, width } from './model.js';
import { logsOf, overLags, sum } from './rows.js';

/**
 * A point whose answer may speak, with what is known about change of the part.
 * @typedef {{ point: Point, answer: Answer, state: string, odds: number, declared: boolean }} Witness
 */
/**
 * O, B and G of one answer, by month, or by scale of lag and month.
 * @typedef {{ made: Float64Array, changed: Float64Array, listed: Float64Array }} Read
 */
/**
 * What one answer says; arrays are as long as those of its group.
 * @typedef {object} Says
 * @property {Witness} from  what it was reckoned from
 * @property {Float64Array} later
 * @property {Float64Array} swapped
 * @property {Float64Array} listed
 * @property {Float64Array} alone
 * @property {Float64Array} byMonth  M: `alone`, averaged over the scales of lag
 * @property {Float64Array} logs  ln M
 */
/** @typedef {Says & { witness: Witness }} Said */
/**
 * Witnesses that may all have been changed at once; `lags`: scales that they carry, or 1.
 * @typedef {{ together: number, lags: number, members: Said[] }} Group
 */

/** ε: how often such a look is wrong. @param {Rules} rules @param {Answer} answer */
export const slipOf = (rules, answer) => (answer.sure ? rules.misread_sure : rules.misread_unsure);

// Which points speak

/**
 * Points that disclosures declare changed, and those that say nothing any more.
 * @param {Model} model @param {Sheet} sheet
 */
export function knownChanges(model, sheet) {
  /** @type {Set<string>} */
  const own = new Set();
  /** @type {Set<string>} */
  const silent = new Set();
  for (const name of sheet.disclosures) {
    const effect = model.json.disclosures[name];
    for (const id of effect.own ?? []) own.add(id);
    for (const id of effect.others ?? []) silent.add(id);
  }
  for (const [sign, variant] of ticked(model, sheet)) {
    if (variant.silent) for (const id of sign.bearsOn) silent.add(id);
  }
  return { own, silent };
}

/**
 * Each sign ticked, with the variant that was.
 * @param {Model} model @param {Sheet} sheet @returns {[Point, VariantJson][]}
 */
function ticked(model, sheet) {
  return model.points
    .filter((point) => point.json.kind === 'sign' && sheet.answers.has(point.id))
    .flatMap((sign) =>
      sign.seen
        .filter((variant) => sheet.answers.get(sign.id)?.seen.includes(variant.id))
        .map((variant) => /** @type {[Point, VariantJson]} */ ([sign, variant])),
    );
}

/**
 * The witnesses of a sheet, in the reference's order.
 * @param {Model} model @param {Sheet} sheet @returns {Witness[]}
 */
export function findWitnesses(model, sheet) {
  const { own, silent } = knownChanges(model, sheet);
  const odds = oddsOf(model, sheet);
  return model.points
    .filter((point) => point.witness && !silent.has(point.id))
    .map((point) => {
      const answer = sheet.answers.get(point.id) ?? nothing();
      const state = own.has(point.id) ? 'changed' : (answer.state ?? '');
      return { point, answer, state, odds: odds.get(point.id) ?? 1, declared: state === 'changed' };
    })
    .filter((witness) => witness.state || hasReading(witness.answer));
}

/** The factor that signs put on "changed", by point. @param {Model} model @param {Sheet} sheet */
function oddsOf(model, sheet) {
  /** @type {Map<string, number>} */
  const odds = new Map();
  for (const [sign, variant] of ticked(model, sheet)) {
    for (const id of sign.bearsOn) odds.set(id, (odds.get(id) ?? 1) * (variant.odds ?? 1));
  }
  return odds;
}

// What an answer says

/** O, B and G of one answer. @param {Model} model @param {Witness} witness @returns {Read} */
function read(model, { point, answer }) {
  if (!hasReading(answer)) {
    // Nothing but a change is known: it speaks for no month.
    const ones = new Float64Array(model.months).fill(1);
    return { made: ones, changed: ones, listed: new Float64Array(model.months) };
  }
  switch (point.json.kind) {
    case 'measure':
      return readMeasure(model, point, answer);
    case 'datecode':
      return readDatecode(model, answer);
    case 'serial':
      return readRows(model, point, answer, blocksOf(point, answer.number));
    default:
      return readRows(model, point, answer, [rowOf(point, answer.seen[0])]);
  }
}

/** @param {Point} point @param {string} id */
function rowOf(point, id) {
  const row = point.seen.findIndex((variant) => variant.id === id);
  return row < 0 ? point.seen.length : row; // "other" is the last row
}

/** The rows of all blocks that hold a number, else of "other". @param {Point} point @param {number} number */
function blocksOf(point, number) {
  const holds = (/** @type {VariantJson} */ { block }) => block !== undefined && block[0] <= number && number <= block[1];
  const held = point.seen.flatMap((variant, row) => (holds(variant) ? [row] : []));
  return held.length ? held : [point.seen.length];
}

/**
 * @param {Model} model @param {Point} point @param {Answer} answer
 * @param {number[]} held  rows whose chances add up @returns {Read}
 */
function readRows(model, point, answer, held) {
  const slip = slipOf(model.rules, answer);
  const misread = (held.length * slip) / point.made.length;
  const sure = sum(held.map((row) => point.made[row]), model.months);
  const made = new Float64Array(model.months);
  const changed = sum(held.map(point.later), model.months);
  for (let t = 0; t < made.length; t += 1) {
    sure[t] *= 1 - slip;
    made[t] = sure[t] + misread;
    changed[t] = (1 - slip) * changed[t] + misread;
  }
  return { made, changed, listed: held.includes(point.seen.length) ? new Float64Array(model.months) : sure };
}

/**
 * A changed part may have any value of the span.
 * @param {Model} model @param {Point} point @param {Answer} answer @returns {Read}
 */
function readMeasure(model, point, answer) {
  const { months } = model;
  const slip = slipOf(model.rules, answer);
  const flat = 1 / width(point);
  const heights = densities(point, measureValue(model, point, measureStep(model, point, answer.value ?? 0)));
  const listed = new Float64Array(months);
  heights.forEach((height, row) => {
    const here = (1 - slip) * height;
    const fitted = point.made[row];
    for (let t = 0; t < months; t += 1) listed[t] += here * fitted[t];
  });
  const other = point.made[heights.length];
  const [unlisted, misread] = [(1 - slip) * flat, slip * flat];
  const made = new Float64Array(months);
  for (let t = 0; t < months; t += 1) made[t] = listed[t] + unlisted * other[t] + misread;
  return { made, changed: new Float64Array(months).fill(flat), listed };
}

/** A date code, by scale of lag. @param {Model} model @param {Answer} answer @returns {Read} */
function readDatecode(model, answer) {
  const { covers, months, rules } = model;
  const slip = slipOf(rules, answer);
  const listed = new Float64Array(rules.lags.length * months);
  rules.lags.forEach((lag, row) => {
    const chances = lagChances(lag);
    for (const code of answer.months) {
      const before = covers[0] - code; // age of the part in the first month
      const end = Math.min(months, chances.length - before);
      for (let t = Math.max(0, -before); t < end; t += 1) listed[row * months + t] += (1 - slip) * chances[before + t];
    }
  });
  const near = answer.months.filter((month) => month >= covers[0] - rules.code_lead && month <= covers[1]);
  const byChance = Math.max(1, near.length) / (months + rules.code_lead);
  const made = new Float64Array(listed.length);
  const misread = slip * byChance;
  for (let i = 0; i < made.length; i += 1) made[i] = listed[i] + misread;
  return { made, changed: new Float64Array(listed.length).fill(byChance), listed };
}

/** In units of a scale: e^−75 < 1e-32 adds nothing to any chance. */
const LONGEST_LAG = 75;

/** Scale → chance of each lag in whole months. @type {Map<number, Float64Array>} */
const LAG_CHANCES = new Map();

/** @param {number} lag */
function lagChances(lag) {
  let chances = LAG_CHANCES.get(lag);
  if (!chances) {
    chances = new Float64Array(LONGEST_LAG * lag);
    let left = 1;
    for (let age = 0; age < chances.length; age += 1) {
      const after = Math.exp(-(age + 1) / lag);
      chances[age] = left - after;
      left = after;
    }
    LAG_CHANCES.set(lag, chances);
  }
  return chances;
}

/** What was last said at each point: a tap changes one answer, and all are judged. @type {WeakMap<Point, Says>} */
const KEPT = new WeakMap();

/** @param {Model} model @param {Witness} witness @param {number} lags @returns {Said} */
function say(model, witness, lags) {
  const { point } = witness;
  let says = KEPT.get(point);
  if (!says || !sameSaid(says.from, witness)) KEPT.set(point, (says = scaled(model, witness, lags)));
  return { ...says, witness };
}

/** @param {Witness} one @param {Witness} other */
const sameSaid = (one, other) => one.state === other.state && one.odds === other.odds
  && (one.answer === other.answer || READ.every((field) => one.answer[field] === other.answer[field])
    && one.answer.seen[0] === other.answer.seen[0]);

/** What an answer speaks by, beside the variant. */
const READ = /** @type {const} */ (['value', 'read', 'sure']);

/**
 * What a witness says, scaled by what is known about change.
 * @param {Model} model @param {Witness} witness @param {number} lags @returns {Says}
 */
function scaled(model, witness, lags) {
  const { made, changed, listed } = read(model, witness);
  const [keeps, factor] = model.rules.states[witness.state];
  const rate = witness.point.json.changed;
  const first = (1 - rate) * keeps;
  const more = factor * witness.odds;
  const size = lags * model.months;
  const [later, swapped, right, alone] = Array.from({ length: 4 }, () => new Float64Array(size));
  for (let i = 0; i < size; i += 1) {
    const from = i % made.length; // what says the same at every lag is repeated
    swapped[i] = more * changed[from];
    later[i] = rate * swapped[i];
    right[i] = first * listed[from];
    alone[i] = first * made[from] + later[i];
  }
  const byMonth = overLags(alone, lags);
  return { from: witness, later, swapped, listed: right, alone, byMonth, logs: logsOf(byMonth) };
}

// All answers together

/** @param {Model} model @param {Point} point */
const lagsOf = ({ rules }, { group }) => (group === CODES ? rules.lags.length : 1);

/** Reckons what each witness says, one by one; all are then judged at once. @param {Model} model @param {Sheet} sheet @returns {Generator<void>} */
export function* saying(model, sheet) {
  for (const witness of findWitnesses(model, sheet)) {
    yield;
    say(model, witness, lagsOf(model, witness.point));
  }
}

/**
 * What the witnesses say, group by group.
 * @param {Model} model @param {Witness[]} witnesses @returns {Group[]}
 */
export function gather(model, witnesses) {
  /** @type {Map<string, Group>} */
  const groups = new Map();
  for (const witness of witnesses) {
    const { group, together } = witness.point;
    const lags = lagsOf(model, witness.point);
    const here = groups.get(group) ?? { together, lags, members: [] };
    here.members.push(say(model, witness, lags));
    groups.set(group, here);
  }
  return [...groups.values()];
}
