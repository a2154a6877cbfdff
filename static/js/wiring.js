// @ts-check
/** The inspection page: where its parts meet. */
import { Checklist } from './checklist.js';
import { Device } from './device.js';
import { notice } from './notices.js';
import { PhotoView } from './photoview.js';
import { showSaved } from './strip.js';
import { wireVeil } from './veil.js';

/** @param {HTMLFormElement} form @param {HTMLElement} overview @param {Device} device */
function onDevice(form, overview, device) {
  const checklist = new Checklist(form, overview, () => device.settled());
  device.wire();
  checklist.wire();
  new PhotoView(device).wire();
  const undo = /** @type {HTMLFormElement | null} */ (document.querySelector('form.undo'));
  undo?.addEventListener('submit', (event) => {
    event.preventDefault();
    void device.undo().then((point) => { checklist.repaint(); checklist.show(point); });
  });
}

/** Answers go to the server one by one. @param {HTMLFormElement} form @param {HTMLElement} overview */
async function onServer(form, overview) {
  const { Saving } = await import('./saving.js');
  const saving = new Saving(form);
  saving.wire();
  new Checklist(form, overview, () => saving.settled()).wire();
  try {
    await sending(form.dataset.htmx ?? '');
  } catch {
    form.hidden = overview.hidden = true; // an answer that is given now would go nowhere
    showSaved('', 'Part of this page did not come, so nothing can be answered on it. Load it again.');
  }
}

/** What sends the form's answers; resolves once it listens. @param {string} source @returns {Promise<void>} */
function sending(source) {
  const script = document.createElement('script');
  script.src = source;
  return new Promise((done, fail) => {
    document.addEventListener('htmx:after:process', () => done(), { once: true });
    script.onerror = fail;
    document.head.append(script);
  });
}

/** @param {HTMLFormElement} form @param {HTMLElement} overview */
async function wireInspection(form, overview) {
  const fromServer = document.getElementById('saved') !== null;
  if (!isSecureContext && fromServer) { await onServer(form, overview); return; }
  try {
    onDevice(form, overview, await Device.open(form));
  } catch (error) {
    if (fromServer) {
      notice('no-device', `Answers go straight to the server here, and need it: ${/** @type {Error} */ (error).message}.`);
      await onServer(form, overview);
      return;
    }
    form.hidden = overview.hidden = true;
    showSaved('', `This inspection can't be opened here: ${/** @type {Error} */ (error).message}. Nothing was begun.`);
  }
}

/** @param {HTMLFormElement} form */
export async function wireInspectionPage(form) {
  const overview = /** @type {HTMLElement | null} */ (document.querySelector('.overview'));
  const veil = /** @type {HTMLFormElement | null} */ (document.querySelector('form.veil'));
  if (veil) wireVeil(veil);
  if (overview) await wireInspection(form, overview);
}
