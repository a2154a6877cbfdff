// @ts-check
/** The claim page: where its parts meet. */
import { wireClaim } from './claimform.js';

const form = /** @type {HTMLFormElement | null} */ (document.querySelector('form.claim'));
if (form && isSecureContext) {
  // Where this device can't keep it, the form goes to the server as it always did.
  await wireClaim(form).catch(() => undefined);
}
document.documentElement.dataset.ready = '1';
