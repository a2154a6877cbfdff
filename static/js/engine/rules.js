// @ts-check
/**
 * The verdict: a table of rules, the first that applies decides. A rule may have several reasons; all
 * that hold are kept. Thresholds are compared with 9 decimals, and are the constants of model.json.
 *
 * @import { Rules } from './types.js'
 */
import { r9 } from './numbers.js';

/**
 * What the rules look at.
 * @typedef {object} Findings
 * @property {number} speaking
 * @property {number} ratio
 * @property {() => number} ratioWithoutAny  asked for only where the dates disagree strongly
 * @property {number | null} bayesFactor
 * @property {number} ruledOut
 * @property {boolean} apart
 * @property {boolean} found
 * @property {boolean} foundNeverChanged  something found that hardly anyone changes
 * @property {number} tail
 * @property {boolean} unfit  something flagged or odd, declared or not
 */

/**
 * Whether some other month fits the window's best month fairly much better.
 * @param {Rules} rules @param {number} ratio
 */
export const isFar = (rules, ratio) => r9(ratio) < r9(1 / rules.fair);

/** Whether some other month fits strongly better. @param {Rules} rules @param {number} ratio */
export const isVeryFar = (rules, ratio) => r9(ratio) < r9(1 / rules.strong);

/**
 * Number, reason, verdict, whether it holds; reasons of one number make up one rule.
 * @type {[number, string, string, (f: Findings, rules: Rules) => boolean][]}
 */
const TABLE = [
  [1, 'two-against', 'in-doubt', (f, rules) => f.speaking === rules.fewest_doubt && isVeryFar(rules, f.ratio)],
  [2, 'few', 'too-little-seen', (f, rules) => f.speaking < rules.fewest],
  [3, 'dates', 'disagrees', (f, rules) => isVeryFar(rules, f.ratio) && isFar(rules, f.ratioWithoutAny())],
  [4, 'dates-doubt', 'in-doubt', (f, rules) => isFar(rules, f.ratio)],
  [4, 'apart', 'in-doubt', (f) => f.apart],
  [4, 'never-changed', 'in-doubt', (f) => f.foundNeverChanged],
  [4, 'count', 'in-doubt', (f, rules) => f.found && r9(f.tail) < rules.rare_tail],
  [5, 'not-enough', 'too-little-seen', (f, rules) => f.speaking < rules.enough],
  [5, 'whole', 'too-little-seen', (f) => f.bayesFactor === null],
  [5, 'blunt', 'too-little-seen', (f, rules) => f.bayesFactor !== null && r9(f.ruledOut) < rules.ruled_out],
  [5, 'even', 'too-little-seen', (f, rules) => f.bayesFactor !== null && r9(f.bayesFactor) < rules.bayes_factor],
  [6, 'some-parts', 'agrees-with-changes', (f) => f.unfit],
  [7, 'all-fit', 'agrees', () => true],
];

/** The verdict and every reason of the rule that gave it. @param {Rules} rules @param {Findings} findings */
export function decide(rules, findings) {
  const holds = TABLE.filter(([, , , applies]) => applies(findings, rules));
  const [number, , verdict] = holds[0];
  return { verdict, because: holds.filter((rule) => rule[0] === number).map(([, reason]) => reason) };
}
