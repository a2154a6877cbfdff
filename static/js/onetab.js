// @ts-check
/** Of several tabs on one thing only the first writes. */

// Milliseconds. In the same tab the page before may still be on its way out, and hold what it had.
const LEAVING = 2000;

/**
 * Resolves with true in the tab that has it to itself, for as long as it is open. Where a browser has
 * no locks every tab is the first: the version in each write still keeps them apart.
 * @param {string} name @returns {Promise<boolean>}
 */
export const firstTab = (name) => new Promise((done) => {
  if (!navigator.locks) { done(true); return; }
  navigator.locks.request(name, { signal: AbortSignal.timeout(LEAVING) }, () => {
    done(true);
    return new Promise(() => undefined);
  }).catch(() => done(false));
});
