// @ts-check
/**
 * From the groups' chances to the date: posterior, and how a window stands in it. Features of one
 * factory change together, so the sum of their logarithms is tempered by λ = κ/√F.
 *
 * @import { Model, Rules, Run } from './types.js'
 */
import { keeping } from './kept.js';
import { ninth, rounded, twelfths } from './numbers.js';

// Plain loops, as in rows.js.

/**
 * What some witnesses say of every month.
 * @typedef {object} Dating
 * @property {Float64Array} weights  w
 * @property {number} speaking  F
 * @property {number} temper  λ
 * @property {Float64Array} fit  L, 1 at the best month
 * @property {Float64Array} posterior  p
 */

/** Room for the month beside its rounded posterior in one number; more than any reference covers. */
const MONTHS = 8192;

/**
 * Whether a group speaks: whether its P differs by month.
 * @param {Rules} rules @param {Float64Array} chances
 */
export const speaks = (rules, chances) => spoken([chances], rules);

const spoken = keeping(([chances], /** @type {Rules} */ rules) => {
  const { least, most } = extremes(chances);
  return ninth(most) >= ninth(rules.speaks * least);
});

/** @param {Float64Array} values */
function extremes(values) {
  let least = values[0];
  let most = least;
  for (let t = 1; t < values.length; t += 1) {
    const value = values[t];
    if (value < least) least = value;
    else if (value > most) most = value;
  }
  return { least, most };
}

/**
 * The posterior of the month of building by groups: the sum of their ln P, and how many speak.
 * @param {Model} model @param {Float64Array} logs @param {number} speaking @returns {Dating}
 */
export function date(model, logs, speaking) {
  const kappa = model.json.kappa || model.rules.kappa;
  const temper = speaking ? Math.min(1, kappa / Math.sqrt(speaking)) : 1;
  const { weights } = model;
  const fit = tempered(logs, temper);
  const posterior = new Float64Array(fit.length);
  for (let t = 0; t < fit.length; t += 1) posterior[t] = weights[t] * fit[t];
  const sum = total(posterior, 0, posterior.length - 1);
  for (let t = 0; t < posterior.length; t += 1) posterior[t] /= sum;
  return { weights, speaking, temper, fit, posterior };
}

/** L of some ℓ. @param {Float64Array} logs @param {number} temper */
function tempered(logs, temper) {
  const { most } = extremes(logs);
  const fit = new Float64Array(logs.length);
  for (let t = 0; t < fit.length; t += 1) fit[t] = Math.exp(temper * (logs[t] - most));
  return fit;
}

/** @param {Float64Array} values @param {number} first @param {number} last */
function total(values, first, last) {
  let sum = 0;
  for (let t = first; t <= last; t += 1) sum += values[t];
  return sum;
}

/**
 * The months before and after a window that it is held against; those of no month left out.
 * @param {Rules} rules @param {Run} window @param {number} months @returns {[string, Run][]}
 */
export function sides(rules, [first, last], months) {
  /** @type {[string, Run][]} */
  const both = [
    ['earlier', [Math.max(0, first - rules.around), first - 1]],
    ['later', [last + 1, Math.min(months - 1, last + rules.around)]],
  ];
  return both.filter(([, run]) => run[0] <= run[1]);
}

/** The months around a window. @param {Model} model @param {Run} window */
function outside(model, window) {
  return sides(model.rules, window, model.months).map(([, run]) => run);
}

/**
 * How well the window's best month fits against the best month of all.
 * @param {Dating} dating @param {Run} window
 */
export function ratioToBest(dating, [first, last]) {
  let best = 0;
  for (let t = first; t <= last; t += 1) best = Math.max(best, dating.fit[t]);
  return best;
}

/**
 * The highest ratio that dropping one group leaves, λ kept.
 * @param {Dating} dating @param {Float64Array} logs @param {Float64Array[]} byGroup @param {Run} window
 */
export function ratioWithoutAny(dating, logs, byGroup, window) {
  const ratios = byGroup.map((dropped) => {
    const rest = logs.map((value, t) => value - dropped[t]);
    return ratioToBest({ ...dating, fit: tempered(rest, dating.temper) }, window);
  });
  return Math.max(...ratios);
}

/** The mean of L over runs of months, by output. @param {Dating} dating @param {Run[]} runs */
function meanFit({ weights, fit }, runs) {
  let sum = 0;
  let weight = 0;
  for (const [first, last] of runs) {
    for (let t = first; t <= last; t += 1) {
      sum += weights[t] * fit[t];
      weight += weights[t];
    }
  }
  return sum / weight;
}

/**
 * How much better the window fits than the months around it; null: nothing around.
 * @param {Model} model @param {Dating} dating @param {Run} window
 */
export function bayesFactor(model, dating, window) {
  const around = outside(model, window);
  return around.length ? meanFit(dating, [window]) / meanFit(dating, around) : null;
}

/**
 * The share, by output, of the months around that fit far worse than the window.
 * @param {Model} model @param {Dating} dating @param {Run} window
 */
export function ruledOut(model, dating, window) {
  const least = rounded(ratioToBest(dating, window) / model.rules.fair, 9);
  const { weights, fit } = dating;
  let out = 0;
  let weight = 0;
  for (const [first, last] of outside(model, window)) {
    for (let t = first; t <= last; t += 1) {
      if (ninth(fit[t]) < least) out += weights[t];
      weight += weights[t];
    }
  }
  return weight ? out / weight : 0;
}

/** The posterior of the window. @param {Dating} dating @param {Run} window */
export const inWindow = ({ posterior }, [first, last]) => total(posterior, first, last);

/** The likeliest month, the earliest of equals. @param {Dating} dating */
export function likeliest({ posterior }) {
  let best = 0;
  for (let t = 1; t < posterior.length; t += 1) {
    if (posterior[t] > posterior[best] && twelfths(posterior[t]) > twelfths(posterior[best])) best = t;
  }
  return best;
}

/**
 * The smallest set of months that holds 90 % of the posterior, as runs. Months go by their rounded
 * posterior and then by time; both in one number, so that they are sorted without comparing pairs.
 * Left out from the start are months too unlikely to be asked: all of them together hold less than 10 %.
 * @param {Rules} rules @param {Dating} dating
 */
export function readsAs(rules, { posterior }) {
  const least = (0.9 * (1 - rules.interval)) / posterior.length;
  const asked = [];
  for (let t = 0; t < posterior.length; t += 1) {
    if (posterior[t] > least) asked.push(-twelfths(posterior[t]) * MONTHS + t);
  }
  const keys = Float64Array.from(asked).sort();
  const months = [];
  let held = 0;
  for (let i = 0; i < keys.length && (i === 0 || ninth(held) < rules.interval); i += 1) {
    const month = ((keys[i] % MONTHS) + MONTHS) % MONTHS;
    held += posterior[month];
    months.push(month);
  }
  return runs(months.sort((a, b) => a - b));
}

/** Rising months as runs without a gap. @param {number[]} months */
export function runs(months) {
  /** @type {Run[]} */
  const found = [];
  for (const month of months) {
    const last = found.at(-1);
    if (last && month === last[1] + 1) last[1] = month;
    else found.push([month, month]);
  }
  return found;
}

/**
 * The window and the months beside it, without a break, that fit as well.
 * @param {Rules} rules @param {Dating} dating @param {Run} window @returns {Run}
 */
export function equally(rules, dating, window) {
  const least = rounded(rules.equally * ratioToBest(dating, window), 9);
  const poor = (/** @type {number} */ t) => ninth(dating.fit[t]) < least;
  let [first, last] = window;
  while (first > 0 && !poor(first - 1)) first -= 1;
  while (last < dating.fit.length - 1 && !poor(last + 1)) last += 1;
  return [first, last];
}

/**
 * The window of a length with the highest mean fit, the earliest of equals.
 * @param {Dating} dating @param {number} length @returns {Run}
 */
export function bestWindow({ weights, fit }, length) {
  let best = 0;
  let highest = -1;
  for (let first = 0; first + length <= fit.length; first += 1) {
    // No running sums: their differences would lose months of small output.
    let sum = 0;
    let weight = 0;
    for (let t = first; t < first + length; t += 1) {
      sum += weights[t] * fit[t];
      weight += weights[t];
    }
    const mean = twelfths(sum / weight);
    if (mean > highest) {
      best = first;
      highest = mean;
    }
  }
  return [best, best + length - 1];
}
