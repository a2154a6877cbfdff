// @ts-check
/**
 * What is said of the claim and of the parts: what was found, declared, seen, left out, to see.
 *
 * @import { Point, Sentence } from './types.js'
 * @import { Case } from './sentences.js'
 */
import { monthWords, runWords } from './months.js';
import { r9, rint } from './numbers.js';
import { isFar } from './rules.js';
import { capital, lookedAt, name, names, number, oneIn, reads, sentence } from './sentences.js';

/** @type {[string | null, string][]} */
const NOT_SEEN = [
  ['not-allowed', 'Not allowed'],
  ['not-visible', 'Not visible'],
  ['no-tool', 'No tool for it'],
  ['no-time', 'No time for it'],
  [null, 'Not looked at'],
];
const LEANINGS = [
  ['earlier', 'These parts read earlier than the claim'],
  ['later', 'These parts read later than the claim'],
  ['within', 'These parts speak for the claim'],
];
const SHOWN_NEXT = 3;

/** @param {number[]} a @param {number[]} b */
const same = (a, b) => a[0] === b[0] && a[1] === b[1];

// The claim

/** How wide the claim could be and fit as well. @param {Case} told @returns {Sentence[]} */
export function tellWidth({ model, verdict }) {
  if (same(verdict.window, model.covers)) return []; // there are no months beside it
  if (same(verdict.equally, verdict.window)) {
    return [sentence('width', 'The months just before and after the claim fit less than half as well.')];
  }
  const any = `any time from ${monthWords(verdict.equally[0])} to ${monthWords(verdict.equally[1])}`;
  const agrees = verdict.verdict.startsWith('agrees');
  return [
    sentence('width', agrees ? `It agrees with the claim, and as well with ${any}.` : `${capital(any)} would fit no worse than the claim.`),
  ];
}

/** What speaks against "nothing changed", where that is claimed. @param {Case} told @returns {Sentence[]} */
export function tellClaim(told) {
  if (!told.sheet.nothing_changed) return [];
  /** @type {[string, string[]][]} */
  const all = [
    ['change declared', told.verdict.declared],
    ['probably not the first part', flagged(told)],
    ['does not fit', told.verdict.odd],
    ['change seen', withSigns(told)],
  ];
  const against = all.filter(([, some]) => some.length);
  if (against.length) {
    const said = against.map(([words, some]) => `${words}: ${names(some)}`).join('; ');
    return [sentence('claim', `Nothing changed is claimed. Against that: ${said}.`, against.flatMap(([, some]) => some))];
  }
  const left = told.witnesses.length - told.seen.length;
  const rest = left ? `${number(left)} ${left === 1 ? 'was' : 'were'} not` : 'all were';
  const none = 'Nothing changed is claimed. No sign of change seen at the points looked at;';
  return [sentence('claim', `${none} ${rest} looked at.`)];
}

/** Which months fit best where the claim does not, and what would be found there. @param {Case} told @returns {Sentence[]} */
export function tellBest({ model, verdict }) {
  const best = verdict.best_window;
  if (!isFar(model.rules, verdict.ratio_to_best) || same(best.window, verdict.window)) return [];
  const there = best.flagged.length ? `probably not the first part there: ${names(best.flagged)}` : 'every part would fit';
  return [sentence('best', `Of all claims of this length, ${runWords(best.window)} fits best; ${there}.`, best.flagged)];
}

/** Which assemblies read as another time by themselves. @param {Case} told @returns {Sentence[]} */
export const tellApart = ({ verdict }) =>
  verdict.apart.map((assembly) => {
    const itself = reads(verdict.assemblies.get(assembly)?.reads_as ?? []);
    return sentence('apart', `The ${assembly} stands apart: by itself it reads as ${itself}.`);
  });

// The parts

/** The parts that the dates call changed and nobody declared. @param {Case} told */
const flagged = ({ verdict }) => verdict.flagged.filter((id) => !verdict.declared.includes(id));

/** The points where somebody saw a sign of change. @param {Case} told */
const withSigns = ({ model, sheet }) =>
  model.points
    .filter((point) => {
      const answer = sheet.answers.get(point.id);
      if (!answer || point.json.kind !== 'sign') return answer?.state === 'signs';
      const ticked = point.seen.filter((variant) => answer.seen.includes(variant.id));
      return ticked.some((variant) => variant.silent || (variant.odds ?? 1) > 1);
    })
    .map((point) => point.id);

/** What the dates say and what the eyes saw of change, on lines of their own. @param {Case} told @returns {Sentence[]} */
export function tellFound(told) {
  const { verdict, seen } = told;
  const [changed, signs] = [flagged(told), withSigns(told)];
  const by = verdict.verdict === 'disagrees' ? 'By the claim, probably' : 'Probably';
  const lines = [];
  if (changed.length) lines.push(sentence('found', `${by} not the first part: ${names(changed)}.`, changed));
  if (verdict.odd.length) lines.push(sentence('found', `Does not fit, look again: ${names(verdict.odd)}.`, verdict.odd));
  if (signs.length) {
    const all = signs.map((id) => signWords(told, id)).join(', ');
    lines.push(sentence('found', `Change seen: ${all}.`, signs));
  } else if (seen.length) {
    const beyond = verdict.declared.length ? ' beyond what was declared' : '';
    lines.push(sentence('found', `No sign of change seen${beyond} at the points looked at.`));
  }
  return lines;
}

/** A sign with what was ticked, in the reference's words, and where. @param {Case} told @param {string} id */
function signWords({ model, sheet }, id) {
  const [point, answer] = [model.byId.get(id), sheet.answers.get(id)];
  const seen = point?.json.kind === 'sign' ? point.seen : [];
  const ticked = seen.filter((variant) => answer?.seen.includes(variant.id)).map((variant) => variant.label ?? '');
  const details = [...ticked, ...(answer?.where ?? [])].join('; ');
  return details ? `${name(id)} (${details})` : name(id);
}

/** How usual it is to find as many. @param {Case} told @returns {Sentence[]} */
export function tellCount({ verdict, found }) {
  const { usual, tail } = verdict.changed_count;
  if (found.length) {
    const many = capital(number(found.length));
    return [sentence('count', `${many} found; on a genuine instrument of this age, ${oneIn(tail)} as many.`, found)];
  }
  const count = rint(usual);
  if (!count) return [];
  const many = `${number(count)} ${count === 1 ? 'is' : 'are'}`;
  return [sentence('count', `Nothing found, where on a genuine instrument of this age ${many} usual.`)];
}

/** What was declared: honesty is not punished. @param {Case} told @returns {Sentence[]} */
export function tellDeclared({ verdict: { declared } }) {
  if (!declared.length) return [];
  return [sentence('declared', `Change declared, and not held against it: ${names(declared)}.`, declared)];
}

/** Which parts speak for earlier, later or the claim, and which say nothing any more. @param {Case} told @returns {Sentence[]} */
export function tellLeaning({ verdict, seen, silent }) {
  const ids = [...verdict.points.keys()];
  const lines = LEANINGS.map(([leaning, words]) => {
    const points = ids.filter((id) => verdict.points.get(id)?.leaning === leaning);
    return sentence('leaning', `${words}: ${names(points)}.`, points);
  });
  const muted = seen.map((point) => point.id).filter((id) => silent.has(id));
  const text = `Say nothing any more, as work on them was disclosed or seen: ${names(muted)}.`;
  return [...lines, sentence('leaning', text, muted)].filter(({ points }) => points.length);
}

/** What was not looked at, by reason. @param {Case} told @returns {Sentence[]} */
export function tellUnseen({ model, sheet, witnesses }) {
  const unseen = (/** @type {Point[]} */ points) => points.filter((point) => !lookedAt(sheet, point)).map((point) => point.id);
  const open = unseen(witnesses);
  const lines = NOT_SEEN.map(([reason, words]) => {
    const points = open.filter((id) => (sheet.answers.get(id)?.not_seen ?? null) === reason);
    return sentence('unseen', `${words}: ${names(points)}.`, points);
  });
  const signs = unseen(model.points.filter(({ json }) => json.kind === 'sign' && json.assembly !== 'case'));
  return [...lines, sentence('unseen', `Signs of change not looked for: ${names(signs)}.`, signs)].filter(
    ({ points }) => points.length,
  );
}

/** The looks that would tell most for the time they take. @param {Case} told @returns {Sentence[]} */
export function tellNext({ model, verdict, looks }) {
  const whole = same(verdict.window, model.covers);
  const telling = looks.filter((look) => r9(whole ? look.date_bits : look.window_bits) > 0);
  const points = telling.slice(0, SHOWN_NEXT).map((look) => look.point);
  return points.length ? [sentence('next', `Would tell most next: ${names(points)}.`, points)] : [];
}
