// What the shell decides without a browser: what to keep, what to say, whose page it is.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { buildOf } from '../../static/js/build.js';
import { hint, isApple } from '../../static/js/install.js';
import { persistWords } from '../../static/js/persist.js';
import { plan, sizeWords } from '../../static/js/shelf.js';
import { idOf } from '../../static/js/shell.js';

test('a newer edition replaces an older one that no inspection uses', () => {
  const found = { offered: [{ id: 'a', digits: '2' }], kept: [{ id: 'a', digits: '1' }], used: [] };
  assert.deepEqual(plan(found), { fetch: ['2'], drop: ['1'] });
});

test('an edition that an inspection uses stays, and is fetched if it is missing', () => {
  const found = { offered: [{ id: 'a', digits: '2' }], kept: [{ id: 'a', digits: '1' }], used: ['1', '3'] };
  assert.deepEqual(plan(found), { fetch: ['2', '3'], drop: [] });
});

test('what is offered and not kept is left alone, and so is what is offered no more', () => {
  const found = { offered: [{ id: 'a', digits: '2' }], kept: [{ id: 'b', digits: '1' }], used: [] };
  assert.deepEqual(plan(found), { fetch: [], drop: [] });
});

test('sizes are said in kB, then in MB', () => {
  assert.deepEqual([1, 1499, 999_499, 999_500, 2_340_000].map(sizeWords), ['1 kB', '1 kB', '999 kB', '1.0 MB', '2.3 MB']);
});

test('an installed app gets no hint; a phone that can ask, asks; an Apple device gets the steps', () => {
  const where = { standalone: false, canAsk: false, apple: false, waiting: 0 };
  assert.equal(hint({ ...where, standalone: true, canAsk: true }), null);
  assert.equal(hint(where), null);
  assert.equal(hint({ ...where, canAsk: true })?.asks, true);
  assert.match(hint({ ...where, apple: true })?.words ?? '', /^Tap Share/);
  assert.match(hint({ ...where, apple: true, waiting: 3 })?.words ?? '', /^Send the 3 still waiting first/);
});

test('an iPad is known by its touch screen, a Macintosh by having none', () => {
  assert.equal(isApple('Mozilla/5.0 (Macintosh; Intel Mac OS X)', 5), true);
  assert.equal(isApple('Mozilla/5.0 (Macintosh; Intel Mac OS X)', 0), false);
  assert.equal(isApple('Mozilla/5.0 (iPhone)', 5), true);
});

test('only a promise is called a promise', () => {
  assert.match(persistWords(true), /promised/);
  assert.match(persistWords(false), /may clear/);
  assert.match(persistWords(undefined), /does not say/);
});

test('build and inspection are read from addresses', () => {
  const id = '6d1f6a52-3c1e-4b0a-9b8e-0d6f0c2a7e11';
  assert.equal(buildOf('http://localhost/s/0123456789ab/js/build.js'), '0123456789ab');
  assert.equal(buildOf('file:///static/js/build.js'), '');
  assert.deepEqual([`/inspect/${id}`, `/inspect/${id}/verdict`, '/', '/inspect/x'].map(idOf), [id, id, '', '']);
});
