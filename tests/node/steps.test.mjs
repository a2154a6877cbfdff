// What "undo" keeps leads back to each document, key by key; by points where a document goes by points.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { documentsOf, newDraft, undone, withDocument } from '../../static/js/draft.js';
import { before, taken } from '../../static/js/steps.js';

const HASH = 'a'.repeat(64);
const DOCUMENTS = [
  { window: ['1953-01', '1953-04'], answers: {}, name: '' },
  { window: ['1953-01', '1953-04'], answers: { knobs: { seen: 'wood' } }, name: '' },
  { window: ['1953-01', '1953-04'], answers: { knobs: { seen: 'cream', sure: false }, neck: { value: 1 } }, name: '' },
  { window: ['1953-02', '1953-04'], answers: { neck: { value: 1 } }, name: 'one', photos: { neck: ['b', 'c'] } },
  { window: ['1953-02', '1953-04'], answers: { neck: { value: 2 } }, name: 'one', photos: { neck: ['c'] }, marks: [] },
  { window: ['1953-02', '1953-04'], name: 'one' },
  { window: ['1953-02', '1953-04'], answers: null, name: undefined, photos: {} },
];
const started = () => newDraft('1', { reference: HASH, title: 'T', document: DOCUMENTS[0] });
const all = DOCUMENTS.slice(1).reduce(withDocument, started());

test('each step leads from a document to the one before it', () => {
  for (const was of DOCUMENTS) {
    for (const now of DOCUMENTS) assert.deepEqual(before(now, taken(was, now)), was);
  }
});

test('a step holds nothing that stayed', () => {
  assert.deepEqual(taken(DOCUMENTS[1], DOCUMENTS[2]), [['answers', 'knobs', { seen: 'wood' }], ['answers', 'neck']]);
  assert.deepEqual(taken(DOCUMENTS[2], DOCUMENTS[2]), []);
});

test('every document comes back, the last one first, as it is stored', () => {
  let draft = structuredClone(all);
  assert.deepEqual(documentsOf(draft), [...DOCUMENTS].reverse());
  for (const was of DOCUMENTS.slice(0, -1).reverse()) {
    draft = structuredClone(undone(draft));
    assert.deepEqual(draft.document, was);
  }
  assert.equal(undone(draft), draft);
});

test('what an earlier build kept whole is taken over', () => {
  const { steps: _, ...older } = { ...started(), document: DOCUMENTS[2], undo: DOCUMENTS.slice(0, 2) };
  const draft = withDocument(structuredClone(older), DOCUMENTS[3]);
  assert.deepEqual(draft.undo, []);
  assert.deepEqual(documentsOf(draft), DOCUMENTS.slice(0, 4).reverse());
  assert.deepEqual(undone(structuredClone(older)).document, DOCUMENTS[1]);
});

test('sixty changes can be taken back, and no more are kept', () => {
  let draft = started();
  for (let name = 0; name < 70; name += 1) draft = withDocument(draft, { ...DOCUMENTS[0], name: String(name) });
  assert.equal(draft.steps?.length, 60);
  assert.equal(documentsOf(draft).at(-1)?.name, '9');
});
