// @ts-check
/** What this device can't keep or send can be taken along as a file. */

/** @param {string} id @returns {string} */
export const fileName = (id) => `inspection-${id}.json`;

/** @param {Record<string, any>} document @returns {string} the address of a file with it */
export const fileOf = (document) => URL.createObjectURL(new Blob([JSON.stringify(document, null, 1)], { type: 'application/json' }));

/** Hands a file to the browser to keep. @param {string} name @param {string} address  made for it, and given up in a while */
export function save(name, address) {
  const link = document.createElement('a');
  link.download = name;
  link.href = address;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000); // a download has begun by then
}

/** @param {string} id @param {Record<string, any>} document */
export const takeAlong = (id, document) => save(fileName(id), fileOf(document));
