// @ts-check
/**
 * Sends what was put aside, by the outbox: it is written there first, and goes from where it was only
 * when the server acknowledged all of it. Whatever comes in between, one of the two places has it.
 *
 * @import { Draft } from '../draft.js'
 * @import { Aside } from './aside.js'
 * @import { PhotoState } from '../photos.js'
 */
import { transact } from '../db.js';
import { all, load } from '../draft.js';
import { alone, EPOCH, flush, fromTheStart } from '../outbox.js';
import { namesIn, refusedIn, tidy } from '../photos.js';
import { remembered } from '../remember.js';
import { holds, isOnServer, letGo, listed, putAside, recount } from './aside.js';

const OPEN = 'It is open on this machine with something else in it that is not on the server yet. Let that be sent first.';
const LATER = 'The server did not take it now. It stays put aside; try again.';

/** Why the server did not take it, as it said last. @param {Draft} draft @returns {string[]} */
export function whyNot(draft) {
  const photos = refusedIn(draft).map((name) => /** @type {import('../draft.js').Parked} */ (draft.photos?.[name]));
  const said = photos.map(({ status, why }) => (status ? `The server refused a photo of it: ${why}` : `A photo of it: ${why}.`));
  return [...(draft.parked ? [`The server refused it: ${draft.parked.why}`] : []), ...new Set(said)];
}

/**
 * As the outbox takes it: nothing of it counts as refused any more, and of its photos every one that is
 * here and has no receipt waits. @param {Aside} one @param {string | null} epoch  of the book that the server has now @returns {Draft}
 */
export function ready({ draft, photos, epoch: before }, epoch) {
  const here = new Set(photos.map(({ sha256 }) => sha256));
  const from = before && epoch && before !== epoch ? fromTheStart(draft) : draft;
  const waits = namesIn(draft.document).filter((name) => (here.has(name) || from.photos?.[name]) && from.photos?.[name] !== 'sent');
  const states = waits.map((name) => /** @type {[string, PhotoState]} */ ([name, 'waiting']));
  return { ...from, parked: null, photos: { ...from.photos, ...Object.fromEntries(states) } };
}

/** Writes it into the outbox. @param {Aside} one @returns {Promise<boolean>} false where something else of it waits there */
async function bringBack(one) {
  let free = false;
  await transact(['drafts', 'photos'], 'readwrite', (t) => {
    const drafts = t.objectStore('drafts');
    const asked = drafts.get(one.draft.id);
    asked.onsuccess = () => {
      const there = /** @type {Draft | undefined} */ (asked.result);
      free = !there || isOnServer(there);
      if (!free) return;
      drafts.put(ready(one, remembered(EPOCH)));
      for (const photo of one.photos) t.objectStore('photos').put(photo);
    };
  });
  return free;
}

/** Takes it out of the outbox; what the server has not all of is put aside once more before. @param {Draft} draft */
async function takeOut(draft) {
  if (isOnServer(draft)) await letGo(draft);
  else await putAside(draft);
  await transact(['drafts'], 'readwrite', (t) => { t.objectStore('drafts').delete(draft.id); });
  await tidy();
}

/** @param {Aside} one @returns {Promise<string[]>} why it stays; empty when it is on the server, and no longer here */
export async function sendAside(one) {
  const { id } = one.draft;
  if (!await alone(() => bringBack(one))) return [OPEN];
  await recount(await all());
  await flush().catch(() => undefined); // whatever that was, what is there then is looked at
  return alone(async () => {
    const draft = await load(id);
    if (draft) await takeOut(draft);
    await recount(await all());
    if (draft && !(await listed()).some((other) => holds(draft, other.draft))) return [];
    const why = draft ? whyNot(draft) : [];
    return why.length ? why : [LATER];
  });
}

/** What a page that went in the middle of sending left in the outbox is put aside again, or let go. */
export const takeUp = () => alone(async () => {
  const left = await listed();
  for (const draft of await all()) {
    if (isOnServer(draft)) await letGo(draft);
    else if (left.some((one) => holds(draft, one.draft))) await takeOut(draft);
  }
  await recount(await all());
});
