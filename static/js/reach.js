// @ts-check
/**
 * What leave and which tools each point still wants.
 *
 * @import { Model } from './engine/types.js'
 */
import { ACCESS, readSheet } from './engine/sheet.js';

/** @param {HTMLFieldSetElement[]} points @param {Model} model @param {Record<string, any>} document */
export function showReach(points, model, document) {
  const sheet = readSheet(model, document);
  for (const fieldset of points) {
    const point = model.byId.get(fieldset.dataset.point ?? '')?.json;
    if (!point) continue;
    const leave = ACCESS.indexOf(point.access) > ACCESS.indexOf(sheet.access) ? [`leave to ${point.access}`] : [];
    const needs = [...leave, ...(point.tools ?? []).filter((tool) => sheet.tools && !sheet.tools.has(tool))];
    const said = /** @type {HTMLElement | null} */ (fieldset.querySelector('.needs'));
    if (needs.length) fieldset.dataset.needs = '1';
    else delete fieldset.dataset.needs;
    if (said) said.hidden = needs.length === 0;
    if (said && needs.length) {
      said.textContent = `Needs ${needs.map((need) => need.replaceAll('-', ' ').replace(/^uv /, 'UV ')).join(', ')}.`;
    }
  }
}
