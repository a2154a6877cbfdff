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
import { capital, listed, lookedAt, name, names, number, oneIn, reads, sentence } from './sentences.js';

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
const DATES_IN_DOUBT = new Set(['dates-doubt', 'two-against']);
const SHOWN_NEXT = 3;

/** @param {number[]} a @param {number[]} b */
const same = (a, b) => a[0] === b[0] && a[1] === b[1];

// The claim

/**
 * How wide the claim could be and fit about as well: half as well, at the least.
 * @param {Case} told @returns {Sentence[]}
 */
export function tellWidth(told) {
  const { model, verdict } = told;
  if (same(verdict.equally, verdict.window)) return toldAlone(told);
  const any = `any time from ${monthWords(verdict.equally[0])} to ${monthWords(verdict.equally[1])}`;
  const better = r9(verdict.ratio_to_best) < model.rules.equally; // some month fits twice as well
  if (verdict.verdict.startsWith('agrees')) {
    const well = better ? 'about as well or better' : 'about as well';
    return [sentence('width', `It agrees with the claim, and ${well} with ${any}.`)];
  }
  return [sentence('width', `${capital(any)} would fit about as well as the claim${better ? ', or better' : ''}.`)];
}

/**
 * That the months beside the claim fit far worse, where the reference covers any.
 * @param {Case} told @returns {Sentence[]}
 */
function toldAlone({ model, verdict }) {
  const before = model.covers[0] < verdict.window[0];
  const after = verdict.window[1] < model.covers[1];
  if (!before && !after) return [];
  const one = `The month ${before ? 'before' : 'after'} the claim fits`;
  const months = before && after ? 'The month before the claim and the month after it fit' : one;
  return [sentence('width', `${months} less than half as well as its best month.`)];
}

/** What speaks against "nothing changed", where that is claimed. @param {Case} told @returns {Sentence[]} */
export function tellClaim(told) {
  if (!told.sheet.nothing_changed) return [];
  /** @type {[string, string[]][]} */
  const against = [
    ['change declared', told.verdict.declared],
    ['probably not the first part', flagged(told)],
    ['does not fit', told.verdict.odd],
    ['change seen', withSigns(told)],
  ];
  const said = against.filter(([, some]) => some.length).map(([words, some]) => `${words}: ${names(told, some)}`);
  if (told.verdict.apart.length) said.push(standsApart(told));
  const found = said.length ? `Against that: ${said.join('; ')}.` : nothingAgainst(told);
  const points = against.flatMap(([, some]) => some);
  return [sentence('claim', `Nothing changed is claimed. ${found}${ofTheMonths(told)}`, points)];
}

/** @param {Case} told */
function nothingAgainst({ witnesses, seen }) {
  const left = witnesses.length - seen.length;
  const rest = left ? `${number(left)} ${left === 1 ? 'was' : 'were'} not` : 'all were';
  return `No sign of change seen at the points looked at; ${rest} looked at.`;
}

/** @param {Case} told */
function standsApart({ verdict: { apart } }) {
  return `${listed(apart.map((assembly) => `the ${assembly}`))} ${apart.length === 1 ? 'stands' : 'stand'} apart`;
}

/** What keeps a line without changes from reassuring: the months may not hold. @param {Case} told */
function ofTheMonths({ verdict }) {
  if (verdict.verdict === 'disagrees') return ' What was seen does not fit the months claimed.';
  if (!verdict.because.some((reason) => DATES_IN_DOUBT.has(reason))) return '';
  return ' What was seen fits another time better than the months claimed.';
}

/**
 * Which months fit best where the claim does not, and what would be found there.
 * @param {Case} told @returns {Sentence[]}
 */
export function tellBest(told) {
  const { model, verdict } = told;
  const best = verdict.best_window;
  if (!isFar(model.rules, verdict.ratio_to_best) || same(best.window, verdict.window)) return [];
  const there = best.flagged.length ? `probably not the first part there: ${names(told, best.flagged)}` : 'every part would fit';
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

/**
 * What the dates say and what the eyes saw of change, on lines of their own.
 * @param {Case} told @returns {Sentence[]}
 */
export function tellFound(told) {
  const { verdict, seen } = told;
  const [changed, signs] = [flagged(told), withSigns(told)];
  const by = verdict.verdict === 'disagrees' ? 'By the claim, probably' : 'Probably';
  const lines = [];
  if (changed.length) lines.push(sentence('found', `${by} not the first part: ${names(told, changed)}.`, changed));
  if (verdict.odd.length) lines.push(sentence('found', `Does not fit, look again: ${names(told, verdict.odd)}.`, verdict.odd));
  if (signs.length) {
    lines.push(sentence('found', `Change seen: ${allSeen(told, signs)}.`, signs));
  } else if (seen.length) {
    const beyond = verdict.declared.length ? ' beyond what was declared' : '';
    lines.push(sentence('found', `No sign of change seen${beyond} at the points looked at.`));
  }
  return lines;
}

/** @param {Case} told @param {string[]} ids */
const allSeen = (told, ids) => ids.map((id) => signWords(told, id)).join(', ');

/** A sign with what was ticked, in the reference's words, and where. @param {Case} told @param {string} id */
function signWords(told, id) {
  const { model, sheet } = told;
  const [point, answer] = [model.byId.get(id), sheet.answers.get(id)];
  const seen = point?.json.kind === 'sign' ? point.seen : [];
  const ticked = seen.filter((variant) => answer?.seen.includes(variant.id)).map((variant) => variant.label ?? '');
  const details = [...ticked, ...(answer?.where ?? [])].join('; ');
  return details ? `${name(told, id)} (${details})` : name(told, id);
}

/** How usual it is to find as many. @param {Case} told @returns {Sentence[]} */
export function tellCount({ verdict, found }) {
  const { usual, tail } = verdict.changed_count;
  if (found.length) {
    const many = capital(number(found.length));
    return [sentence('count', `${many} found; of genuine instruments of this age, ${oneIn(tail)} as many.`, found)];
  }
  const count = rint(usual);
  if (!count) return [];
  const many = `${number(count)} ${count === 1 ? 'is' : 'are'}`;
  return [sentence('count', `Nothing found, where on a genuine instrument of this age ${many} usual.`)];
}

/** What was declared: honesty is not punished. @param {Case} told @returns {Sentence[]} */
export function tellDeclared(told) {
  const { declared } = told.verdict;
  if (!declared.length) return [];
  return [sentence('declared', `Change declared, and not held against it: ${names(told, declared)}.`, declared)];
}

/** Which materials were declared or suspected; that is never told from a look. @param {Case} told @returns {Sentence[]} */
export function tellBorder(told) {
  const points = told.model.points.filter((point) => namesMaterial(told, point)).map((point) => point.id);
  if (!points.length) return [];
  return [sentence('border', `Declared or suspected, not established: ${allSeen(told, points)}.`, points)];
}

/** @param {Point} point */
const asksMaterial = (point) => point.seen.some((variant) => variant.border);

/** Whether an answer names a material that borders ask about, or one nobody listed. @param {Case} told @param {Point} point */
function namesMaterial({ sheet }, point) {
  const seen = sheet.answers.get(point.id)?.seen ?? [];
  if (!asksMaterial(point)) return false;
  return seen.includes('other') || point.seen.some((variant) => variant.border && seen.includes(variant.id));
}

/**
 * Which parts speak for earlier, later or the claim, and which say nothing any more.
 * @param {Case} told @returns {Sentence[]}
 */
export function tellLeaning(told) {
  const { verdict, seen, silent } = told;
  const ids = [...verdict.points.keys()];
  const lines = LEANINGS.map(([leaning, words]) => {
    const points = ids.filter((id) => verdict.points.get(id)?.leaning === leaning);
    return sentence('leaning', `${words}: ${names(told, points)}.`, points);
  });
  const muted = seen.map((point) => point.id).filter((id) => silent.has(id));
  const text = `Say nothing any more, as work on them was disclosed or seen: ${names(told, muted)}.`;
  return [...lines, sentence('leaning', text, muted)].filter(({ points }) => points.length);
}

/** What was not looked at, by reason. @param {Case} told @returns {Sentence[]} */
export function tellUnseen(told) {
  const { model, sheet, witnesses } = told;
  const unseen = (/** @type {Point[]} */ points) => points.filter((point) => !lookedAt(sheet, point)).map((point) => point.id);
  const open = unseen(witnesses);
  const lines = NOT_SEEN.map(([reason, words]) => {
    const points = open.filter((id) => (sheet.answers.get(id)?.not_seen ?? null) === reason);
    return sentence('unseen', `${words}: ${names(told, points)}.`, points);
  });
  const asking = model.points.filter(({ json }) => json.kind === 'sign' && json.assembly !== 'case');
  const signs = unseen(asking.filter((point) => !asksMaterial(point)));
  const asked = unseen(asking.filter(asksMaterial));
  return [
    ...lines,
    sentence('unseen', `Signs of change not looked for: ${names(told, signs)}.`, signs),
    sentence('unseen', `Materials not asked about: ${names(told, asked)}.`, asked),
  ].filter(({ points }) => points.length);
}

/** The looks that would tell most for the time they take. @param {Case} told @returns {Sentence[]} */
export function tellNext(told) {
  const { model, verdict, looks } = told;
  const whole = same(verdict.window, model.covers);
  const telling = looks.filter((look) => r9(whole ? look.date_bits : look.window_bits) > 0);
  const points = telling.slice(0, SHOWN_NEXT).map((look) => look.point);
  return points.length ? [sentence('next', `Would tell most next: ${names(told, points)}.`, points)] : [];
}
