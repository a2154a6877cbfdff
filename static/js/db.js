// @ts-check
/**
 * The database on this device. A write is done when its transaction is done, on disk (`strict`), and
 * not when its request is; a database that does not open in three seconds counts as not there.
 */

const NAME = 'quickcheck';
const VERSION = 1;
const PATIENCE = 3000;
const LONGEST = 5000; // milliseconds for one transaction

// The system closed the connection behind our back (a phone does that to a page in the background), or
// is clearing what is kept: once more, on a new one. Nothing of the attempt is left.
const CLOSED = new Set(['AbortError', 'InvalidStateError', 'UnknownError']);

export class NoDatabaseError extends Error {}

/** @type {Promise<IDBDatabase> | null} */
let opened = null;

/** @returns {Promise<IDBDatabase>} */
function open() {
  return new Promise((done, fail) => {
    const refuse = (/** @type {string} */ why, /** @type {unknown} */ cause = null) => fail(new NoDatabaseError(why, { cause }));
    const watchdog = setTimeout(() => refuse('it did not open in three seconds'), PATIENCE);
    /** @type {IDBOpenDBRequest} */
    let request;
    try {
      request = indexedDB.open(NAME, VERSION);
    } catch (error) {
      clearTimeout(watchdog);
      refuse(String(error));
      return;
    }
    request.onupgradeneeded = () => {
      const database = request.result;
      database.createObjectStore('drafts', { keyPath: 'id' });
      database.createObjectStore('photos', { keyPath: 'sha256' });
    };
    request.onblocked = () => { clearTimeout(watchdog); refuse('another tab holds an older version of it: close that tab'); };
    request.onerror = () => { clearTimeout(watchdog); refuse(String(request.error), request.error); };
    request.onsuccess = () => {
      clearTimeout(watchdog);
      const database = request.result;
      // A newer version must be able to upgrade, and a closed connection must not be used again.
      database.onversionchange = () => { database.close(); opened = null; };
      database.onclose = () => { opened = null; };
      done(database);
    };
  });
}

/**
 * Resolves while the page is on the screen. WebKit puts a page that is left away between two steps of
 * a transaction, which then holds up the database for every page after it: none begins once it leaves.
 */
let shown = Promise.resolve();
globalThis.addEventListener?.('pagehide', () => {
  shown = new Promise((done) => { addEventListener('pageshow', () => done(), { once: true }); });
});

/** @returns {Promise<IDBDatabase>} */
export function database() {
  opened ??= open().catch((error) => { opened = null; throw error; });
  return opened;
}

/** @param {unknown} error @returns {string} */
const nameOf = (error) => (error instanceof NoDatabaseError ? nameOf(error.cause) : error instanceof DOMException ? error.name : '');

/** Nobody waits for ever; what is given up is not written after all. @param {IDBTransaction} transaction @param {(why: Error) => void} fail */
function giveUp(transaction, fail) {
  const late = () => fail(new Error('this device did not answer in time'));
  try {
    transaction.abort();
    late();
  } catch {
    setTimeout(late, LONGEST); // it is on its way to the disk and says so, or its connection died and never will
  }
}

/**
 * Runs one transaction and resolves with the last request's result once it is on disk.
 * @template T
 * @param {string[]} stores @param {IDBTransactionMode} mode
 * @param {(transaction: IDBTransaction) => IDBRequest<T> | void} work
 * @returns {Promise<T | undefined>}
 */
export async function transact(stores, mode, work) {
  const run = async () => {
    const connection = await database();
    await shown;
    const transaction = connection.transaction(stores, mode, { durability: 'strict' });
    /** @type {IDBRequest<T> | void} */
    let request;
    const finished = new Promise((done, fail) => {
      const watchdog = setTimeout(() => giveUp(transaction, fail), LONGEST);
      transaction.oncomplete = () => { clearTimeout(watchdog); done(undefined); };
      transaction.onabort = () => { clearTimeout(watchdog); fail(transaction.error ?? new Error('the transaction was aborted')); };
    });
    try {
      request = work(transaction);
    } catch (error) {
      transaction.abort();
      await finished.catch(() => undefined);
      throw error;
    }
    await finished;
    return request ? request.result : undefined;
  };
  try {
    return await run();
  } catch (error) {
    if (!CLOSED.has(nameOf(error))) throw error;
    opened = null;
    return run();
  }
}
