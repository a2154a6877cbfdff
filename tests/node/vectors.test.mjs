// The engine in JavaScript against what Python made: numbers to nine digits, words exactly.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { gunzipSync } from 'node:zlib';
import {
  FaultsError,
  UNITS,
  compileModel,
  convert,
  judge,
  judgeAndTell,
  parseQuantity,
  readCode,
} from '../../static/js/engine/index.js';
import { nearest } from '../../static/js/engine/near.js';
import { r9, rint, rounded } from '../../static/js/engine/numbers.js';
import { readText } from '../../static/js/readings/schemes.js';
import { SerialPattern } from '../../static/js/engine/serials.js';

const FILE = new URL('../vectors/verdicts.jsonl.gz', import.meta.url);
const READINGS = new URL('../vectors/readings.json.gz', import.meta.url);
const RELATIVE = 1e-9;
const NOTHING = 1e-300; // below this a double has fewer digits, down to none
const BITS = 1e-12; // bits are differences of entropies

/** Every line, with the model of its reference. */
function vectors() {
  const lines = gunzipSync(readFileSync(FILE)).toString('utf8').trimEnd().split('\n').map((line) => JSON.parse(line));
  let model = null;
  return lines.flatMap((line) => {
    if (line.model) model = compileModel(line.model);
    return line.model ? [] : [{ ...line, model }];
  });
}

/** What comes out of a vector: result and sentences, or faults. */
function outcome({ model, document, window }) {
  try {
    const { result, sentences } = judgeAndTell(model, document, window);
    return { result, sentences: sentences.map(({ about, text, points }) => [about, text, points]) };
  } catch (error) {
    if (!(error instanceof FaultsError)) throw error;
    return { faults: inOrder(error.faults) };
  }
}

/** By field: unknown points come in no order of their own. */
function inOrder(faults) {
  const key = ({ where, expected }) => `${where}\0${expected}`;
  return [...faults].sort((a, b) => (key(a) < key(b) ? -1 : 1));
}

/** Every place where two results differ. */
function differences(kept, came, at = '') {
  if (typeof kept === 'number' && typeof came === 'number') {
    const slack = at.endsWith('_bits') ? BITS : NOTHING;
    const close = Math.abs(kept - came) <= Math.max(RELATIVE * Math.max(Math.abs(kept), Math.abs(came)), slack);
    return close ? [] : [`${at}: kept ${kept}, came ${came}`];
  }
  if (Array.isArray(kept) !== Array.isArray(came)) return [`${at}: a list on one side only`];
  if (kept && came && typeof kept === 'object' && typeof came === 'object') {
    const keys = new Set([...Object.keys(kept), ...Object.keys(came)]);
    return [...keys].flatMap((key) => differences(kept[key], came[key], `${at}.${key}`));
  }
  return kept === came ? [] : [`${at}: kept ${JSON.stringify(kept)}, came ${JSON.stringify(came)}`];
}

const VECTORS = vectors();

for (const what of ['result', 'sentences', 'faults']) {
  test(`the ${what} of every vector are those that Python made`, () => {
    const some = VECTORS.filter((vector) => vector[what]);
    assert.ok(some.length > 80, `only ${some.length} vectors`);
    const wrong = some.flatMap((vector) => {
      const found = differences(vector[what], outcome(vector)[what]);
      return found.length ? [`${vector.name}\n    ${found.slice(0, 5).join('\n    ')}`] : [];
    });
    assert.equal(wrong.length, 0, `${wrong.length} of ${some.length} differ:\n${wrong.slice(0, 10).join('\n')}`);
  });
}

test('the comparison sees a digit, a word and a missing field', () => {
  const kept = { a: 1, b: ['x'], c: null };
  assert.deepEqual(differences(kept, { a: 1 + 1e-10, b: ['x'], c: null }), []);
  assert.equal(differences(kept, { a: 1 + 1e-8, b: ['y'] }).length, 3);
  assert.equal(differences([1, 2], [1]).length, 1);
});

test('an answer judged before does not stay when it changes', () => {
  const { model, document, window } = VECTORS.find((v) => v.name === 'edges: window, one year');
  const fresh = (given) => judge(compileModel(model.json), given, window);
  for (const answer of [{ seen: 'new' }, { seen: 'new', sure: false }, { seen: 'new', state: 'signs' }, { seen: 'old' }]) {
    const given = { ...document, answers: { ...document.answers, nut: answer } };
    assert.deepEqual(judge(model, given, window), fresh(given));
  }
});

test('a document and a model are left as they came', () => {
  const { model, document, window } = VECTORS.find((v) => v.name === 'edges: signs against late parts');
  const before = JSON.stringify([document, model.json]);
  judgeAndTell(model, document, window);
  assert.equal(JSON.stringify([document, model.json]), before);
});

test('a model of another format is refused', () => {
  assert.throws(() => compileModel({ ...VECTORS[0].model.json, format: 2 }), /format 2, not 1/);
});

test('halves go to the even neighbour, and decimals are cut as Python cuts them', () => {
  assert.deepEqual([0.5, 1.5, 2.5, -0.5, -1.5, 1e300].map(rint), [0, 2, 2, -0, -2, 1e300]);
  // Python: round(2.675, 2), round(0.5, 0), round(1.0000000005, 9), round(0.1234567895, 9), round(1e-10, 9)
  assert.deepEqual([rounded(2.675, 2), rounded(0.5, 0)], [2.67, 0]);
  assert.deepEqual([1.0000000005, 0.1234567895, 1e-10].map(r9), [1.000000001, 0.123456789, 0]);
});

test('a quantity is read as it was written, and its unit is known by every spelling', () => {
  for (const unit of UNITS.values()) {
    for (const word of unit.spellings) assert.deepEqual(parseQuantity(`7.5 ${word}`, unit.name), { value: 7.5, unit: unit.name });
  }
  assert.deepEqual(parseQuantity('1 11/16', 'in'), { value: 1.6875, unit: 'in' });
});

test('a pattern made to go back and forth is answered at once', () => {
  const pattern = new SerialPattern('((a*)*|(a|a?)+){1,40}b');
  const started = performance.now();
  assert.equal(pattern.matches('a'.repeat(64)), false);
  assert.equal(pattern.matches(`${'a'.repeat(63)}b`), true);
  assert.ok(performance.now() - started < 2000);
});

const READ = {
  quantity: parseQuantity,
  conversion: convert,
  code: (scheme, text) => {
    const { months, says } = readCode(scheme, text);
    return { months, says };
  },
  serial: (text, tried) => {
    const pattern = new SerialPattern(text);
    return { example: pattern.example, fits: tried.map((serial) => pattern.matches(serial)) };
  },
  near: nearest,
  rounding: rounded,
  marking: readText,
};
const KEPT = JSON.parse(gunzipSync(readFileSync(READINGS)).toString('utf8'));

/** What is read in the inputs, or why they are refused. */
function reading(kind, inputs) {
  try {
    return { read: READ[kind](...inputs) };
  } catch (error) {
    if (!(error instanceof FaultsError)) throw error;
    return { faults: error.faults };
  }
}

for (const [kind, rows] of Object.entries(KEPT)) {
  test(`each ${kind} is read as Python reads it, to the last bit`, () => {
    assert.ok(rows.length >= 600);
    for (const row of rows) assert.deepEqual([row.slice(0, -1), reading(kind, row.slice(0, -1))], [row.slice(0, -1), row.at(-1)]);
  });
}
