// @ts-check
/**
 * From the date back to the parts: which were changed, which don't fit, where each one leans. Part by
 * part the evidence is not tempered; only the weights over the window's months are.
 *
 * @import { Model, Rules, Run } from './types.js'
 * @import { Dating } from './dating.js'
 * @import { Group, Said, Witness } from './witnesses.js'
 */
import { sides, speaks } from './dating.js';
import { keeping } from './kept.js';
import { ninth } from './numbers.js';
import { logsOf, overLags, product, sum } from './rows.js';
import { slipOf } from './witnesses.js';

/**
 * A group with both terms of P = (1−γ)·Π M + γ·Π r·B by lag and month, and P by month.
 * @typedef {object} Chances
 * @property {Group} group
 * @property {Float64Array} apart
 * @property {Float64Array | null} atOnce  null where γ is 0
 * @property {Float64Array} chance  P
 * @property {Float64Array} logs  ln P
 */

const JUDGED = ['neck', 'body', 'electrics', 'hardware'];

/** P of a group; date codes averaged over the scales of lag. @param {Group} group @returns {Chances} */
export function chancesOf(group) {
  const { together, members } = group;
  if (members.length === 1 && !together) {
    const [{ alone, byMonth, logs }] = members; // most groups are one part that is changed by itself
    return { group, apart: alone, atOnce: null, chance: byMonth, logs };
  }
  return { group, ...joined(members.map((said) => said.alone), group) };
}

const joined = keeping((alone, /** @type {Group} */ { together, lags, members }) => {
  const apart = product(alone, 1 - together);
  const atOnce = together ? product(members.map((said) => said.swapped), together) : null;
  const chance = overLags(atOnce ? sum([apart, atOnce], apart.length) : apart, lags);
  return { apart, atOnce, chance, logs: logsOf(chance) };
});

/**
 * The chances, over a window, that a part was changed, and that it is the first one, read right, of a
 * listed variant. Of one member, the others' Π M is Π M / M, as no M is 0.
 * @param {Chances} chances @param {Said} said @param {Dating} dating @param {Run} window
 */
export function overWindow({ group, apart, atOnce, chance }, said, { posterior }, [first, last]) {
  const months = posterior.length;
  let changed = 0;
  let fits = 0;
  let held = 0;
  for (let t = first; t <= last; t += 1) {
    let swapped = 0;
    let kept = 0;
    for (let i = t; i < apart.length; i += months) {
      const others = apart[i] / said.alone[i];
      swapped += said.later[i] * others + (atOnce ? atOnce[i] : 0);
      kept += said.listed[i] * others;
    }
    const weight = posterior[t] / (chance[t] * group.lags);
    changed += weight * swapped;
    fits += weight * kept;
    held += posterior[t];
  }
  return { changed: changed / held, fits: fits / held };
}

// Which way a part leans

/**
 * Whether a part speaks for the window, for earlier or later, or not.
 * @param {Rules} rules @param {Float64Array} alone  M by month @param {Dating} dating
 * @param {Run} window
 */
export function leaning(rules, alone, { weights }, window) {
  const known = leanings([alone, weights]);
  const key = window[0] * weights.length + window[1];
  let found = known.get(key);
  if (found === undefined) known.set(key, (found = lean(rules, alone, weights, window)));
  return found;
}

/** By window: which way a part leans hangs on no other part. */
const leanings = keeping(() => /** @type {Map<number, string>} */ (new Map()));

/** @param {Rules} rules @param {Float64Array} alone @param {Float64Array} weights @param {Run} window */
function lean(rules, alone, weights, window) {
  const runs = [/** @type {[string, Run]} */ (['within', window]), ...sides(rules, window, weights.length)];
  const means = runs.map(([, run]) => mean(alone, weights, run));
  const highest = Math.max(...means);
  if (ninth(highest) < ninth(rules.speaks * Math.min(...means))) return 'silent';
  if (ninth(means[0]) >= ninth(highest / rules.speaks)) return 'within';
  return runs[means.findIndex((value) => ninth(value) === ninth(highest))][0];
}

/** @param {Float64Array} values @param {Float64Array} weights @param {Run} run */
function mean(values, weights, [first, last]) {
  let sum = 0;
  let held = 0;
  for (let t = first; t <= last; t += 1) {
    sum += values[t] * weights[t];
    held += weights[t];
  }
  return sum / held;
}

// How many would be found on a genuine instrument

/**
 * How many parts are usually found, and the chance of at least `found`: for a genuine instrument on
 * the same points, those declared changed left out. Exact convolution, group by group.
 * @param {Rules} rules @param {Witness[]} witnesses @param {number} found
 */
export function usualCount(rules, witnesses, found) {
  /** @type {Map<string, { together: number, rates: number[] }>} */
  const groups = new Map();
  for (const witness of witnesses) {
    if (witness.declared) continue;
    const { group, together } = witness.point;
    const here = groups.get(group) ?? { together, rates: [] };
    here.rates.push(foundRate(rules, witness));
    groups.set(group, here);
  }
  let usual = 0;
  /** @type {Float64Array} */
  let counts = Float64Array.of(1);
  for (const { together, rates } of groups.values()) {
    usual += together * rates.length + (1 - together) * rates.reduce((a, b) => a + b, 0);
    if (found) counts = oneMoreGroup(counts, rates, together);
  }
  let tail = 0;
  for (let n = found; n < counts.length; n += 1) tail += counts[n];
  return { usual, tail };
}

/**
 * The distribution of a count after one more group of parts.
 * @param {Float64Array} counts @param {number[]} rates @param {number} together
 */
function oneMoreGroup(counts, rates, together) {
  const apart = new Float64Array(counts.length + rates.length);
  apart.set(counts);
  for (const rate of rates) {
    for (let n = apart.length - 1; n > 0; n -= 1) apart[n] = (1 - rate) * apart[n] + rate * apart[n - 1];
    apart[0] *= 1 - rate;
  }
  if (together) {
    for (let n = 0; n < apart.length; n += 1) apart[n] *= 1 - together;
    for (let n = 0; n < counts.length; n += 1) apart[n + rates.length] += together * counts[n];
  }
  return apart;
}

/**
 * How often such a part is found: changed, misread, or genuine but not listed.
 * @param {Rules} rules @param {Witness} witness
 */
function foundRate(rules, { point, answer }) {
  const { changed, other } = point.json;
  return changed + (1 - changed) * (1 - (1 - slipOf(rules, answer)) * (1 - other));
}

// Assemblies by themselves

/** A member, the group it belongs to. @typedef {{ group: Group, said: Said }} Member */

/**
 * The assemblies that have enough lasting witnesses to be judged, with these.
 * @param {Rules} rules @param {Group[]} groups
 */
export function lasting(rules, groups) {
  /** @type {Map<string, Member[]>} */
  const judged = new Map(JUDGED.map((assembly) => [assembly, []]));
  for (const group of groups) {
    for (const said of group.members) {
      const { point } = said.witness;
      if (point.lasting) judged.get(point.json.assembly)?.push({ group, said });
    }
  }
  return [...judged].filter(([, members]) => members.length >= rules.fewest_lasting);
}

/**
 * ℓ and F of some witnesses as groups of one, without sets; date codes still share their lag.
 * @param {Model} model @param {Member[]} members
 */
export const bodyApart = (model, members) => bodies(members.map(({ said }) => said.alone), model, members);

const bodies = keeping((_, /** @type {Model} */ { rules, months }, /** @type {Member[]} */ members) => {
  const plain = members.filter(({ group }) => group.lags === 1).map(({ said }) => said);
  const rows = plain.map(({ byMonth, logs }) => ({ chance: byMonth, logs }));
  const codes = members.filter(({ group }) => group.lags > 1);
  if (codes.length) {
    const chance = overLags(product(codes.map(({ said }) => said.alone), 1), codes[0].group.lags);
    rows.push({ chance, logs: logsOf(chance) });
  }
  return {
    logs: sum(rows.map(({ logs }) => logs), months),
    speaking: rows.filter(({ chance }) => speaks(rules, chance)).length,
  };
});
