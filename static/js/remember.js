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
