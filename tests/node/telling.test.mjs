// Answers, variants and marks in words. The chart's numbers are held against Python's (tests/web).
import assert from 'node:assert/strict';
import test from 'node:test';

import { nothing } from '../../static/js/engine/answers.js';
import { answerWords, dayWords, decimals, fittedWords, markWords, pointWords } from '../../static/js/telling.js';

const JANUARY = 12 * 1953;
const point = (json, seen = []) => ({ id: 'neck-depth-1', json, seen });
const answer = (fields) => ({ ...nothing(), ...fields });
const KNOBS = point({}, [{ id: 'wood', label: 'Wood' }, { id: 'horn', label: 'Horn' }]);

test('A point has its own name, or the words of its id.', () => {
  assert.equal(pointWords(point({ name: 'Depth at the nut' })), 'Depth at the nut');
  assert.equal(pointWords(point({})), 'Neck depth 1');
});

test('An answer says what was seen, how sure, and where.', () => {
  assert.equal(answerWords(KNOBS, answer({ seen: ['wood'] })), 'Wood');
  assert.equal(answerWords(KNOBS, answer({ seen: ['wood', 'other'], sure: false })), 'Wood, None of these (unsure)');
  assert.equal(answerWords(KNOBS, answer({ seen: ['horn'], where: ['front', 'back'] })), 'Horn, at front, back');
  assert.equal(answerWords(KNOBS, answer({ read: '137-6634' })), '137-6634');
  assert.equal(answerWords(KNOBS, answer({ state: 'changed' })), 'changed');
  assert.equal(answerWords(KNOBS, answer({ not_seen: 'no-time' })), 'not seen: no time');
});

test('A measure has as many decimals as its gauge is worth.', () => {
  const measured = (value, tolerance, unit) => answerWords(point({ tolerance, unit }), answer({ value }));
  assert.equal(measured(0.93456, 0.006, 'in'), '0.935 in');
  assert.equal(measured(8.3, 0.05, 'lb'), '8.3 lb');
  assert.equal(measured(7.4321, 0.1, 'kohm'), '7.4 kΩ');
  assert.equal(measured(7412.6, 60, 'ohm'), '7413 Ω');
  assert.equal(measured(23.81, undefined, 'mm'), '23.81 mm');
  assert.deepEqual([0, 0.001, 0.006, 0.01, 0.1, 0.99, 1, 60].map(decimals), [3, 3, 3, 2, 1, 1, 0, 0]);
});

test('A variant says when it was fitted.', () => {
  assert.equal(fittedWords({}), 'all months');
  assert.equal(fittedWords({ first: JANUARY }), 'from Jan 1953');
  assert.equal(fittedWords({ last: JANUARY }), 'until Jan 1953');
  assert.equal(fittedWords({ first: JANUARY, last: JANUARY + 11 }), '1953');
  assert.equal(fittedWords({ knots: [[JANUARY, 0], [JANUARY + 2, 1], [JANUARY + 4, 1]] }), 'from Feb 1953');
  assert.equal(fittedWords({ knots: [[JANUARY, 0.1], [JANUARY + 2, 1]] }), 'shares by month Jan–Mar 1953');
  assert.equal(fittedWords({ knots: [[JANUARY, 0], [JANUARY + 1, 1], [JANUARY + 2, 0.5]] }), 'shares by month Jan–Mar 1953');
  assert.equal(fittedWords({ knots: [[JANUARY, 0.1]] }), 'all months');
});

test('A mark says what, how large, where; no size where none was measured.', () => {
  assert.equal(markWords({ place: 'board-9', kind: 'burn', mm: 6 }), 'Burn, 6 mm: Fingerboard, fret 9');
  assert.equal(markWords({ place: 'cavity', kind: 'initials', mm: 0 }), 'Initials or writing: In a cavity');
});

test('A day is that of the code, wherever the phone is.', () => {
  assert.equal(dayWords(new Date('2026-04-01T00:00:00Z')), '1 Apr 2026');
  assert.equal(dayWords(new Date('2026-12-31T23:59:00Z')), '31 Dec 2026');
});
