// @ts-check
/**
 * On the organizer's page, unlocked: what was put aside on this machine, to be sent, taken along or
 * removed. What a person wrote is only ever text here.
 *
 * @import { Aside } from './aside.js'
 */
import { rowOf } from '../devicebook.js';
import { html } from '../dom.js';
import { all, isNew } from '../draft.js';
import { tell } from '../everywhere.js';
import { alone, flush } from '../outbox.js';
import { count, DISCARDED } from '../remember.js';
import { fileName, fileOf } from '../takealong.js';
import { listed, recount, remove } from './aside.js';
import { sendAside, takeUp, whyNot } from './asidesend.js';

const WHEN = new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' });
const LOST = 'What is put aside here can\u2019t be read now. Load the page again.';

class AsideList {
  /** @param {HTMLElement} section */
  constructor(section) {
    this.section = section;
    this.list = /** @type {HTMLElement} */ (section.querySelector('ul'));
    this.status = /** @type {HTMLElement} */ (section.querySelector('[role="status"]'));
    this.box = /** @type {HTMLDialogElement} */ (section.querySelector('dialog'));
    /** @type {Map<string, string[]>} what came of the last try to send it */
    this.said = new Map();
  }

  /** @param {string} [words]  what was done */
  async show(words = '') {
    this.status.textContent = words;
    const found = await listed();
    for (const link of this.list.querySelectorAll('a')) URL.revokeObjectURL(link.href);
    this.list.replaceChildren(...found.map((one) => this.row(one)));
    this.section.hidden = !found.length && !words;
    if (words) this.status.focus();
  }

  /** @param {Aside} one */
  row(one) {
    const { draft, photos, aside } = one;
    const { name, about } = rowOf(draft);
    const why = this.said.get(one.id) ?? whyNot(draft);
    const file = (/** @type {string} */ words, /** @type {string} */ to, /** @type {string} */ href) => html('a', { class: 'button quiet', download: to, href }, words, html('span', { class: 'visually-hidden' }, ` ${name}`));
    return html('li', {},
      html('h3', {}, name),
      html('p', {}, about),
      html('p', {}, 'Put aside on ', html('time', { datetime: aside }, WHEN.format(new Date(aside))), '.'),
      why.length > 0 && html('div', { class: 'faults' }, ...why.map((each) => html('p', {}, each))),
      html('p', { class: 'go' },
        this.button('Send it', name, '', () => this.send(one, name)),
        file('Take it along as a file', fileName(draft.id), fileOf(draft.document)),
        ...photos.map(({ bytes, type, sha256 }, at) => file(`Photo ${at + 1} as a file`, `photo-${draft.id}-${sha256.slice(0, 8)}.${type.split('/')[1] ?? 'jpg'}`, URL.createObjectURL(new Blob([bytes], { type })))),
        this.button('Remove it from this machine', name, 'quiet', () => this.remove(one, name))));
  }

  /** @param {string} words @param {string} name @param {string} kind @param {() => Promise<string>} work @returns {Element} */
  button(words, name, kind, work) {
    const button = html('button', { type: 'button', class: kind }, words, html('span', { class: 'visually-hidden' }, ` ${name}`));
    button.addEventListener('click', () => void this.act(work));
    return button;
  }

  /** One thing after the other; what was done is said, shown, and told to the server. @param {() => Promise<string>} work */
  async act(work) {
    const buttons = /** @type {NodeListOf<HTMLButtonElement>} */ (this.list.querySelectorAll('button'));
    for (const button of buttons) button.disabled = true;
    const words = await work().catch((error) => `That did not work: ${error.message}. Nothing is lost.`);
    await this.show(words).catch(() => { this.section.hidden = false; this.status.textContent = LOST; });
    await flush().catch(() => undefined).then(tell);
  }

  /** @param {Aside} one @param {string} name */
  async send(one, name) {
    this.status.textContent = `Sending ${name} …`;
    const why = await sendAside(one);
    for (const { id, draft } of await listed()) if (draft.id === one.draft.id) this.said.set(id, why);
    return why.length ? `${name} stays put aside. ${why.join(' ')}` : `${name} is in the book, and no longer on this machine.`;
  }

  /** @param {Aside} one @param {string} name */
  async remove(one, name) {
    if (!await this.isSure(one, name)) return '';
    await alone(async () => {
      await remove(one.id);
      const others = await listed();
      if (isNew(one.draft) && !others.some(({ draft }) => draft.id === one.draft.id)) count(DISCARDED);
      await recount(await all());
    });
    return `${name} is no longer on this machine.`;
  }

  /** @param {Aside} one @param {string} name @returns {Promise<boolean>} */
  isSure({ draft }, name) {
    const { box } = this;
    const place = /** @type {HTMLElement} */ (box.querySelector('[data-what]'));
    place.textContent = isNew(draft)
      ? `${name} is in no server’s book. Once it is removed here, nobody can send it any more.`
      : `What is put aside of ${name} is in no server’s book, which has only what came before it. Once it is removed here, nobody can send it any more.`;
    box.returnValue = '';
    return new Promise((done) => {
      box.addEventListener('close', () => done(box.returnValue === 'y'), { once: true });
      box.showModal();
    });
  }
}

const section = document.getElementById('put-aside');
if (section && isSecureContext) {
  const list = new AsideList(section);
  void takeUp().catch(() => undefined).then(() => list.show()).catch(() => list.act(async () => LOST));
}
