// @ts-check
/** On every page: keeps the app and the references in use on this device, or says why it can't. */
import { notice } from './notices.js';
import { keep, kept, digitsOf, refresh } from './shelf.js';
import { keepApp } from './update.js';

const HERE = 'Saving works here while the server answers; working offline does not, because this address is not secure. Open the app by its https name, or on the server’s own machine as http://localhost.';

const PAUSE = 2000; // milliseconds: what a visit does not wait for is not in its way

/** Has the worker fetch what works without a server too and is not waited for. */
const askForTheRest = () => setTimeout(() => navigator.serviceWorker.controller?.postMessage('rest'), PAUSE);

/** The references that this page offers, if it does. */
export const offered = () => [...document.querySelectorAll('[data-offered]')].map((each) => {
  const { offered: id = '', edition = '' } = /** @type {HTMLElement} */ (each).dataset;
  return { id, digits: edition.slice(0, 16) };
});

/** Keeps the edition that this page is about: who opens its claim form is going to use it. */
async function keepUsed() {
  const form = /** @type {HTMLElement | null} */ (document.querySelector('form.claim, form.inspection'));
  const hash = form?.dataset.edition ?? form?.dataset.reference;
  if (hash && !await kept(digitsOf(hash))) await keep(hash);
}

/** Brings the shelf up to date; resolves when it is, or can't be now. */
export const refreshShelf = () => refresh(offered()).catch(() => undefined);

/** Begins with it once the page has loaded: what comes first is what the person sees. */
export function wireKeeping() {
  if (!isSecureContext || !('serviceWorker' in navigator)) { notice('insecure', HERE); return; }
  const begin = () => void keepApp().then(refreshShelf).then(keepUsed).then(() => { document.documentElement.dataset.shelf = 'up'; askForTheRest(); }, () => undefined);
  if (document.readyState === 'complete') begin();
  else addEventListener('load', begin, { once: true });
}
