// @ts-check
/** Every page's script: what all pages do, and the parts that this page has. */
import { wireClaim } from './claimform.js';
import { database } from './db.js';
import { wireDeviceBook } from './devicebook.js';
import { wireSending } from './everywhere.js';
import { wireFilter } from './filter.js';
import { wireKeeping } from './keeping.js';
import { wireOnDevice } from './ondevice.js';
import { wireShared } from './sharing.js';
import { adopt, idOf } from './shell.js';
import { wireInspectionPage } from './wiring.js';

/** @param {string} selector */
const find = (selector) => /** @type {HTMLElement | null} */ (document.querySelector(selector));

/** What only a device does that may keep the app. */
async function wireOffline() {
  wireKeeping();
  const section = find('#on-device');
  if (section) wireOnDevice(section);
  await wireDeviceBook();
}

async function wireParts() {
  const inspection = /** @type {HTMLFormElement | null} */ (find('form.inspection'));
  const claim = /** @type {HTMLFormElement | null} */ (find('form.claim'));
  const result = find('[data-shell]');
  const marking = /** @type {HTMLFormElement | null} */ (find('form.reading'));
  if (marking) (await import('./readpage.js')).wireReading(marking);
  if (inspection) await wireInspectionPage(inspection);
  // Where this device can't keep it, the form goes to the server as it always did.
  if (claim && isSecureContext) await wireClaim(claim).catch(() => undefined);
  wireShared(document);
  const writing = /** @type {HTMLFormElement | null} */ (find('form[data-writing]'));
  if (writing) (await import('./writing.js')).wireWriting(writing);
  if (result) await (await import('./results.js')).wireResult(result);
  for (const field of document.querySelectorAll('[data-filter]')) wireFilter(/** @type {HTMLElement} */ (field));
}

/** Not awaited at the top: a script that is loaded later needs this one to have run. */
async function start() {
  const { dataset } = document.documentElement;
  // A phone takes as long to open what is kept as to read a page: it does both at once.
  if (isSecureContext && idOf(location.pathname)) void database().catch(() => undefined);
  if (document.readyState === 'loading') await new Promise((done) => { addEventListener('DOMContentLoaded', done); });
  adopt(document, idOf(location.pathname)); // before anybody looks at an address
  await wireParts(); // what a person waits for comes before what goes on behind it
  wireSending();
  if (dataset.offline) await wireOffline();
  dataset.ready = '1';
}

void start();
