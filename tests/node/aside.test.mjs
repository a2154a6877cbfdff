// What a kiosk put aside: the parts that know neither a database nor a page.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { newDraft, withDocument } from '../../static/js/draft.js';
import { covers, holds, joined } from '../../static/js/kiosk/aside.js';
import { ready, whyNot } from '../../static/js/kiosk/asidesend.js';

const REFUSED = { status: 422, why: 'not so' };
const photo = (sha256) => ({ sha256, inspection: 'one', point: 'nut', bytes: new ArrayBuffer(1), type: 'image/jpeg', made: '' });
const drafted = (document, more = {}) => ({ ...newDraft('one', { reference: 'r', title: 'Loom', document }), ...more });
const put = (draft, photos = [], aside = '2026-04-11T10:00:00Z') => ({ id: draft.id, draft, photos: photos.map(photo), aside });
const FIRST = drafted({ answers: { nut: { seen: 'bone' } } });

test('a draft holds what it came out of, and nothing that somebody else wrote', () => {
  const later = withDocument(FIRST, { answers: { nut: { seen: 'brass' } } });
  assert.ok(holds(FIRST, FIRST));
  assert.ok(holds(later, FIRST));
  assert.ok(!holds(FIRST, later));
  assert.ok(!holds({ ...FIRST, id: 'two' }, FIRST));
  assert.ok(!holds(drafted({ answers: {} }, { base: 3 }), FIRST));
  assert.ok(!holds(FIRST, drafted({ answers: NaN })));
});

test('put aside twice: the later takes the place of what it holds, and loses no photo', () => {
  const later = withDocument(FIRST, { answers: {} });
  const old = put(FIRST, ['a', 'b']);
  const found = joined(put(later, ['b', 'c'], '2026-04-11T12:00:00Z'), [old, put({ ...FIRST, id: 'two' })]);
  assert.deepEqual(found.gone, ['one']);
  assert.equal(found.put.id, 'one');
  assert.equal(found.put.draft, later);
  assert.equal(found.put.aside, old.aside);
  assert.deepEqual(found.put.photos.map(({ sha256 }) => sha256), ['a', 'b', 'c']);
});

test('put aside twice: what it does not hold stays beside it, under a name of its own', () => {
  const less = drafted({ answers: {} });
  const second = joined(put(less), [put(FIRST, ['a'])]);
  assert.deepEqual(second.gone, []);
  assert.equal(second.put.id, 'one 2');
  const third = joined(put(drafted({ answers: 3 })), [put(FIRST, ['a']), second.put]);
  assert.equal(third.put.id, 'one 3');
  const again = joined(put(less), [put(FIRST, ['a']), second.put]);
  assert.deepEqual([again.gone, again.put.id], [['one 2'], 'one 2']);
});

test('it may go only when the server acknowledged the document and each photo in it', () => {
  const document = { answers: {}, photos: { nut: ['a'] } };
  const one = put(drafted(document), ['a', 'taken away']);
  const sent = drafted(document, { dirty: false, base: 1, photos: { a: 'sent' } });
  assert.ok(covers(sent, one));
  assert.ok(!covers({ ...sent, dirty: true }, one));
  assert.ok(!covers({ ...sent, parked: REFUSED }, one));
  for (const state of ['waiting', REFUSED, undefined]) assert.ok(!covers({ ...sent, photos: { a: state } }, one));
  assert.ok(!covers({ ...sent, document: { answers: {} } }, one));
});

test('as the outbox takes it nothing is refused, and photos that are here wait', () => {
  const document = { answers: {}, photos: { nut: ['a', 'b', 'c', 'd', 'e'] } };
  const draft = drafted(document, { parked: REFUSED, base: 2, had: ['h'], photos: { a: REFUSED, b: 'sent', c: 'waiting' } });
  const found = ready(put(draft, ['a', 'b', 'd']), 'epoch');
  assert.deepEqual([found.parked, found.dirty, found.base], [null, true, 2]);
  assert.deepEqual(found.photos, { a: 'waiting', b: 'sent', c: 'waiting', d: 'waiting' });
  const moved = ready({ ...put(draft, ['a', 'b']), epoch: 'before' }, 'epoch');
  assert.deepEqual([moved.base, moved.sent, moved.photos.b], [0, ['h'], 'waiting']);
  assert.equal(ready({ ...put(draft), epoch: 'epoch' }, 'epoch').base, 2);
});

test('why it was refused is said of the inspection and of each kind of photo once', () => {
  const document = { answers: {}, photos: { nut: ['a', 'b', 'c'] } };
  const draft = drafted(document, { parked: REFUSED, photos: { a: REFUSED, b: REFUSED, c: { status: 0, why: 'it is damaged' } } });
  assert.deepEqual(whyNot(draft), ['The server refused it: not so', 'The server refused a photo of it: not so', 'A photo of it: it is damaged.']);
  assert.deepEqual(whyNot(FIRST), []);
});
