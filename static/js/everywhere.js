// @ts-check
/** What every page does: send what waits, and say how much does. */
import { counts, keepFlushing } from './outbox.js';
import { showUnsent } from './unsent.js';

/** Says again how much is on this device only. */
export async function tell() {
  try {
    showUnsent(await counts());
  } catch { /* no database, or not now: asked again at the next turn */ }
  dispatchEvent(new Event('quickcheck:told'));
}

/** Sends what waits, now and as it comes. */
export function wireSending() {
  if (!isSecureContext || !('indexedDB' in globalThis)) return;
  const go = keepFlushing(() => void tell());
  addEventListener('quickcheck:saved', () => { void tell(); go(); });
}
