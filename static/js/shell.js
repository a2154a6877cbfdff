// @ts-check
/**
 * An empty page out of the device's cache is of no inspection: its addresses hold an id of noughts.
 * This puts in the id that the page was opened under, before any other script looks at it.
 */

export const NONE = '00000000-0000-0000-0000-000000000000';
const HOLDERS = ['href', 'action', 'data-inspection'];

/** @param {string} path @returns {string} the inspection's id; empty on a page of no inspection */
export const idOf = (path) => /^\/inspect\/([\da-f-]{36})(?:\/|$)/.exec(path)?.[1] ?? '';

/** @param {ParentNode} page @param {string} id */
export function adopt(page, id) {
  for (const name of HOLDERS) {
    for (const element of page.querySelectorAll(`[${name}*="${NONE}"]`)) {
      element.setAttribute(name, (element.getAttribute(name) ?? '').replace(NONE, id));
    }
  }
}
