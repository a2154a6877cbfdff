// @ts-check
/** Words remembered beside the database. Some browsers refuse this store and keep the database: then nothing is remembered. */

/** @param {string} name @returns {string | null} */
export function remembered(name) {
  try { return localStorage.getItem(name); } catch { return null; }
}

/** @param {string} name @param {string} value */
export function remember(name, value) {
  try { localStorage.setItem(name, value); } catch { /* as above */ }
}

/** @param {string} name */
export function forget(name) {
  try { localStorage.removeItem(name); } catch { /* as above */ }
}

/** What this device counts for as long as it keeps anything: inspections begun on it, and thrown away. */
export const MADE = 'quickcheck-made';
export const DISCARDED = 'quickcheck-discarded';

/** What a kiosk put aside (`kiosk/aside.js`): how many inspections, and of how many nothing ever arrived. */
export const ASIDE = 'quickcheck-aside';

/** @param {string} name */
export const counted = (name) => Number(remembered(name) ?? 0);

/** @param {string} name @param {number} [more] */
export const count = (name, more = 1) => remember(name, String(counted(name) + more));
