// @ts-check
/** The build that this page is of, as the address of its scripts says. */

/** @param {string} address @returns {string} 12 digits; empty for a script that no build serves */
export const buildOf = (address) => /\/s\/([\da-f]{12})\//.exec(address)?.[1] ?? '';

export const BUILD = buildOf(import.meta.url);
