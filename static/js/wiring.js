// @ts-check
/** The inspection page: where its parts meet. */
import { Checklist } from './checklist.js';
import { Saving } from './saving.js';
import { wireVeil } from './veil.js';

const form = /** @type {HTMLFormElement | null} */ (document.querySelector('form[data-inspection]'));
const overview = /** @type {HTMLElement | null} */ (document.querySelector('.overview'));
if (form && overview) {
  const saving = new Saving(form);
  saving.wire();
  new Checklist(form, overview, () => saving.settled()).wire();
}
const veil = /** @type {HTMLFormElement | null} */ (document.querySelector('form.veil'));
if (veil) wireVeil(veil);
document.documentElement.dataset.ready = '1';
