// @ts-check
/** The start page's own part of "on this device": what to keep, whether it stays, how to install. */
import { all } from './draft.js';
import { wireInstall } from './install.js';
import { refreshShelf } from './keeping.js';
import { wirePersist } from './persist.js';
import { allKept, digitsOf, drop, keep, kept, sizeOf, sizeWords } from './shelf.js';

/** @param {HTMLElement} place  of one reference: holds a button and the words beside it */
async function showKept(place) {
  const pack = await kept(digitsOf(place.dataset.edition ?? ''));
  const button = /** @type {HTMLButtonElement} */ (place.querySelector('button'));
  const words = /** @type {HTMLElement} */ (place.querySelector('span'));
  const bytes = pack ? sizeOf(pack) : Number(place.dataset.bytes);
  button.setAttribute('aria-pressed', String(!!pack));
  button.disabled = false;
  words.textContent = `${pack ? 'kept, ' : ''}edition ${place.dataset.label}, ${sizeWords(bytes)}`;
  place.hidden = false;
}

/** @param {HTMLElement} place */
async function toggle(place) {
  const button = /** @type {HTMLButtonElement} */ (place.querySelector('button'));
  const words = /** @type {HTMLElement} */ (place.querySelector('span'));
  const edition = place.dataset.edition ?? '';
  button.disabled = true;
  let said = '';
  try {
    if (button.getAttribute('aria-pressed') !== 'true') await keep(edition);
    else if (!await drop(edition)) said = ' It stays while an inspection on this device uses it.';
  } catch {
    said = ' It could not be fetched whole. Try again where the network is good.';
  }
  await showKept(place);
  words.textContent += said;
}

/** Editions that are offered no more and stay for the inspections that began with them. @param {HTMLElement[]} places */
async function showOld(places) {
  const list = document.getElementById('old-editions');
  const current = new Set(places.map((place) => place.dataset.edition));
  const old = (await allKept()).filter((pack) => !current.has(pack.hash));
  list?.replaceChildren(...old.map((pack) => {
    const item = document.createElement('li');
    item.textContent = `${pack.title}, edition ${pack.edition}, ${sizeWords(sizeOf(pack))}: kept for an inspection that began with it`;
    return item;
  }));
  if (list) list.hidden = old.length === 0;
}

const waiting = async () => (await all()).filter((draft) => draft.dirty).length;

/** @param {HTMLElement} section */
export function wireOnDevice(section) {
  if (!isSecureContext || !('caches' in globalThis)) return;
  const places = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('[data-offered]')]);
  for (const place of places) {
    place.querySelector('button')?.addEventListener('click', () => void toggle(place));
    void showKept(place);
  }
  void refreshShelf().then(() => { places.forEach((place) => void showKept(place)); void showOld(places); });
  const install = section.querySelector('.install');
  const persist = section.querySelector('.persist');
  if (install) void wireInstall(/** @type {HTMLElement} */ (install), () => waiting().catch(() => 0));
  if (persist) void wirePersist(/** @type {HTMLElement} */ (persist));
  section.hidden = false;
}
