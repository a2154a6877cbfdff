// @ts-check
/** The page that reads a marking: what it says follows the typing. Date codes need no server. */
import { wordsOf } from './reads.js';

const PAUSE = 200; // ms without a key: a word is typed, not a letter
const ALONE = 'The server does not answer: only whole date codes are read here.';

/** @param {HTMLFormElement} form */
export function wireReading(form) {
  let timer = 0;
  let asked = 0;
  form.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(() => void ask(++asked), PAUSE);
  });

  /** Only the last question counts, however late its answer. @param {number} mine */
  async function ask(mine) {
    const fields = new FormData(form);
    const query = new URLSearchParams([...fields].map(([name, value]) => [name, String(value)]));
    const told = await page(`${form.action}?${query}`);
    if (mine !== asked) return;
    const alone = wordsOf(String(fields.get('scheme')), String(fields.get('text'))) || ALONE;
    document.getElementById('told')?.replaceChildren(...(told ?? [alone]));
  }
}

/** What the server says; undefined where it does not. @param {string} address */
async function page(address) {
  try {
    const text = await (await fetch(address)).text();
    return new DOMParser().parseFromString(text, 'text/html').getElementById('told')?.childNodes;
  } catch {
    return undefined;
  }
}
