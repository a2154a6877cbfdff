// @ts-check
/** Of several tabs on one thing only the first writes. */

/**
 * Resolves with true in the tab that has it to itself, for as long as it is open. Where a browser has
 * no locks every tab is the first: the version in each write still keeps them apart.
 * @param {string} name @returns {Promise<boolean>}
 */
export const firstTab = (name) => new Promise((done) => {
  if (!navigator.locks) { done(true); return; }
  void navigator.locks.request(name, { ifAvailable: true }, (lock) => {
    done(lock !== null);
    return lock ? new Promise(() => undefined) : undefined;
  });
});
