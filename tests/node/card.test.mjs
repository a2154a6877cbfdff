// Cards made by the scripts are, byte for byte, those that Python makes (tests/vectors/make_cards.py).
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';
import { gunzipSync } from 'node:zlib';

import { BitWriter, numberOf, widthFor } from '../../static/js/card/bits.js';
import { cardUrl, digits } from '../../static/js/card/code.js';
import { documentOf } from '../../static/js/card/document.js';
import { CardError } from '../../static/js/card/errors.js';
import { cardOf, encode, issuedAt } from '../../static/js/card/payload.js';
import { svgPath, symbol } from '../../static/js/card/qr.js';
import { compileModel } from '../../static/js/engine/model.js';
import { readSheet } from '../../static/js/engine/sheet.js';

const packed = readFileSync(new URL('../vectors/cards.json.gz', import.meta.url));
const { base, models, cases } = JSON.parse(gunzipSync(packed).toString('utf8'));
const compiled = new Map(Object.entries(models).map(([hash, json]) => [hash, compileModel(json)]));
const made = cases.filter((one) => one.bytes);
const refused = cases.filter((one) => one.faults);

function card({ model, document, verdict, told }) {
  const compiledModel = compiled.get(model);
  const sheet = readSheet(compiledModel, document);
  return cardOf(compiledModel, sheet, verdict, { ...told, issued: new Date(told.issued) });
}

const bytes = (one) => encode(compiled.get(one.model), card(one));

test('There are enough cases of every sort.', () => {
  assert.ok(made.length >= 210, `${made.length}`);
  assert.equal(new Set(made.map((one) => one.verdict.verdict)).size, 5);
  assert.ok(refused.length >= 10);
});

test('Bytes and digits are those of Python.', () => {
  for (const one of made) {
    const data = bytes(one);
    assert.equal(Buffer.from(data).toString('hex'), one.bytes);
    assert.equal(digits(data), one.digits);
  }
});

test('The symbol has the version of Python.', () => {
  for (const one of made) {
    const found = symbol(`${base}/c/${one.digits}`);
    assert.equal(found.version, one.version);
    assert.equal(found.size, 17 + 4 * one.version);
    assert.ok(found.rows.length === found.size && found.rows.every((row) => row.length === found.size));
  }
});

test('What no card can carry is refused, naming the same field and what was expected.', () => {
  for (const one of refused) {
    assert.throws(() => bytes(one), (error) => {
      assert.ok(error instanceof CardError, `${error}`);
      const told = (fault) => [fault.where, fault.expected, fault.remedy];
      assert.deepEqual(error.faults.map(told), one.faults.map(told));
      return true;
    });
  }
});

test('One answer more changes the bytes; its note does not.', () => {
  const one = made.find(({ document }) => Object.values(document.answers).some((answer) => answer.seen));
  const [id, answer] = Object.entries(one.document.answers).find(([, given]) => given.seen);
  const changed = (given) => ({ ...one, document: { ...one.document, answers: { ...one.document.answers, [id]: given } } });
  assert.deepEqual(bytes(changed({ ...answer, note: 'a worn edge' })), bytes(one));
  assert.notDeepEqual(bytes(changed({ not_seen: 'no-time' })), bytes(one));
});

test('The document of a card gives that card again.', () => {
  for (const one of made) {
    const again = { ...one, document: documentOf(compiled.get(one.model), card(one)) };
    assert.equal(Buffer.from(bytes(again)).toString('hex'), one.bytes);
  }
});

test('Issued is cut to the minute.', () => {
  const one = { ...made[0], told: { ...made[0].told, issued: '2026-04-11T10:03:59.999Z' } };
  assert.equal(issuedAt(card(one)).toISOString(), '2026-04-11T10:03:00.000Z');
});

test('A reference with too many points has no card.', () => {
  const point = compiled.get(made[0].model).points[0];
  const model = { ...compiled.get(made[0].model), points: Array.from({ length: 900 }, () => point) };
  assert.throws(() => encode(model, { ...card(made[0]), answers: new Map() }), /at most 232 bytes, so that a seal fits/);
});

test('Numbers are written in their width, most significant bit first, the rest filled with zeros.', () => {
  const bits = new BitWriter();
  bits.put(5, 3, 'a');
  bits.put(0xffn, 8, 'b');
  assert.deepEqual([...bits.data()], [0b10111111, 0b11100000]);
  assert.throws(() => bits.put(8, 3, 'a'), /a: expected a whole number from 0 to 7; got "8"/);
  assert.throws(() => bits.put(-1, 3, 'a'), /got "-1"/);
});

test('A text has one form: short where digits and separators say it, else six bits a sign.', () => {
  const written = (text) => {
    const bits = new BitWriter();
    bits.putText(text, 'text');
    return bits.length;
  };
  assert.equal(written('1388'), 1 + 4 * 4 + 4);
  assert.equal(written(''), 1 + 4);
  assert.equal(written('A1'), 1 + 5 + 2 * 6);
  assert.equal(written('a1'), 1 + 5 + 3 * 6);
  for (const text of ['№', 'Ω1', '1'.repeat(17)]) assert.throws(() => written(text), CardError);
});

test('So many bits tell so many choices apart.', () => {
  assert.deepEqual([1, 2, 3, 4, 5, 32, 33].map(widthFor), [0, 1, 2, 2, 3, 5, 6]);
  assert.equal(numberOf('b', ['a', 'b'], 'x'), 1);
  assert.throws(() => numberOf('c', ['a', null], 'x'), /x: expected one of 2 choices: a, None; got "c"/);
});

test('An address is the base without its last slash, and digits that keep leading zeros.', () => {
  assert.equal(cardUrl('https://cards.example/', Uint8Array.of(0, 1)), 'https://cards.example/c/65537');
  assert.throws(() => digits(new Uint8Array(301)), /at most 300 bytes/);
});

test('A drawing has a rectangle for each run of dark modules.', () => {
  const rows = [[true, true, false, true], [false, false, false, false]];
  assert.equal(svgPath({ version: 1, size: 4, rows }), 'M0 0h2v1h-2zM3 0h1v1h-1z');
});

test('A text too long for a phone to show is refused.', () => {
  assert.throws(() => symbol(`https://cards.example/c/${'7'.repeat(900)}`), /a text that fits version 13/);
  assert.equal(symbol('https://cards.example/').version, 2);
});
