// @ts-check
/**
 * Sends what is not yet on the server. An inspection counts as sent only on a reply that echoes its
 * id, revision and hash; whatever else comes back leaves it where it is. What the server says it can
 * never take is parked, shown, and can be taken along as a file; it never holds up the others.
 * Photos follow one by one, each after the inspection that speaks of it.
 *
 * @import { Draft, Parked } from './draft.js'
 */
import { canonicalText, sha256 } from './canonical.js';
import { all, isNew, update } from './draft.js';
import { faultWords } from './engine/errors.js';
import { heardMissing, offeredAgain, readWhole, refusedIn, waitingIn } from './photos.js';
import { ASIDE, counted, DISCARDED, MADE, remember, remembered } from './remember.js';

const MARK = 'quickcheck-mark';
export const EPOCH = 'quickcheck-epoch'; // of the book whose server answered last
const REMEMBERED = 100;
const EVERY = 30_000;
const LONGEST = 15_000;
const LONGEST_PHOTO = 90_000; // half a megabyte where a hall leaves 50 kbit/s
const NEVER = new Set([400, 413, 415, 422, 424]);
let unpaired = false; // said by the server's last reply: what waits here is sent once this device is paired

/** @typedef {'sent' | 'later' | 'unreachable' | 'parked' | 'conflict'} Fate */

/** @param {Draft} draft @returns {Promise<Fate>} */
export async function send(draft) {
  const text = canonicalText(draft.document);
  const hash = await sha256(text);
  // Noted before it leaves: if the reply is lost, the server may have it all the same.
  const noted = await update(draft.id, (now) => ({ ...now, sent: [...new Set([...now.sent, hash])] }));
  const body = {
    revision: noted.base + 1, base: noted.base, sent: noted.sent.filter((other) => other !== hash),
    sha256: hash, reference: noted.reference, document: JSON.parse(text),
  };
  const reply = await put(`/api/inspections/${draft.id}`, 'application/json', JSON.stringify(body), LONGEST);
  return typeof reply === 'string' ? reply : heard(draft.id, hash, reply.status, reply.said);
}

/** One of those that wait, with its inspection there already. @param {Draft} draft @param {string} name @returns {Promise<Fate>} */
async function sendPhoto(draft, name) {
  const record = await readWhole(name);
  if (!record) return notePhoto(draft.id, name, { status: 0, why: 'it is damaged on this device and was not sent' });
  const reply = await put(`/api/inspections/${draft.id}/photos/${name}`, record.type, record.bytes, LONGEST_PHOTO);
  // Too large for something on the way, it is cut off without a word: the others must not wait behind it.
  if (reply === 'unreachable') return await ask() ? 'later' : reply;
  if (reply === 'later') return reply;
  const { status, said } = reply;
  if (status === 200 && said?.uuid === draft.id && said.sha256 === name) return notePhoto(draft.id, name, 'sent', said.missing);
  // Its bytes were right here a moment ago: another hash there means that they were cut on the way.
  const cut = /^[\da-f]{64}$/.test(said?.faults?.[0]?.came ?? '');
  const why = cut ? undefined : refusal(status, said);
  return why === undefined ? 'later' : notePhoto(draft.id, name, { status, why });
}

/** @param {string} id @param {string} name @param {'sent' | Parked} state @param {unknown} [missing] @returns {Promise<Fate>} */
async function notePhoto(id, name, state, missing) {
  await update(id, (now) => ({ ...now, photos: { ...heardMissing(now, missing), [name]: state } }));
  return state === 'sent' ? 'sent' : 'parked';
}

/**
 * @param {string} address @param {string} type @param {string | ArrayBuffer} body @param {number} longest  milliseconds
 * @returns {Promise<{ status: number, said: any } | 'later' | 'unreachable'>}
 */
async function put(address, type, body, longest) {
  /** @type {Response} */
  let reply;
  /** @type {any} */
  let said;
  try {
    reply = await fetch(address, {
      method: 'PUT', redirect: 'error', cache: 'no-store', credentials: 'same-origin',
      headers: { 'Content-Type': type, ...(await told()) }, body, signal: AbortSignal.timeout(longest),
    });
  } catch {
    return 'unreachable'; // no network, a time-out, or somebody else's redirect
  }
  try {
    said = await reply.json();
  } catch {
    return 'later'; // a page of somebody else's in place of JSON, or half a reply
  }
  unpaired = reply.status === 401;
  await noteEpoch(said);
  return { status: reply.status, said };
}

/** Why the server will never take it; undefined if it may. @param {number} status @param {any} said @returns {string | undefined} */
function refusal(status, said) {
  if (!NEVER.has(status) || !(Array.isArray(said?.faults) || typeof said?.error === 'string')) return undefined;
  return said.faults?.map(faultWords).join(' ') ?? said.error;
}

/** What a device tells of itself with everything it sends. @returns {Promise<Record<string, string>>} */
async function told() {
  const { waiting, photos, fresh } = await counts();
  const mark = remembered(MARK);
  const [aside = 0, unseen = 0] = (remembered(ASIDE) ?? '').split(' ').map(Number);
  return {
    'X-Outbox': '1', 'X-Clock': new Date().toISOString(), 'X-Unsent': String(waiting + photos + aside),
    'X-Tally': [counted(MADE), fresh + unseen, counted(DISCARDED)].join(' '), ...(mark ? { 'X-Mark': mark } : {}),
  };
}

/** A server that was put back from an older copy says another epoch: it is offered everything again. @param {any} said */
async function noteEpoch(said) {
  if (typeof said?.mark === 'string') remember(MARK, said.mark);
  if (typeof said?.epoch !== 'string') return;
  const before = remembered(EPOCH);
  remember(EPOCH, said.epoch);
  if (before === null || before === said.epoch) return;
  for (const draft of await all()) await update(draft.id, fromTheStart);
}

/** As another book is offered it: it may have any of the documents that were acknowledged. @param {Draft} now @returns {Draft} */
export const fromTheStart = (now) => ({
  ...now, dirty: true, base: 0, sent: [...new Set([...now.had, ...now.sent])], photos: offeredAgain(now),
});

/** Tells what waits here, and asks which book the server has: who sends nothing would not hear of it. @returns {Promise<boolean>} whether it answers */
async function ask() {
  try {
    const reply = await fetch('/api/epoch', { cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(LONGEST), headers: await told() });
    if (reply.ok) await noteEpoch(await reply.json());
    return reply.ok;
  } catch {
    return false; // no server now: the next round asks again
  }
}

/** @param {string} id @param {string} hash @param {number} status @param {any} said @returns {Promise<Fate>} */
async function heard(id, hash, status, said) {
  const ours = said?.uuid === id && Number.isInteger(said.revision);
  if ((status === 200 || status === 201) && ours && said.sha256 === hash) {
    await settle(id, hash, said, false);
    return 'sent';
  }
  if (status === 409 && ours && said.kept === true) {
    await settle(id, hash, said, true);
    return 'conflict';
  }
  const why = refusal(status, said);
  if (why !== undefined) {
    await update(id, (now) => ({ ...now, parked: { status, why } }));
    return 'parked';
  }
  return 'later';
}

/** @param {string} id @param {string} hash @param {{ revision: number, missing?: unknown }} said @param {boolean} conflict */
async function settle(id, hash, said, conflict) {
  const current = (await all()).find((draft) => draft.id === id);
  const same = current && await sha256(canonicalText(current.document)) === hash;
  const version = current?.version ?? null;
  try {
    await update(id, (now) => ({
      ...now, ...acknowledged(now, hash, said.revision), dirty: !same, conflict: now.conflict || conflict,
      ...(same && { photos: heardMissing(now, said.missing) }), // it speaks of the photos in that document
    }), version);
  } catch {
    // Something was typed in the meantime: it stays to be sent, on top of what has arrived.
    await update(id, (now) => ({ ...now, ...acknowledged(now, hash, said.revision), conflict: now.conflict || conflict }));
  }
}

/** @param {Draft} now @param {string} hash @param {number} revision */
const acknowledged = (now, hash, revision) => ({
  base: revision, sent: [], parked: null, had: [...now.had.filter((other) => other !== hash), hash].slice(-REMEMBERED),
});

/** @template T @param {() => Promise<T>} work @returns {Promise<T>} nothing is sent meanwhile, by any tab */
export const alone = async (work) => (navigator.locks ? navigator.locks.request('quickcheck-outbox', work) : work());

/**
 * What is most urgent of what was not tried in this round: answers before photos, also those that were
 * given while a photo was on its way. @param {Set<string>} tried @returns {Promise<(() => Promise<Fate>) | undefined>}
 */
async function next(tried) {
  const drafts = (await all()).filter((draft) => !draft.parked);
  const fresh = (/** @type {string} */ key) => !tried.has(key) && tried.add(key);
  const answers = drafts.find((draft) => draft.dirty && fresh(`${draft.id} ${draft.version}`));
  if (answers) return () => send(answers);
  for (const draft of drafts.filter(({ dirty }) => !dirty)) {
    const name = waitingIn(draft).find((waiting) => fresh(`${draft.id} ${waiting}`));
    if (name) return () => sendPhoto(draft, name);
  }
  return undefined;
}

/** Tries everything once. @param {() => void} [after]  each that was tried @returns {Promise<void>} */
export function flush(after) {
  return alone(async () => {
    const tried = /** @type {Set<string>} */ (new Set());
    let item = await next(tried);
    while (item) {
      if (await item() === 'unreachable') return; // one bad item never holds up the others
      after?.();
      item = await next(tried);
    }
    await ask(); // what was told with the last one counted it as waiting
  });
}

/** @returns {Promise<{ waiting: number, parked: number, conflicts: number, photos: number, refused: number, fresh: number, unpaired: boolean }>} */
export async function counts() {
  const drafts = await all();
  return {
    waiting: drafts.filter((draft) => draft.dirty && !draft.parked).length,
    parked: drafts.filter((draft) => draft.parked).length,
    conflicts: drafts.filter((draft) => draft.conflict).length,
    photos: drafts.flatMap(waitingIn).length,
    refused: drafts.flatMap(refusedIn).length,
    fresh: drafts.filter(isNew).length,
    unpaired,
  };
}

/**
 * Flushes whenever there may be a network again. `navigator.onLine` is never believed: it is wrong
 * both ways. @param {() => void} after
 */
export function keepFlushing(after) {
  const go = () => { void flush(after).catch(() => undefined).then(after); };
  addEventListener('online', go);
  addEventListener('focus', go);
  addEventListener('pageshow', go);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) go(); });
  setInterval(go, EVERY);
  go();
  return go;
}
