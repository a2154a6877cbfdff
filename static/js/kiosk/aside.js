// @ts-check
/**
 * What a person left at a kiosk and the server did not take: in a database of its own that no page of
 * the next person reads, for the organizer. What is in it goes only when all of it is somewhere else.
 *
 * @import { Draft } from '../draft.js'
 * @import { PhotoRecord } from '../photos.js'
 * @typedef {object} Aside
 * @property {string} id       the inspection's; another one where an inspection is here in two versions
 * @property {Draft} draft
 * @property {PhotoRecord[]} photos
 * @property {string} aside    ISO time, to show and never to order by
 * @property {string | null} [epoch]  of the book that its receipts are of
 */
import { canonicalText } from '../canonical.js';
import { database, transact } from '../db.js';
import { all, documentsOf, isNew } from '../draft.js';
import { EPOCH } from '../outbox.js';
import { namesIn, read, refusedIn, waitingIn } from '../photos.js';
import { ASIDE, count, DISCARDED, forget, remember, remembered } from '../remember.js';
import { withNote } from './typed.js';

const NAME = 'quickcheck-organizer';
const STORE = 'inspections';

/** @template T @param {IDBTransactionMode} mode @param {(store: IDBObjectStore) => IDBRequest<T>} work @returns {Promise<T>} */
const within = (mode, work) => new Promise((done, fail) => {
  const opening = indexedDB.open(NAME, 1);
  opening.onupgradeneeded = () => { opening.result.createObjectStore(STORE, { keyPath: 'id' }); };
  opening.onerror = () => fail(opening.error);
  opening.onsuccess = () => {
    const transaction = opening.result.transaction(STORE, mode, { durability: 'strict' });
    const request = work(transaction.objectStore(STORE));
    transaction.oncomplete = () => { opening.result.close(); done(request.result); };
    transaction.onabort = () => { opening.result.close(); fail(transaction.error); };
  };
});

/** @param {Draft} draft */
export const isOnServer = (draft) => !draft.dirty && !draft.parked && !waitingIn(draft).length && !refusedIn(draft).length;

/** With the words that an earlier build kept beside the document. @param {Aside} one @returns {Aside} */
const noted = (one) => ({ ...one, draft: withNote(one.draft) });

/** @returns {Promise<Aside[]>} what was put aside first, first */
export async function listed() {
  const found = /** @type {Aside[]} */ (await within('readonly', (store) => store.getAll()));
  return found.map(noted).sort((one, other) => (one.aside < other.aside ? -1 : 1));
}

/** Whether a draft is of the same inspection and came out of another: it stands there, or behind "undo". @param {Draft} draft @param {Draft} other */
export function holds(draft, other) {
  if (draft.id !== other.id) return false;
  try {
    const text = canonicalText(other.document);
    return documentsOf(draft).some((document) => canonicalText(document) === text);
  } catch {
    return false; // then both are kept
  }
}

/** Whether the server acknowledged all that is put aside there. @param {Draft} draft @param {Aside} one */
export function covers(draft, one) {
  const names = new Set(namesIn(draft.document));
  return isOnServer(draft) && holds(draft, one.draft) && one.photos.every(({ sha256 }) => !names.has(sha256) || draft.photos?.[sha256] === 'sent');
}

/**
 * What is to be put in, and which of those that are there it takes the place of: no photo goes, and what
 * it does not hold stays beside it.
 * @param {Aside} one @param {Aside[]} there @returns {{ put: Aside, gone: string[] }}
 */
export function joined(one, there) {
  const gone = there.filter(({ draft }) => holds(one.draft, draft));
  const taken = new Set(there.filter((other) => !gone.includes(other)).map(({ id }) => id));
  const merged = [...gone, one];
  const photos = new Map(merged.flatMap((each) => each.photos).map((photo) => [photo.sha256, photo]));
  const [aside] = merged.map((each) => each.aside).sort();
  let { id } = one.draft;
  for (let n = 2; taken.has(id); n += 1) id = `${one.draft.id} ${n}`;
  return { put: { ...one, id, aside, photos: [...photos.values()] }, gone: gone.map((other) => other.id) };
}

/** @param {Draft} left */
export async function putAside(left) {
  const draft = { ...withNote(left), version: left.version + Number(!!left.typing) };
  const photos = (await Promise.all(namesIn(draft.document).map(read))).filter((photo) => photo !== undefined);
  const one = { id: draft.id, draft, photos, aside: new Date().toISOString(), epoch: remembered(EPOCH) };
  await within('readwrite', (store) => {
    const asked = store.getAll();
    asked.onsuccess = () => {
      const { put, gone } = joined(one, asked.result.map(noted));
      for (const id of gone) store.delete(id);
      store.put(put);
    };
    return asked;
  });
}

/** @param {string} id  of what is put aside */
export const remove = (id) => within('readwrite', (store) => store.delete(id));

/** Lets go of what the server acknowledged. @param {Draft} draft */
export async function letGo(draft) {
  for (const one of await listed()) if (covers(draft, one)) await remove(one.id);
}

/** Counts anew what this device tells of it; what is in the outbox again is counted there. @param {Draft[]} drafts  in the outbox */
export async function recount(drafts) {
  const here = new Set(drafts.map(({ id }) => id));
  const found = (await listed()).filter(({ draft }) => !here.has(draft.id));
  const fresh = new Set(found.filter(({ draft }) => isNew(draft)).map(({ draft }) => draft.id)).size;
  if (found.length) remember(ASIDE, `${found.length} ${fresh}`);
  else forget(ASIDE);
}

/** Leaves nothing of a person in what pages read; what no server has is put aside first. @param {boolean} keep */
export async function clear(keep) {
  const drafts = await all();
  if (!keep) count(DISCARDED, drafts.filter(isNew).length);
  for (const draft of keep ? drafts : []) {
    if (!isOnServer(draft)) await putAside(draft);
    else if (remembered(ASIDE)) await letGo(draft);
  }
  if (drafts.length) await recount([]); // before they go: after a power cut rather twice than not at all
  await transact(['drafts', 'photos'], 'readwrite', (t) => { t.objectStore('drafts').clear(); t.objectStore('photos').clear(); });
}

/** Closes the database for this page for good: its scripts may still want to write what they hold. */
export async function shut() {
  const connection = await database().catch(() => undefined);
  connection?.close();
  Object.defineProperty(globalThis, 'indexedDB', { value: undefined, configurable: true });
}
