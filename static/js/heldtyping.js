// @ts-check
/**
 * What was typed in the moment that a page goes away. A transaction that begins then may stop half
 * way where the browser puts the page away whole (WebKit does), so this is kept without one.
 */
import { forget, remember, remembered } from './remember.js';

/** @typedef {{ point: string, fields: [string, string][] }} Typing */

/** @param {string} id  of the inspection */
const key = (id) => `quickcheck-typing-${id}`;

/** @param {string} id @param {number} version  of the draft that it was typed over @param {Typing} typing */
export const hold = (id, version, typing) => remember(key(id), JSON.stringify({ version, typing }));

/** @param {string} id */
export const release = (id) => forget(key(id));

/** What is held over this version of the draft. @param {string} id @param {number} version @returns {Typing | null} */
export function held(id, version) {
  const found = JSON.parse(remembered(key(id)) ?? 'null');
  return found?.version === version ? found.typing : null;
}
