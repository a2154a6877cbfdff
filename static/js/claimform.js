// @ts-check
/**
 * The claim form on this device: begins an inspection or changes its claim with no server.
 *
 * @import { Model } from './engine/types.js'
 */
import { begin, load, newDraft, newId, update, withDocument } from './draft.js';
import { modelOf } from './models.js';
import { FaultsError } from './engine/errors.js';
import { monthOf, monthText } from './engine/months.js';
import { readSheet } from './engine/sheet.js';
import { flush } from './outbox.js';

const PATIENCE = 2000;

/** @param {FormData} filled @param {string} name */
const said = (filled, name) => String(filled.get(name) ?? '').trim();

/** @param {string} text  "whole:0:11 early:0:3 …", as the form carries it @returns {Map<string, [number, number]>} */
const partsOf = (text) => new Map(text.split(' ').map((part) => {
  const [name, first, last] = part.split(':');
  return /** @type {[string, [number, number]]} */ ([name, [Number(first), Number(last)]]);
}));

/** @param {HTMLFormElement} form @param {FormData} filled @returns {[string, string] | null} null: nothing chosen */
function windowOf(form, filled) {
  const [first, last] = [said(filled, 'first'), said(filled, 'last')];
  if (first || last) return [first || last, last || first];
  const year = Number(said(filled, 'year'));
  const part = partsOf(form.dataset.parts ?? '').get(said(filled, 'part') || 'whole');
  if (!year || !part) return null;
  const january = monthOf(year, 1);
  return [monthText(january + part[0]), monthText(january + part[1])];
}

/** The head of an answers document, as the server's form makes it. @param {HTMLFormElement} form @param {[string, string]} window */
function headOf(form, window) {
  const filled = new FormData(form);
  return {
    reference: said(filled, 'reference'),
    window,
    claim: { words: said(filled, 'claim_words'), nothing_changed: filled.has('nothing_changed') },
    name: said(filled, 'name'),
    access: said(filled, 'access') || 'look',
    tools: filled.getAll('tools').map(String),
    serial_text: said(filled, 'serial_text'),
    disclosures: filled.getAll('disclosures').map(String),
  };
}

/** @param {HTMLFormElement} form @param {string[]} messages */
function refuse(form, messages) {
  let box = form.querySelector(':scope > .faults');
  if (!box) {
    box = document.createElement('div');
    box.className = 'faults';
    box.setAttribute('role', 'alert');
    box.setAttribute('tabindex', '-1');
    form.querySelector('fieldset')?.before(box);
  }
  box.replaceChildren(...messages.map((message) => {
    const line = document.createElement('p');
    line.textContent = message;
    return line;
  }));
  /** @type {HTMLElement} */ (box).focus();
  box.scrollIntoView({ block: 'center' });
}

/** @param {HTMLFormElement} form @param {Record<string, any>} document */
function refill(form, document) {
  const put = (/** @type {string} */ name, /** @type {string} */ value) => {
    const field = /** @type {HTMLInputElement | null} */ (form.querySelector(`[name="${name}"]:not([type="radio"])`));
    if (field) field.value = value;
  };
  const tick = (/** @type {string} */ name, /** @type {string[]} */ values) => {
    for (const field of form.querySelectorAll(`[name="${name}"]`)) {
      const box = /** @type {HTMLInputElement} */ (field);
      box.checked = values.includes(box.value);
    }
  };
  put('first', document.window[0]);
  put('last', document.window[1]);
  put('claim_words', document.claim?.words ?? '');
  put('serial_text', document.serial_text ?? '');
  put('name', document.name ?? '');
  tick('nothing_changed', document.claim?.nothing_changed ? ['y'] : []);
  tick('access', [document.access ?? 'open']);
  tick('tools', document.tools ?? []);
  tick('disclosures', document.disclosures ?? []);
  for (const details of form.querySelectorAll('details')) {
    if (details.querySelector('input[type="text"], :checked')) details.open = true;
  }
}

/** @param {HTMLFormElement} form */
export async function wireClaim(form) {
  const hash = form.dataset.edition ?? '';
  const id = form.dataset.inspection ?? '';
  const draft = id ? await load(id) : undefined;
  const model = await modelOf(hash);
  if (draft) refill(form, draft.document);
  form.addEventListener('submit', (event) => {
    if (id && !draft) return; // not on this device: the server has it
    event.preventDefault();
    void submit(form, model, id).catch((error) => {
      if (!(error instanceof FaultsError)) refuse(form, [`This device could not keep it: ${error}. Nothing was begun; what you typed is still here.`]);
      else refuse(form, error.message.split('\n'));
    });
  });
}

/** @param {HTMLFormElement} form @param {Model} model @param {string} id */
async function submit(form, model, id) {
  const window = windowOf(form, new FormData(form));
  if (!window) {
    refuse(form, ['Year: expected a year or exact months; got nothing. Tap a year, or give months.']);
    return;
  }
  const head = headOf(form, window);
  const hash = form.dataset.edition ?? '';
  if (id) {
    await update(id, (now) => {
      const document = { ...now.document, ...head };
      readSheet(model, document);
      return withDocument(now, document);
    });
  } else {
    id = newId();
    const document = { ...head, answers: {} };
    readSheet(model, document);
    await begin(newDraft(id, { reference: hash, title: model.json.title, document }));
  }
  // Until this device has taken the empty pages along, the next page comes from the server: it must know.
  await Promise.race([flush(), new Promise((done) => setTimeout(done, PATIENCE))]);
  location.assign(`/inspect/${id}`);
}
