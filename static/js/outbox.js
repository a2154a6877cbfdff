// @ts-check
/**
 * Sends what is not yet on the server. An inspection counts as sent only on a reply that echoes its
 * id, revision and hash; whatever else comes back leaves it where it is. What the server says it can
 * never take is parked, shown, and can be taken along as a file; it never holds up the others.
 *
 * @import { Draft } from './draft.js'
 */
import { canonicalText, sha256 } from './canonical.js';
import { all, update } from './draft.js';

const MARK = 'quickcheck-mark';
const EPOCH = 'quickcheck-epoch';
const REMEMBERED = 100;
const EVERY = 30_000;
const LONGEST = 15_000;
const NEVER = new Set([400, 413, 415, 422, 424]);

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
  /** @type {Response} */
  let reply;
  /** @type {any} */
  let said;
  try {
    reply = await fetch(`/api/inspections/${draft.id}`, {
      method: 'PUT', redirect: 'error', cache: 'no-store', credentials: 'same-origin',
      headers: { 'Content-Type': 'application/json', ...(await told()) },
      body: JSON.stringify(body), signal: AbortSignal.timeout(LONGEST),
    });
  } catch {
    return 'unreachable'; // no network, a time-out, or somebody else's redirect
  }
  try {
    said = await reply.json();
  } catch {
    return 'later'; // a page of somebody else's in place of JSON, or half a reply
  }
  await noteEpoch(said);
  return heard(draft.id, hash, reply.status, said);
}

/** What a device tells of itself with everything it sends. @returns {Promise<Record<string, string>>} */
async function told() {
  const { waiting } = await counts();
  const mark = localStorage.getItem(MARK);
  return { 'X-Outbox': '1', 'X-Clock': new Date().toISOString(), 'X-Unsent': String(waiting), ...(mark ? { 'X-Mark': mark } : {}) };
}

/** A server that was put back from an older copy says another epoch: it is offered everything again. @param {any} said */
async function noteEpoch(said) {
  if (typeof said?.mark === 'string') localStorage.setItem(MARK, said.mark);
  if (typeof said?.epoch !== 'string') return;
  const before = localStorage.getItem(EPOCH);
  localStorage.setItem(EPOCH, said.epoch);
  if (before === null || before === said.epoch) return;
  for (const draft of await all()) {
    // What it still has may be any of the documents that it acknowledged.
    await update(draft.id, (now) => ({ ...now, dirty: true, base: 0, sent: [...new Set([...now.had, ...now.sent])] }));
  }
}

/** Asks which book the server has, for a device that has nothing to send would not hear of it. */
async function ask() {
  const mark = localStorage.getItem(MARK);
  try {
    const reply = await fetch('/api/epoch', { cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(LONGEST), headers: mark ? { 'X-Mark': mark } : {} });
    if (reply.ok) await noteEpoch(await reply.json());
  } catch { /* no server now: the next round asks again */ }
}

/** @param {string} id @param {string} hash @param {number} status @param {any} said @returns {Promise<Fate>} */
async function heard(id, hash, status, said) {
  const ours = said?.uuid === id && Number.isInteger(said.revision);
  if ((status === 200 || status === 201) && ours && said.sha256 === hash) {
    await settle(id, hash, said.revision, false);
    return 'sent';
  }
  if (status === 409 && ours && said.kept === true) {
    await settle(id, hash, said.revision, true);
    return 'conflict';
  }
  if (NEVER.has(status) && (Array.isArray(said?.faults) || typeof said?.error === 'string')) {
    const why = said.faults?.map((/** @type {any} */ f) => `${f.where}: expected ${f.expected}; got ${f.came}. ${f.remedy}`).join(' ') ?? said.error;
    await update(id, (now) => ({ ...now, parked: { status, why } }));
    return 'parked';
  }
  return 'later';
}

/** @param {string} id @param {string} hash @param {number} revision @param {boolean} conflict */
async function settle(id, hash, revision, conflict) {
  const current = (await all()).find((draft) => draft.id === id);
  const same = current && await sha256(canonicalText(current.document)) === hash;
  const version = current?.version ?? null;
  try {
    await update(id, (now) => ({
      ...now, ...acknowledged(now, hash, revision), dirty: !same, conflict: now.conflict || conflict,
    }), version);
  } catch {
    // Something was typed in the meantime: it stays to be sent, on top of what has arrived.
    await update(id, (now) => ({ ...now, ...acknowledged(now, hash, revision), conflict: now.conflict || conflict }));
  }
}

/** @param {Draft} now @param {string} hash @param {number} revision */
const acknowledged = (now, hash, revision) => ({
  base: revision, sent: [], parked: null, had: [...now.had.filter((other) => other !== hash), hash].slice(-REMEMBERED),
});

/** @param {() => Promise<void>} work */
const alone = (work) => (navigator.locks ? navigator.locks.request('quickcheck-outbox', work) : work());

/** Tries everything once. @returns {Promise<void>} */
export function flush() {
  return alone(async () => {
    if (!(await all()).some((draft) => draft.dirty && !draft.parked)) await ask();
    for (const draft of await all()) {
      if (!draft.dirty || draft.parked) continue;
      if (await send(draft) === 'unreachable') break; // one bad item never holds up the others
    }
  });
}

/** @returns {Promise<{ waiting: number, parked: number, conflicts: number }>} */
export async function counts() {
  const drafts = await all();
  return {
    waiting: drafts.filter((draft) => draft.dirty && !draft.parked).length,
    parked: drafts.filter((draft) => draft.parked).length,
    conflicts: drafts.filter((draft) => draft.conflict).length,
  };
}

/**
 * Flushes whenever there may be a network again. `navigator.onLine` is never believed: it is wrong
 * both ways. @param {() => void} after
 */
export function keepFlushing(after) {
  const go = () => { void flush().catch(() => undefined).then(after); };
  addEventListener('online', go);
  addEventListener('focus', go);
  addEventListener('pageshow', go);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) go(); });
  setInterval(go, EVERY);
  go();
  return go;
}
