// What a code says, what a picture's codes amount to, and what is said where there is no camera.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';

import { fitted, noCamera, whyNot } from '../../static/js/camera.js';
import { judge, readText } from '../../static/js/cardtext.js';

const texts = JSON.parse(readFileSync(new URL('../vectors/card_texts.json', import.meta.url), 'utf8'));
const cards = texts.filter(([, digits]) => digits).map(([text, digits, host]) => ({ text, digits, host }));
const own = cards.find(({ host }) => host === 'cards.example');
const other = cards.find(({ digits }) => digits !== own.digits);
const HOSTS = ['localhost', 'cards.example'];

test('A text is the same card as for the server, or none for either.', () => {
  assert.ok(texts.filter(([, digits]) => digits).length > 8 && texts.filter(([, digits]) => !digits).length > 20);
  for (const [text, digits, host] of texts) assert.deepEqual(readText(text), digits && { digits, host }, text);
});

test('One card is found beside codes of something else, however often it is seen.', () => {
  const found = { what: 'card', digits: own.digits, elsewhere: '' };
  assert.deepEqual(judge([own.text], HOSTS), found);
  assert.deepEqual(judge(['https://elsewhere.example/menu', own.text, own.text], HOSTS), found);
  assert.deepEqual(judge([own.digits], []), found);
});

test('A card of another server is one, and that server is named.', () => {
  assert.deepEqual(judge([own.text], ['localhost']), { what: 'card', digits: own.digits, elsewhere: 'cards.example' });
  assert.deepEqual(judge([own.text.replace('cards.', 'cards.example.')], HOSTS), { what: 'card', digits: own.digits, elsewhere: 'cards.example.example' });
});

test('No code, a foreign one and two cards are told apart.', () => {
  assert.notEqual(own.digits, other.digits);
  assert.deepEqual(judge([], HOSTS), { what: 'nothing' });
  assert.deepEqual(judge(['https://elsewhere.example/menu'], HOSTS), { what: 'other' });
  assert.deepEqual(judge([own.text, other.digits], HOSTS), { what: 'several' });
});

test('Where a browser gives no camera, it is said why; where it does, nothing is.', () => {
  assert.match(noCamera(false, false, 'http://10.0.0.7:8000'), /only to pages at https or localhost.*http:\/\/10\.0\.0\.7:8000/);
  assert.match(noCamera(true, false, 'https://cards.example'), /gives pages no camera/);
  assert.equal(noCamera(true, true, 'https://cards.example'), '');
});

test('A camera that does not start is explained by what the browser says, and another way is named.', () => {
  const said = (name) => whyNot(Object.assign(new Error('x'), { name }));
  const names = ['NotAllowedError', 'NotFoundError', 'NotReadableError', 'OddError'];
  assert.equal(new Set(names.map(said)).size, 4);
  assert.match(said('NotAllowedError'), /not allowed/);
  for (const words of [...names.map(said), whyNot('x')]) assert.match(words, /picture or the address/);
});

test('A picture is never enlarged and keeps its shape.', () => {
  assert.deepEqual(fitted(1280, 720, 1280), [1280, 720]);
  assert.deepEqual(fitted(3840, 2160, 1280), [1280, 720]);
  assert.deepEqual(fitted(720, 1280, 900), [506, 900]);
  assert.deepEqual(fitted(0, 0, 900), [1, 1]);
});
