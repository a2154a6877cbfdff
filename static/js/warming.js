// @ts-check
/**
 * Judging for nothing while nobody taps: a browser makes fast code only of what has run often, and the
 * first taps on an inspection that was just opened would be those that wait.
 *
 * @import { Model } from './engine/types.js'
 */
import { readSheet } from './engine/sheet.js';
import { judgeSheet } from './engine/verdict.js';

const ROUNDS = 60; // after these a round hardly gets faster
const LONGEST = 400; // milliseconds in all, on however slow a phone
const WAIT = 2000; // milliseconds until it is done without an idle moment

let rounds = 0;
let spent = 0;

/** @returns {Promise<void>} */
const idle = () => new Promise((done) => { requestIdleCallback(() => done(), { timeout: WAIT }); });

/**
 * Judges as taps will: of each answer in turn what is nearly the same, and then itself again. It goes on
 * where a tap broke it off, and is done once.
 * @param {Model} model @param {Record<string, any>} document @param {() => boolean} done  whether it is of no use any more
 */
export async function warmUp(model, document, done) {
  const answers = Object.entries(document.answers ?? {});
  if (!answers.length || !globalThis.requestIdleCallback) return;
  for (; rounds < ROUNDS && spent < LONGEST; rounds += 1) {
    await idle();
    if (done()) return;
    const began = performance.now();
    const [id, answer] = answers[(rounds >> 1) % answers.length];
    const other = rounds % 2 ? answer : { ...answer, sure: answer.sure === false };
    judgeSheet(model, readSheet(model, { ...document, answers: { ...document.answers, [id]: other } }));
    spent += performance.now() - began;
  }
}
