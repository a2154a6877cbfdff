// @ts-check
/**
 * The page that reads a marking: what it says follows the typing, and no server is asked. The page
 * that a device keeps is empty, and gets scheme and text from its address.
 *
 * @import { Meaning } from './readings/wording.js'
 */
import { html } from './dom.js';
import { DAY, dayWords } from './engine/datewords.js';
import { ReadingError, faultWords } from './engine/errors.js';
import { readText } from './readings/schemes.js';

const PAUSE = 200; // ms without a key: a word is typed, not a letter

/** @param {HTMLFormElement} form */
export function wireReading(form) {
  const scheme = /** @type {HTMLSelectElement} */ (form.elements.namedItem('scheme'));
  const text = /** @type {HTMLInputElement} */ (form.elements.namedItem('text'));
  const told = /** @type {HTMLElement} */ (document.getElementById('told'));
  const tell = () => told.replaceChildren(...words(scheme.value, text.value));
  let timer = 0;
  form.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(tell, PAUSE);
  });
  form.addEventListener('submit', (event) => {
    event.preventDefault(); // no server is needed for it
    clearTimeout(timer);
    history.replaceState(null, '', `?${new URLSearchParams({ scheme: scheme.value, text: text.value })}`);
    tell();
  });
  if (!form.dataset.shellOf) return;
  const asked = new URLSearchParams(location.search);
  scheme.value = asked.get('scheme') ?? scheme.value;
  if (!scheme.value) scheme.selectedIndex = 0; // an address with a scheme that there is not
  text.value = asked.get('text') ?? '';
  tell();
}

/** What a text means, as the server's page has it. @param {string} scheme @param {string} text @returns {HTMLElement[]} */
function words(scheme, text) {
  if (!text.trim()) return [];
  try {
    const { says, meanings, sources } = readText(scheme, text);
    const list = html('ul', { class: 'says' }, ...sources.map((source) => html('li', {}, source)));
    const meant = html('ul', { class: 'says' }, ...meanings.map((each) => html('li', {}, each.says, ...days(each))));
    return [
      html('p', { class: 'reads' }, says),
      ...(meanings.length ? [meant] : []),
      html('details', {}, html('summary', {}, 'Sources'), list),
    ];
  } catch (error) {
    if (!(error instanceof ReadingError)) throw error;
    return error.faults.map((fault) => html('p', { class: 'fault' }, faultWords(fault)));
  }
}

/** The days of a meaning; nothing where it has none, or is one day. @param {Meaning} meaning */
function days({ from, to }) {
  const said = from && to ? (from === to ? '' : `${day(from)} to ${day(to)}`) : from ? `from ${day(from)} on` : to ? `to ${day(to)}` : '';
  return said ? [' ', html('span', { class: 'quiet' }, said)] : [];
}

/** @param {string} iso */
const day = (iso) => dayWords(Date.parse(iso) / DAY);
