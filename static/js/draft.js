// @ts-check
/**
 * Inspections on this device. One record each, keyed by the inspection's own UUID; what is not yet on
 * the server is `dirty`. A record is never overwritten from an older copy of it: each write names the
 * version it was made from.
 *
 * @typedef {{ status: number, why: string }} Parked
 * @import { Step } from './steps.js'
 * A card that was made on this device, of the document of that version; `sealed` once a server did so.
 * @typedef {{ version: number, issued: string, interest: string, sealed?: { address: string, issuer: string } }} MadeCard
 * @typedef {object} Draft
 * @property {string} id
 * @property {string} reference      full hash of the edition that it began with
 * @property {string} title          of the reference
 * @property {Record<string, any>} document
 * @property {number} version        counts the documents written on this device
 * @property {number} base           the last revision that the server acknowledged; 0: none
 * @property {string[]} sent         hashes of documents whose receipt never came
 * @property {string[]} had          hashes of documents that the server acknowledged, the last ones
 * @property {boolean} dirty
 * @property {boolean} conflict      the server keeps another version beside this one
 * @property {Parked | null} parked
 * @property {Step[]} [steps]        what each change took away, oldest first
 * @property {Record<string, any>[]} undo  the documents before, as an earlier build kept them; else empty
 * @property {{ point: string, fields: [string, string][] } | null} typing  what was typed and is no answer yet
 * @property {string} opened         ISO time, to show and never to order by
 * @property {MadeCard} [card]       the last one that was made here
 * @property {Record<string, import('./photos.js').PhotoState>} [photos]  hash → what the server said of it
 */
import { transact } from './db.js';
import { count, MADE } from './remember.js';
import { before, taken } from './steps.js';

const DEPTH = 60;
const ROOM = 2_000_000; // bytes: some hundred answers, each written with all that "undo" needs

export class StaleDraftError extends Error {}

/** The record is not there (any more): the browser cleared it. */
export class GoneDraftError extends Error {}

/** crypto.randomUUID exists in a secure context only; getRandomValues exists everywhere. */
export function newId() {
  if (typeof crypto.randomUUID === 'function') return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/**
 * @param {string} id @param {{ reference: string, title: string, document: Record<string, any>, base?: number }} begun
 * @returns {Draft}
 */
export const newDraft = (id, { reference, title, document, base = 0 }) => ({
  id, reference, title, document, base, version: 0, sent: [], had: [], dirty: base === 0, conflict: false,
  parked: null, undo: [], steps: [], typing: null, opened: new Date().toISOString(),
});

/** @param {string} id @returns {Promise<Draft | undefined>} */
export const load = (id) => transact(['drafts'], 'readonly', (t) => t.objectStore('drafts').get(id));

/** @returns {Promise<Draft[]>} newest first */
export async function all() {
  const found = /** @type {Draft[]} */ (await transact(['drafts'], 'readonly', (t) => t.objectStore('drafts').getAll()) ?? []);
  return found.sort((a, b) => (a.opened < b.opened ? 1 : -1));
}

/**
 * Changes the stored record in one transaction. `expected` is the version that the change was made
 * from; StaleDraftError when another tab wrote in between, GoneDraftError when there is none. Resolves with what is on disk now.
 * @param {string} id @param {(draft: Draft) => Draft} change @param {number | null} expected
 * @param {import('./photos.js').PhotoRecord} [photo]  whose bytes are written with it, or neither is
 * @returns {Promise<Draft>}
 */
export async function update(id, change, expected = null, photo = undefined) {
  /** @type {Draft | undefined} */
  let kept;
  let gone = false;
  await transact(photo ? ['drafts', 'photos'] : ['drafts'], 'readwrite', (t) => {
    const store = t.objectStore('drafts');
    const request = store.get(id);
    request.onsuccess = () => {
      const now = /** @type {Draft} */ (request.result);
      gone = !now;
      kept = undefined; // the same work is done once more where the first connection was closed
      if (gone || (expected !== null && now.version !== expected)) return;
      const next = change(now);
      kept = { ...next, version: now.version + Number(next.document !== now.document) };
      store.put(kept);
      if (photo) keepBytes(t.objectStore('photos'), photo);
    };
  });
  if (gone) throw new GoneDraftError(`inspection ${id} is not on this device`);
  if (!kept) throw new StaleDraftError(`inspection ${id} was changed in another tab`);
  return kept;
}

/**
 * A photo must leave room for the answers that follow it: it is refused where this and a good deal
 * more would not fit. What a browser estimates is no help, it is off by any amount.
 * @param {IDBObjectStore} photos @param {import('./photos.js').PhotoRecord} photo
 */
function keepBytes(photos, photo) {
  photos.put(photo);
  photos.put({ ...photo, sha256: 'room', bytes: new ArrayBuffer(ROOM) });
  photos.delete('room');
}

/** Puts a new record in; one that is already there stays. @param {Draft} draft @returns {Promise<Draft>} */
export async function begin(draft) {
  let made = false;
  await transact(['drafts'], 'readwrite', (t) => {
    const store = t.objectStore('drafts');
    const request = store.getKey(draft.id);
    request.onsuccess = () => {
      made = request.result === undefined && draft.base + draft.version === 0;
      if (request.result === undefined) store.put(draft);
    };
  });
  if (made) count(MADE);
  return /** @type {Promise<Draft>} */ (load(draft.id));
}

/** Whether nothing of it has ever arrived at a server. @param {Draft} draft */
export const isNew = (draft) => !draft.base && !draft.had.length;

/** @param {Draft} draft @returns {Step[]} */
function stepsOf({ undo, document, steps = [] }) {
  return undo.length ? undo.map((was, i) => taken(was, undo[i + 1] ?? document)) : steps;
}

/** Every document that a record can come back to, the last one first. @param {Draft} draft */
export function documentsOf(draft) {
  const found = [draft.document];
  for (const step of [...stepsOf(draft)].reverse()) found.push(before(found[found.length - 1], step));
  return found;
}

/** The record with another document on top. @param {Draft} draft @param {Record<string, any>} document @returns {Draft} */
export const withDocument = (draft, document) => ({
  ...draft, document, dirty: true, typing: null, undo: [], steps: [...stepsOf(draft), taken(draft.document, document)].slice(-DEPTH),
});

/** The record with its last change taken back. @param {Draft} draft @returns {Draft} */
export function undone(draft) {
  const steps = stepsOf(draft);
  const last = steps[steps.length - 1];
  if (!last) return draft;
  return { ...draft, document: before(draft.document, last), undo: [], steps: steps.slice(0, -1), dirty: true, typing: null };
}
