// Photos: the parts that know neither a database nor a page.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { rowOf, whereWords } from '../../static/js/devicebook.js';
import { newDraft } from '../../static/js/draft.js';
import {
  fitted, heardMissing, namesIn, offeredAgain, refusedIn, waitingIn, withoutPhoto, withPhoto, withPhotosOf,
} from '../../static/js/photos.js';

const PARKED = { status: 413, why: 'too large' };
const drafted = (document, photos) => ({ ...newDraft('id', { reference: 'r', title: 'Poplin', document, base: 1 }), photos });

test('a picture is made smaller so that no side is over 2048 pixels, never larger', () => {
  assert.deepEqual(fitted(4096, 2048), { width: 2048, height: 1024 });
  assert.deepEqual(fitted(1000, 3000), { width: 683, height: 2048 });
  assert.deepEqual(fitted(2048, 10), { width: 2048, height: 10 });
  assert.deepEqual(fitted(100_000, 1), { width: 2048, height: 1 });
});

test('a photo is at a point once; the last one to go leaves nothing of the list', () => {
  const empty = { answers: {} };
  const one = withPhoto(empty, 'nut', 'a');
  assert.equal(withPhoto(one, 'nut', 'a'), one);
  const more = withPhoto(withPhoto(one, 'nut', 'b'), 'knobs', 'a');
  assert.deepEqual(more.photos, { nut: ['a', 'b'], knobs: ['a'] });
  assert.deepEqual(namesIn(more), ['a', 'b']);
  assert.deepEqual(withoutPhoto(more, 'nut', 'b').photos, { nut: ['a'], knobs: ['a'] });
  assert.deepEqual(withoutPhoto(one, 'nut', 'a'), empty);
  assert.deepEqual(empty, { answers: {} });
});

test('an answer is stored with the photos that are stored already', () => {
  const stored = { answers: {}, photos: { nut: ['a'] } };
  assert.deepEqual(withPhotosOf({ answers: { nut: 1 } }, stored), { answers: { nut: 1 }, photos: { nut: ['a'] } });
  assert.deepEqual(withPhotosOf({ answers: {}, photos: { nut: ['b'] } }, { answers: {} }), { answers: {} });
});

test('only what was taken here, is still in the document and was not refused waits', () => {
  const draft = drafted({ photos: { nut: ['a', 'b', 'c', 'd'] } }, { a: 'waiting', b: 'sent', c: PARKED, gone: 'waiting' });
  assert.deepEqual(waitingIn(draft), ['a']);
  assert.deepEqual(refusedIn(draft), ['c']);
  assert.deepEqual(waitingIn(drafted({}, undefined)), []);
});

test('what the server does not miss it has; what it misses is offered again; refused stays refused', () => {
  const draft = drafted({ photos: { nut: ['a', 'b', 'c'] } }, { a: 'waiting', b: 'sent', c: PARKED, gone: 'waiting' });
  assert.deepEqual(heardMissing(draft, ['b', 'c']), { a: 'sent', b: 'waiting', c: PARKED, gone: 'waiting' });
  assert.deepEqual(heardMissing(draft, undefined), draft.photos);
  assert.deepEqual(heardMissing(drafted({}, undefined), []), {});
});

test('a server put back from an older copy is offered every photo', () => {
  assert.deepEqual(offeredAgain(drafted({}, { a: 'sent', b: PARKED })), { a: 'waiting', b: 'waiting' });
  assert.deepEqual(offeredAgain(drafted({}, undefined)), {});
});

test('the book on the device says how many photos there are and where', () => {
  const draft = { ...drafted({ photos: { nut: ['a', 'b'] } }, { a: 'waiting', b: 'sent' }), dirty: false };
  assert.match(rowOf(draft).about, /2 photos$/);
  assert.equal(whereWords(draft), 'On the server; 1 photo only on this device');
  assert.equal(whereWords({ ...draft, dirty: true }), 'On this device only');
});
