// @ts-check
/** The verdict's page and the card's page on this device: where their parts meet. */
import { sharedOf } from './cardpicture.js';
import { load, update, withDocument } from './draft.js';
import { html } from './dom.js';
import { FaultsError } from './engine/errors.js';
import { parseQuantity } from './engine/units.js';
import { modelOf } from './models.js';
import { issued, resultOf, showCard, showSealed, showVerdict } from './resultview.js';
import { keepSealing } from './sealing.js';
import { idOf } from './shell.js';
import { wireSharing } from './sharing.js';
import { showFaults } from './strip.js';

/** @import { Draft } from './draft.js' */
/** @import { Model } from './engine/types.js' */

/** @param {string} where @param {string} expected @param {string} came @param {string} remedy */
const fault = (where, expected, came, remedy) => ({ where, expected, came, remedy });

/** The two marks that are filled in; what is half filled in is a fault. @param {FormData} filled */
function marksOf(filled) {
  const [places, kinds, sizes] = ['mark-place', 'mark-kind', 'mark-mm'].map((name) => filled.getAll(name).map((value) => String(value).trim()));
  const marks = [];
  const faults = [];
  for (const index of places.keys()) {
    if (!places[index] && !kinds[index] && !sizes[index]) continue;
    if (!places[index] || !kinds[index]) {
      faults.push(fault(`mark ${index + 1}`, 'where it is and what it is', 'one of the two', 'Choose both, or neither.'));
      continue;
    }
    const size = sizes[index] ? parseQuantity(sizes[index], 'mm') : { value: 0, unit: 'mm' };
    marks.push({ place: places[index], kind: kinds[index], mm: size.unit === 'in' ? size.value * 25.4 : size.value });
  }
  return { marks, faults };
}

/** What the form still lacks. @param {FormData} filled */
function lacking(filled) {
  const faults = [];
  if (filled.get('leave') !== 'y') {
    faults.push(fault('the owner’s leave', 'the tick that the owner agrees to a public page', 'none', 'Ask the owner. Without it the inspection stays in the book, and there is no card.'));
  }
  if (!filled.get('interest')) {
    faults.push(fault('the issuer’s interest', 'one of the three lines', 'none', 'Say what the issuer has to gain.'));
  }
  return faults;
}

/** @param {HTMLFormElement} form @param {Draft} draft */
function refill(form, draft) {
  const fields = (/** @type {string} */ name) => /** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll(`[name="${name}"]`));
  for (const [index, mark] of (draft.document.marks ?? []).slice(0, 2).entries()) {
    fields('mark-place')[index].value = mark.place;
    fields('mark-kind')[index].value = mark.kind;
    fields('mark-mm')[index].value = mark.mm ? String(mark.mm) : '';
  }
}

/** @param {HTMLElement} root @param {Model} model @param {Draft} draft */
function wireCard(root, model, draft) {
  const form = /** @type {HTMLFormElement} */ (document.querySelector('form[data-make]'));
  refill(form, draft);
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    void make(root, form, model, draft).catch((error) => {
      if (!(error instanceof FaultsError)) throw error;
      showFaults(error.faults);
    });
  });
  root.querySelector('[data-print]')?.addEventListener('click', () => print());
  root.querySelector('[data-anew]')?.addEventListener('click', () => location.replace(`${location.pathname}?anew`));
  if (draft.card?.version === draft.version && !location.search) present(root, model, draft);
}

/** @param {HTMLElement} root @param {HTMLFormElement} form @param {Model} model @param {Draft} draft */
async function make(root, form, model, draft) {
  const filled = new FormData(form);
  const { marks, faults } = marksOf(filled);
  const wrong = [...lacking(filled), ...faults];
  showFaults(wrong);
  if (wrong.length) { document.getElementById('fault')?.scrollIntoView({ block: 'center' }); return; }
  const card = { issued: new Date().toISOString(), interest: String(filled.get('interest')) };
  issuedOf(root, model, { ...draft, document: { ...draft.document, marks }, card: { version: 0, ...card } }); // what has no card is not kept
  const changed = JSON.stringify(marks) !== JSON.stringify(draft.document.marks ?? []);
  const kept = await update(draft.id, (now) => ({
    ...(changed ? withDocument(now, { ...now.document, marks }) : now),
    card: { version: now.version + Number(changed), ...card },
  }));
  if (changed) dispatchEvent(new Event('quickcheck:saved'));
  present(root, model, kept);
  scrollTo(0, 0);
}

/** The card that an inspection has. @param {HTMLElement} root @param {Model} model @param {Draft} draft */
function issuedOf(root, model, { document: told, card }) {
  const { issued: time, interest } = /** @type {import('./draft.js').MadeCard} */ (card);
  return issued(resultOf(model, told), { issued: new Date(time), interest, base: root.dataset.base ?? location.origin });
}

/** Shows it in place of the form, and has it sealed. @param {HTMLElement} root @param {Model} model @param {Draft} draft */
function present(root, model, draft) {
  const made = issuedOf(root, model, draft);
  showCard(root, made);
  root.dataset.card = made.url;
  document.querySelector('form[data-make]')?.toggleAttribute('hidden', true);
  root.hidden = false;
  if (draft.card?.sealed) showSealed(root, draft.card.sealed);
  else keepSealing(root, draft.id, made.url.slice(made.url.lastIndexOf('/') + 1));
  const place = /** @type {HTMLElement} */ (root.querySelector('[data-sharing]'));
  wireSharing(place, () => sharedOf(made, root.dataset.sealed));
}

/** @param {HTMLElement} root */
async function show(root) {
  const id = idOf(location.pathname);
  const draft = await load(id);
  if (!draft) throw new Error('this inspection is not on this device');
  const model = await modelOf(draft.reference);
  if (root.dataset.shell === 'verdict') {
    showVerdict(root, resultOf(model, draft.document), { back: `/inspect/${id}`, card: `/inspect/${id}/card` });
  } else {
    wireCard(root, model, draft);
  }
}

/** @param {HTMLElement} root  the page's place for a result */
export async function wireResult(root) {
  await show(root).catch((error) => {
    const why = `This page can't be shown here: ${error.message}. Open the inspection again, or wait for the server.`;
    root.before(html('div', { class: 'faults', role: 'alert' }, html('h1', {}, 'Nothing to show'), html('p', {}, why)));
    root.hidden = true;
    document.querySelector('form[data-make]')?.toggleAttribute('hidden', true);
  });
}
