// @ts-check
/**
 * The verdict on one sheet: whether the things seen agree with the months claimed. The same steps as
 * in Python, in the same modules: witnesses, parts, dating, rules.
 *
 * @import { AssemblyFit, Model, PartFit, Run, Sheet, Verdict } from './types.js'
 * @import { Months } from './months.js'
 */
import * as dates from './dating.js';
import { keeping } from './kept.js';
import { r9 } from './numbers.js';
import * as parts from './parts.js';
import { sum } from './rows.js';
import { decide, isFar } from './rules.js';
import { findWitnesses, gather } from './witnesses.js';

const MARRIED = ['neck', 'body'];

/** @param {Model} model @param {Sheet} sheet @returns {Verdict} */
export function judgeSheet(model, sheet) {
  const { rules } = model;
  const witnesses = findWitnesses(model, sheet);
  const groups = gather(model, witnesses).map(parts.chancesOf);
  const logs = groups.map((group) => group.logs);
  const all = sum(logs, model.months);
  const speaking = groups.filter(({ chance }) => dates.speaks(rules, chance)).length;
  const dating = dates.date(model, all, speaking);
  /** @type {Run} */
  const window = [sheet.window[0] - model.covers[0], sheet.window[1] - model.covers[0]];
  const best = dates.bestWindow(dating, window[1] - window[0] + 1);
  const assemblies = assembliesOf(model, groups, window);
  const apart = MARRIED.filter((name) => isFar(rules, assemblies.get(name)?.ratio_to_best ?? 1));
  const seen = partsOf(model, groups, dating, window, best);
  const unfit = new Set([...seen.flagged, ...seen.odd]);
  const found = witnesses.filter((w) => unfit.has(w.point.id) && !w.declared);
  const { usual, tail } = parts.usualCount(rules, witnesses, found.length);
  const findings = {
    ...findingsOf(model, dating, window),
    ratioWithoutAny: () => dates.ratioWithoutAny(dating, all, logs, window),
    apart: apart.length > 0,
    found: found.length > 0,
    foundNeverChanged: found.some((w) => r9(w.point.json.changed) <= rules.never_changed),
    tail,
    unfit: unfit.size > 0,
  };
  const { verdict, because } = decide(rules, findings);
  return {
    verdict,
    claimed: sheet.claimed,
    window: sheet.window,
    rules: model.json.rules,
    groups: groups.length,
    speaking,
    temper: dating.temper,
    likeliest: model.covers[0] + dates.likeliest(dating),
    reads_as: months(model, dates.readsAs(rules, dating)),
    equally: months(model, [dates.equally(rules, dating, window)])[0],
    ratio_to_best: findings.ratio,
    bayes_factor: findings.bayesFactor,
    in_window: dates.inWindow(dating, window),
    ruled_out: findings.ruledOut,
    flagged: seen.flagged,
    odd: seen.odd,
    declared: witnesses.filter((w) => w.declared).map((w) => w.point.id),
    apart,
    assemblies,
    best_window: { window: months(model, [best])[0], flagged: seen.flaggedAtBest },
    changed_count: { expected: seen.expected, usual, tail },
    points: seen.points,
    posterior: dating.posterior,
    because,
  };
}

/**
 * What the rules look at of the date.
 * @param {Model} model @param {dates.Dating} dating @param {Run} window
 */
const findingsOf = (model, dating, window) => ({
  speaking: dating.speaking,
  ratio: dates.ratioToBest(dating, window),
  bayesFactor: dates.bayesFactor(model, dating, window),
  ruledOut: dates.ruledOut(model, dating, window),
});

/** @param {Model} model @param {Run[]} runs @returns {Months[]} */
const months = ({ covers }, runs) => runs.map(([first, last]) => [covers[0] + first, covers[0] + last]);

/**
 * Each assembly judged by itself.
 * @param {Model} model @param {parts.Chances[]} groups @param {Run} window
 */
function assembliesOf(model, groups, window) {
  /** @type {Map<string, AssemblyFit>} */
  const fits = new Map();
  for (const [name, members] of parts.lasting(model.rules, groups.map(({ group }) => group))) {
    const { logs, speaking } = parts.bodyApart(model, members);
    const { dating, readsAs } = dated([logs], model, speaking);
    fits.set(name, { points: members.length, ratio_to_best: dates.ratioToBest(dating, window), reads_as: readsAs });
  }
  return fits;
}

const dated = keeping(([logs], /** @type {Model} */ model, /** @type {number} */ speaking) => {
  const dating = dates.date(model, logs, speaking);
  return { dating, readsAs: months(model, dates.readsAs(model.rules, dating)) };
});

/**
 * What is said of each witness in the claim's window, and flagged in the best one; reference's order.
 * @param {Model} model @param {parts.Chances[]} groups @param {dates.Dating} dating @param {Run} window @param {Run} best
 */
function partsOf({ rules }, groups, dating, window, best) {
  const likely = (/** @type {number} */ chance) => r9(chance) >= rules.likely;
  const rows = groups
    .flatMap((chances) =>
      chances.group.members.map((said) => ({
        point: said.witness.point,
        ...parts.overWindow(chances, said, dating, window),
        leaning: parts.leaning(rules, said.byMonth, dating, window),
        atBest: likely(parts.overWindow(chances, said, dating, best).changed),
      })),
    )
    .sort((a, b) => a.point.place - b.point.place);
  const ids = (/** @type {typeof rows} */ some) => some.map(({ point }) => point.id);
  return {
    points: new Map(
      rows.map(({ point, changed, fits, leaning }) => /** @type {[string, PartFit]} */ ([point.id, { changed, fits, leaning }])),
    ),
    flagged: ids(rows.filter(({ changed }) => likely(changed))),
    odd: ids(rows.filter(({ changed, fits }) => !likely(changed) && !likely(fits))),
    flaggedAtBest: ids(rows.filter(({ atBest }) => atBest)),
    expected: rows.reduce((sum, { changed }) => sum + changed, 0),
  };
}
