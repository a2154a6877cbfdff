// @ts-check
/**
 * Says "saved" only when the server said so, waits for its word before moving on, and sends again
 * what could not be sent, for as long as the page is open.
 */
import { fields } from './stops.js';
import { showUnsent } from './unsent.js';

const AGAIN = 4000;
const TYPED = 800;

/** Whether sending the same again would be in vain. @param {number} status */
const refusedForGood = (status) => status >= 400 && status < 500 && status !== 401 && status !== 408 && status !== 429;

/** Puts the changed parts of a reply where they belong, as htmx does. @param {string} text */
function putIn(text) {
  for (const part of new DOMParser().parseFromString(text, 'text/html').querySelectorAll('[hx-swap-oob]')) {
    document.getElementById(part.id)?.replaceWith(document.importNode(part, true));
  }
}

export class Saving {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    /** @type {Set<string>} */
    this.unsent = new Set();
    this.flying = 0;
    this.refused = false;
    this.unpaired = false;
    this.timer = 0;
    /** @type {(() => void)[]} */
    this.waiting = [];
  }

  wire() {
    this.form.addEventListener('htmx:before:request', () => { clearTimeout(this.timer); this.flying += 1; this.#say('', 'Saving …'); });
    this.form.addEventListener('htmx:after:request', (event) => this.#answered(event));
    this.form.addEventListener('htmx:finally:request', (event) => this.#landed(event));
    this.form.addEventListener('input', (event) => this.#typed(event));
    setInterval(() => void this.#sendAgain(), AGAIN);
    addEventListener('online', () => void this.#sendAgain());
    addEventListener('beforeunload', (event) => { if (this.unsent.size) event.preventDefault(); });
  }

  /** Resolves when nothing is on its way; false if the last answer was refused. @returns {Promise<boolean>} */
  async settled() {
    await new Promise((done) => setTimeout(done));
    if (this.flying) await new Promise((done) => this.waiting.push(() => done(undefined)));
    const refused = this.refused;
    this.refused = false;
    return !refused;
  }

  /** What is typed is not saved; it is sent once the typing stops. @param {Event} event */
  #typed(event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    clearTimeout(this.timer);
    if (field.type !== 'text' && field.type !== 'textarea') return;
    this.#say('', 'Not saved yet');
    this.timer = window.setTimeout(() => field.dispatchEvent(new Event('change', { bubbles: true })), TYPED);
  }

  /** @param {Event} event */
  #answered(event) {
    const { ctx } = /** @type {CustomEvent} */ (event).detail;
    const status = ctx.response?.raw?.status ?? 0;
    ctx.quickcheckStatus = status;
    this.refused = status === 422;
    if (this.refused) this.#say('', 'Not saved');
  }

  /** @param {Event} event */
  #landed(event) {
    const { ctx } = /** @type {CustomEvent} */ (event).detail;
    const status = ctx.quickcheckStatus ?? 0;
    const point = new URLSearchParams(ctx.request.body).get('_point') ?? '';
    this.unpaired = status === 401;
    if (status === 200) this.unsent.delete(point);
    else if (refusedForGood(status)) this.refused = true;
    else this.unsent.add(point);
    if (refusedForGood(status) && status !== 422) this.#say('', `Not saved: the server refused it (${status}). Load the page again.`);
    else if (this.unsent.size) this.#sayUnsent();
    this.flying = Math.max(0, this.flying - 1);
    if (!this.flying) for (const done of this.waiting.splice(0)) done();
  }

  async #sendAgain() {
    const waited = this.unsent.size > 0;
    for (const id of [...this.unsent]) {
      const point = this.form.querySelector(`fieldset[data-point="${id}"]`);
      if (!point) continue;
      const body = new URLSearchParams([['_point', id], ...fields(/** @type {HTMLFieldSetElement} */ (point))]);
      try {
        const reply = await fetch(this.form.action, { method: 'POST', body, headers: { 'HX-Request': 'true' }, redirect: 'error' });
        const text = await reply.text();
        this.unpaired = reply.status === 401;
        if (reply.ok && text.includes('data-verdict')) { this.unsent.delete(id); putIn(text); }
        else if (refusedForGood(reply.status)) this.unsent.delete(id);
      } catch { /* still no answer: the next round tries again */ }
    }
    if (this.unsent.size) this.#sayUnsent();
    else if (waited) this.#say('server', 'Saved on the server');
  }

  #sayUnsent() {
    const why = this.unpaired ? 'this device is not paired (any more). Pair it in another tab' : 'no answer from the server';
    this.#say('', `Not saved yet: ${why}. ${this.unsent.size} kept on this page and sent again.`);
  }

  /** @param {string} where @param {string} words */
  #say(where, words) {
    const said = /** @type {HTMLElement | null} */ (document.querySelector('#strip .saved'));
    if (!said) return;
    said.dataset.saved = where;
    said.textContent = words;
    showUnsent({ waiting: this.unsent.size });
  }
}
