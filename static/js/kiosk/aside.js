// @ts-check
/**
 * What a person left at a kiosk and the server did not take: in a database of its own that no page of
 * the next person reads, for the organizer.
 *
 * @import { Draft } from '../draft.js'
 * @import { PhotoRecord } from '../photos.js'
 * @typedef {{ id: string, draft: Draft, photos: PhotoRecord[], aside: string }} Aside
 */
import { database, transact } from '../db.js';
import { all, isNew } from '../draft.js';
import { namesIn, read, refusedIn, waitingIn } from '../photos.js';
import { count, DISCARDED } from '../remember.js';

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
const isOnServer = (draft) => !draft.dirty && !draft.parked && !waitingIn(draft).length && !refusedIn(draft).length;

/** Leaves nothing of a person in what pages read; what no server has is put aside first. @param {boolean} keep */
export async function clear(keep) {
  const drafts = await all();
  if (!keep) count(DISCARDED, drafts.filter(isNew).length);
  for (const draft of keep ? drafts : []) {
    if (isOnServer(draft)) continue;
    const photos = await Promise.all(namesIn(draft.document).map(read));
    const aside = { id: draft.id, draft, photos: photos.filter((photo) => photo !== undefined), aside: new Date().toISOString() };
    await within('readwrite', (store) => store.put(aside));
  }
  await transact(['drafts', 'photos'], 'readwrite', (t) => { t.objectStore('drafts').clear(); t.objectStore('photos').clear(); });
}

/** Closes the database for this page for good: its scripts may still want to write what they hold. */
export async function shut() {
  const connection = await database().catch(() => undefined);
  connection?.close();
  Object.defineProperty(globalThis, 'indexedDB', { value: undefined, configurable: true });
}
