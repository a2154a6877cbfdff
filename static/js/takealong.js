// @ts-check
/** What this device can't keep or send can be taken along as a file. */

/** @param {string} id @returns {string} */
export const fileName = (id) => `inspection-${id}.json`;

/** @param {Record<string, any>} document @returns {string} the address of a file with it */
export const fileOf = (document) => URL.createObjectURL(new Blob([JSON.stringify(document, null, 1)], { type: 'application/json' }));

/** @param {string} id @param {Record<string, any>} document */
export function takeAlong(id, document) {
  const link = globalThis.document.createElement('a');
  link.download = fileName(id);
  link.href = fileOf(document);
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
