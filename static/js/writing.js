// @ts-check
/**
 * A reference being written: its text with numbered lines, what is wrong beside the line it is
 * about, and its lifelines drawn anew as it changes. The server reads the text, as it will be read.
 */
import { html } from './dom.js';
import { save } from './takealong.js';

const PAUSE = 300; // milliseconds without a key

class Writing {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.text = /** @type {HTMLTextAreaElement} */ (form.querySelector('textarea'));
    this.numbers = /** @type {HTMLElement} */ (form.querySelector('.line-numbers'));
    this.beside = /** @type {HTMLElement} */ (form.querySelector('.line-notes'));
    this.checked = /** @type {HTMLElement} */ (document.getElementById('checked'));
    this.timer = 0;
    /** @type {AbortController | null} */
    this.asked = null;
    this.kept = form.dataset.unkept === undefined ? this.text.value : null; // what came of a form was not kept yet
  }

  wire() {
    this.text.addEventListener('input', () => {
      this.#number();
      clearTimeout(this.timer);
      this.timer = window.setTimeout(() => void this.check(), PAUSE);
    });
    this.form.addEventListener('submit', (event) => {
      const { submitter } = event;
      if (submitter?.hasAttribute('data-check')) { event.preventDefault(); void this.check(); } else this.kept = this.text.value;
    });
    this.checked.addEventListener('click', (event) => this.#followed(event));
    addEventListener('beforeunload', (event) => { if (this.text.value !== this.kept) event.preventDefault(); });
    this.checked.addEventListener('click', (event) => this.#put(event));
    const download = /** @type {HTMLElement} */ (this.form.querySelector('[data-download]'));
    download.hidden = false;
    download.addEventListener('click', () => this.#download());
    this.#number();
    this.#place();
  }

  /** Has the text read; an answer that is late for what is typed by now is dropped. */
  async check() {
    this.asked?.abort();
    const asked = this.asked = new AbortController();
    try {
      const body = new URLSearchParams({ text: this.text.value });
      for (const held of this.form.querySelectorAll('[name="picture"]')) body.append('picture', /** @type {HTMLInputElement} */ (held).value);
      const reply = await fetch(this.form.dataset.writing ?? '', { method: 'POST', body, signal: asked.signal, headers: { 'X-Part': '1' }, redirect: 'error' });
      if (!reply.headers.get('Content-Type')?.startsWith('text/html') || reply.status >= 500) throw new Error();
      this.#show(document.createRange().createContextualFragment(await reply.text()));
    } catch {
      if (!asked.signal.aborted) this.checked.replaceChildren('The server does not answer: not checked since the last key. Nothing typed is lost; save it as a file if you must leave.');
    }
  }

  /** While there are faults the last lifelines stay, and are seen to be the last ones. @param {DocumentFragment} found */
  #show(found) {
    const last = this.checked.querySelector('.lifelines');
    if (last && !found.querySelector('.lifelines')) { last.classList.add('stale'); found.append(last); }
    this.checked.replaceChildren(found);
    this.#place();
  }

  #number() {
    const lines = this.text.value.split('\n').length;
    this.text.rows = lines + 1;
    while (this.numbers.children.length > lines) this.numbers.lastElementChild?.remove();
    while (this.numbers.children.length < lines) this.numbers.append(document.createElement('li'));
  }

  /** Marks the lines that have faults and puts the words of each beside its line. */
  #place() {
    for (const number of this.numbers.querySelectorAll('.faulty-line')) number.className = '';
    const { lineHeight, paddingTop } = getComputedStyle(this.text);
    const notes = /** @type {NodeListOf<HTMLElement>} */ (this.checked.querySelectorAll('[data-line]'));
    this.beside.replaceChildren(...[...notes].map((note) => {
      const line = Number(note.dataset.line);
      const words = html('p', {}, note.dataset.words);
      words.style.top = `${parseFloat(paddingTop) + (line - 1) * parseFloat(lineHeight)}px`;
      this.numbers.children[line - 1]?.classList.add('faulty-line');
      return words;
    }));
  }

  /** @param {MouseEvent} event */
  #followed(event) {
    const link = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest('[data-line-link]'));
    if (!link) return;
    event.preventDefault();
    const lines = this.text.value.split('\n');
    const before = lines.slice(0, Number(link.dataset.lineLink) - 1).join('\n').length;
    const start = before ? before + 1 : 0;
    this.text.focus();
    this.text.setSelectionRange(start, start + lines[Number(link.dataset.lineLink) - 1].length);
    this.numbers.children[Number(link.dataset.lineLink) - 1]?.scrollIntoView({ block: 'center' });
  }

  /** Writes the line of a picture below the line of the cursor. @param {MouseEvent} event */
  #put(event) {
    const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest('[data-put]'));
    if (!button) return;
    const { value, selectionEnd } = this.text;
    const end = value.indexOf('\n', selectionEnd);
    const at = end < 0 ? value.length : end;
    const indent = /^[ \t]*/.exec(value.slice(value.lastIndexOf('\n', at - 1) + 1))?.[0] ?? '';
    this.text.setRangeText(`\n${indent}picture = "${button.dataset.put}"`, at, at, 'end');
    this.text.focus();
    this.text.dispatchEvent(new Event('input', { bubbles: true }));
  }

  #download() {
    const id = /^id = "([a-z0-9-]+)"/m.exec(this.text.value)?.[1] ?? 'reference';
    save(`${id}.toml`, URL.createObjectURL(new Blob([this.text.value], { type: 'application/toml' })));
  }
}

/** @param {HTMLFormElement} form */
export function wireWriting(form) {
  new Writing(form).wire();
}
