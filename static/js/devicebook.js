// @ts-check
/**
 * Lists made on this device: the inspections and the references that are kept here.
 *
 * @import { Draft } from './draft.js'
 * @import { Pack } from './shelf.js'
 */
import { all } from './draft.js';
import { parseMonth, runWords } from './engine/months.js';
import { namesIn, refusedIn, waitingIn } from './photos.js';
import { allKept, sizeOf, sizeWords } from './shelf.js';
import { fileName, fileOf } from './takealong.js';
import { photoWords } from './unsent.js';
import { VERDICT_WORDS } from './words.js';

/** @param {unknown} window @returns {string} */
export function claimedWords(window) {
  try {
    const [first, last] = /** @type {string[]} */ (window);
    return `claimed ${runWords([parseMonth(first), parseMonth(last)])}`;
  } catch {
    return ''; // a document of another build is still listed, and still opens
  }
}

/** Where an inspection is. @param {Draft} draft @returns {string} */
export function whereWords(draft) {
  const { dirty, parked, conflict } = draft;
  const photos = [...waitingIn(draft), ...refusedIn(draft)].length;
  if (parked) return 'On this device only: the server refused it';
  if (dirty) return 'On this device only';
  const words = conflict ? 'On the server, in two versions' : 'On the server';
  return photos ? `${words}; ${photoWords(photos)} only on this device` : words;
}

/** What a row says of an inspection. @param {Draft} draft @returns {{ name: string, about: string, state: string }} */
export function rowOf(draft) {
  const { document } = draft;
  const serial = document.serial_text ? `serial ${document.serial_text}` : '';
  const answered = Object.keys(document.answers ?? {}).length;
  const photos = namesIn(document).length;
  const verdict = /** @type {Record<string, string>} */ (VERDICT_WORDS)[document.judged?.verdict] ?? '';
  return {
    name: document.name || document.serial_text || draft.title,
    about: [draft.title, serial, claimedWords(document.window), `${answered} answered`, photos && photoWords(photos)].filter(Boolean).join(' · '),
    state: [verdict, whereWords(draft)].filter(Boolean).join(' · '),
  };
}

/** @param {string} href @param {string} name @param {string[]} lines @returns {HTMLLIElement} */
function row(href, name, lines) {
  const item = document.createElement('li');
  const link = document.createElement('a');
  const bold = document.createElement('b');
  link.href = href;
  bold.textContent = name;
  link.append(bold, ...lines.map((line) => {
    const span = document.createElement('span');
    span.className = 'quiet';
    span.textContent = line;
    return span;
  }));
  item.append(link);
  return item;
}

/** What the server can't take is shown with the reason, and can be taken along. @param {Draft} draft */
function parkedPart(draft) {
  const part = document.createElement('div');
  const why = document.createElement('p');
  const link = document.createElement('a');
  part.className = 'faults';
  why.textContent = `The server refused it: ${draft.parked?.why}`;
  link.className = 'button quiet';
  link.textContent = 'Take it along as a file';
  link.download = fileName(draft.id);
  link.href = fileOf(draft.document);
  part.append(why, link);
  return part;
}

/** @param {HTMLElement} list @param {Node[]} rows @param {string} none  said where there are no rows */
function fill(list, rows, none) {
  const empty = document.createElement('li');
  empty.textContent = none;
  list.replaceChildren(...(rows.length ? rows : [empty]));
  const section = list.closest('section');
  if (section?.dataset.hideEmpty !== undefined) section.hidden = rows.length === 0;
}

/** @param {Pack} pack */
const referenceRow = (pack) => row(`/?reference=${encodeURIComponent(pack.id)}`, pack.title, [
  ...(pack.general ? ['No reference for it?'] : []),
  `${runWords(pack.covers)} · ${pack.points} points · edition ${pack.edition} · ${sizeWords(sizeOf(pack))}`,
]);

/** @param {HTMLElement} list  data-only="unsent" leaves out what the server has */
async function fillBook(list) {
  const drafts = (await all()).filter((draft) => list.dataset.only !== 'unsent' || draft.dirty || draft.conflict || waitingIn(draft).length || refusedIn(draft).length);
  const rows = drafts.map((draft) => {
    const { name, about, state } = rowOf(draft);
    const item = row(`/inspect/${draft.id}`, name, [about, state]);
    if (draft.parked) item.append(parkedPart(draft));
    return item;
  });
  fill(list, rows, 'No inspection is on this device.');
}

/** @param {HTMLElement} list */
async function fillReferences(list) {
  const packs = (await allKept()).filter((pack, at, packs) => packs.findLastIndex(({ id }) => id === pack.id) === at);
  packs.sort((one, other) => Number(one.general ?? false) - Number(other.general ?? false));
  fill(list, packs.map(referenceRow), 'No reference is kept on this device. Open the app once while the server answers.');
}

/** Fills the lists of what is on this device, where the page has them. */
export async function wireDeviceBook() {
  const book = document.getElementById('device-book');
  const references = document.getElementById('device-references');
  const failed = (/** @type {HTMLElement} */ list) => fill(list, [], 'This browser keeps nothing here.');
  await Promise.all([
    book && fillBook(book).catch(() => failed(book)),
    references && fillReferences(references).catch(() => failed(references)),
  ]);
}
