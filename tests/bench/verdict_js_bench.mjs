// Times of the engine in JavaScript on the case that verdict_js_bench.py hands over. Best of many
// rounds, each on the clock: what else the machine does should not count.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { compileModel, judge, judgeSheet, nextLooks, readSheet } from '../../static/js/engine/index.js';

const { model: json, document, result } = JSON.parse(readFileSync(process.argv[2], 'utf8'));
const ROUNDS = 3000;
const FRESH = 400;

/** Best time of one call, in ms; `prepare` is not timed. */
function best(rounds, prepare, work) {
  let least = Infinity;
  for (let round = 0; round < rounds; round += 1) {
    const given = prepare(round);
    const started = performance.now();
    work(given);
    least = Math.min(least, performance.now() - started);
  }
  return least;
}

const model = compileModel(json);
const came = judge(model, document);
assert.equal(came.verdict, result.verdict);
came.posterior.forEach((p, t) => assert.ok(Math.abs(p - result.posterior[t]) <= 1e-9 * p));

const answer = (round) => ({ ...document.answers.p3, sure: round % 2 === 0 });
const tapped = (round) => ({ ...document, answers: { ...document.answers, p3: answer(round) } });
const sheets = [0, 1].map((round) => readSheet(model, tapped(round)));
const { p0: _, p20: __, p26: ___, ...fewer } = document.answers;
const open = readSheet(model, { ...document, answers: fewer });
const verdict = judgeSheet(model, open);
const nothing = () => undefined;

const times = {
  'model.json made ready': best(100, nothing, () => compileModel(json)),
  'verdict by itself, one answer changed': best(ROUNDS, (round) => sheets[round % 2], (sheet) => judgeSheet(model, sheet)),
  'verdict by itself, all answers new': best(FRESH, () => compileModel(json), (fresh) => judgeSheet(fresh, sheets[0])),
  'document checked': best(ROUNDS, nothing, () => readSheet(model, document)),
  'what to look at next, three open': best(ROUNDS, nothing, () => nextLooks(model, open, verdict)),
  'all in one, one answer changed': best(ROUNDS, tapped, (given) => judge(model, given)),
};
console.log(`Node ${process.versions.node}, ${process.arch}: 30 answers, ${model.months} months\n`);
for (const [name, time] of Object.entries(times)) console.log(`${name.padEnd(40)}${time.toFixed(3).padStart(9)} ms`);
const alone = times['verdict by itself, one answer changed'];
console.log(`\n${'six times slower'.padEnd(40)}${(6 * alone).toFixed(2).padStart(9)} ms   (aim: at most 4)`);
