// @ts-check
/**
 * The engine on the phone: model.json and a document of answers in, verdict and sentences out. Pure:
 * no DOM, no clock, no network. Python's engine is the one that counts; this one gives its numbers to
 * nine digits and its words exactly.
 *
 * @import { Model, NextLook, Verdict } from './types.js'
 * @import { Months } from './months.js'
 */
import { explain } from './explain.js';
import { monthText } from './months.js';
import { nextLooks } from './nextlook.js';
import { readSheet } from './sheet.js';
import { judgeSheet } from './verdict.js';

export { checkAnswer, measureStep, measureValue } from './answers.js';
export { readCode } from './codes.js';
export { AnswerError, FaultsError, ReadingError } from './errors.js';
export { VERDICT_WORDS, explain } from './explain.js';
export { compileModel } from './model.js';
export { monthText, monthWords, parseMonth, runWords } from './months.js';
export { nextLooks } from './nextlook.js';
export { readSheet } from './sheet.js';
export { UNITS, convert, parseQuantity } from './units.js';
export { judgeSheet } from './verdict.js';

/**
 * The whole result, as `judge` gives it, and everything there is to say on it; the document is read
 * and judged once. Throws AnswerError with every fault.
 * @param {Model} model @param {unknown} document @param {Months | null} [window]
 */
export function judgeAndTell(model, document, window = null) {
  const sheet = readSheet(model, document, window);
  const verdict = judgeSheet(model, sheet);
  const looks = nextLooks(model, sheet, verdict);
  return { result: asJson(verdict, looks), sentences: explain(model, sheet, verdict, looks) };
}

/**
 * The whole result on a document of answers, as plain data; `window` stands in place of its claim.
 * Throws AnswerError with every fault of the document.
 * @param {Model} model @param {unknown} document @param {Months | null} [window]
 */
export function judge(model, document, window = null) {
  const sheet = readSheet(model, document, window);
  const verdict = judgeSheet(model, sheet);
  return asJson(verdict, nextLooks(model, sheet, verdict));
}

/** @param {Months} run */
const texts = ([first, last]) => [monthText(first), monthText(last)];

/** The verdict as plain data, months as text. @param {Verdict} verdict @param {NextLook[]} next */
export function asJson(verdict, next) {
  const { because: _, ...told } = verdict;
  return {
    ...told,
    claimed: texts(verdict.claimed),
    window: texts(verdict.window),
    likeliest: monthText(verdict.likeliest),
    reads_as: verdict.reads_as.map(texts),
    equally: texts(verdict.equally),
    assemblies: Object.fromEntries(
      [...verdict.assemblies].map(([name, fit]) => [name, { ...fit, reads_as: fit.reads_as.map(texts) }]),
    ),
    best_window: { ...verdict.best_window, window: texts(verdict.best_window.window) },
    points: Object.fromEntries(verdict.points),
    posterior: [...verdict.posterior],
    next,
  };
}
