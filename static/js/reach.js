// @ts-check
/**
 * What leave and which tools a point still wants.
 *
 * @import { Model, Sheet } from './engine/types.js'
 */
import { ACCESS } from './engine/sheet.js';

/** @param {HTMLFieldSetElement} fieldset @param {Model} model @param {Sheet} sheet */
export function showReach(fieldset, model, sheet) {
  const point = model.byId.get(fieldset.dataset.point ?? '')?.json;
  if (!point) return;
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
