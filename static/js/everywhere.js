// @ts-check
/** What every page does: send what waits, and say how much does. */
import { counts, keepFlushing } from './outbox.js';
import { showUnsent } from './unsent.js';

const PAUSE = 400; // milliseconds: what is tapped in one go is sent in one

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
  let timer = 0;
  const now = () => { clearTimeout(timer); timer = 0; go(); };
  addEventListener('quickcheck:saved', () => { void tell(); clearTimeout(timer); timer = window.setTimeout(now, PAUSE); });
  document.addEventListener('visibilitychange', () => { if (document.hidden && timer) now(); });
}
