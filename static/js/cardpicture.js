// @ts-check
/**
 * A card as a picture, drawn on the phone: black on white, as large and as laid out as the server's,
 * in the fonts that the phone has.
 *
 * @import { Issued } from './resultview.js'
 * @import { Shared } from './sharing.js'
 */
import { symbol } from './card/qr.js';
import { QUIET } from './card/tables.js';
import { fetched, pictureName } from './sharing.js';
import { markWords } from './telling.js';
import { INTEREST_WORDS, VERDICT_WORDS } from './words.js';

/** Words in one size, with the pixels above them; cut after `most` rows. @typedef {{ text: string, size: number, serif?: boolean, ink?: string, before?: number, most?: number }} Line */
/** What stands on it: `beside` the code, and `below` both. @typedef {{ url: string, beside: Line[], below: Line[] }} Drawn */

const [WIDTH, HEIGHT, EDGE, GAP, SYMBOL] = [1240, 874, 56, 44, 600];
const QUIET_INK = '#444';
const FACES = { sans: 'system-ui, sans-serif', serif: 'Georgia, serif' };

/** @param {CanvasRenderingContext2D} pen @param {string} text @param {number} width @param {number} most @returns {string[]} */
function broken(pen, text, width, most) {
  const rows = [''];
  for (const word of text.split(/\s+/)) {
    const longer = `${rows[rows.length - 1]} ${word}`.trim();
    if (rows[rows.length - 1] && pen.measureText(longer).width > width) rows.push(word);
    else rows[rows.length - 1] = longer;
  }
  if (rows.length > most) rows[most - 1] += ' …';
  return rows.slice(0, most);
}

/** One below the other; returns where they end. @param {CanvasRenderingContext2D} pen @param {Line[]} lines @param {number} width @param {number} [top] */
function write(pen, lines, width, top = EDGE) {
  let y = top;
  for (const { text, size, serif, ink = '#000', before = 0, most = 2 } of lines) {
    pen.font = `${serif ? 'bold ' : ''}${size}px ${serif ? FACES.serif : FACES.sans}`;
    pen.fillStyle = ink;
    y += before;
    for (const row of broken(pen, text, width, most)) {
      pen.fillText(row, EDGE, y);
      y += size * 1.28;
    }
  }
  return y;
}

/** The code at the upper right; returns its left and its lower edge. @param {CanvasRenderingContext2D} pen @param {string} url */
function drawCode(pen, url) {
  const { size, rows } = symbol(url);
  const module = Math.floor(SYMBOL / (size + 2 * QUIET));
  const left = WIDTH - EDGE - size * module;
  pen.fillStyle = '#000';
  rows.forEach((row, y) => row.forEach((dark, x) => { if (dark) pen.fillRect(left + x * module, EDGE + y * module, module, module); }));
  return [left - QUIET * module, EDGE + (size + QUIET) * module];
}

/** @param {Drawn} card @returns {HTMLCanvasElement} */
function drawn({ url, beside, below }) {
  const canvas = Object.assign(document.createElement('canvas'), { width: WIDTH, height: HEIGHT });
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  pen.fillStyle = '#fff';
  pen.fillRect(0, 0, WIDTH, HEIGHT);
  pen.textBaseline = 'top';
  const [left, lower] = drawCode(pen, url);
  const top = Math.max(lower, write(pen, beside, left - EDGE - GAP)) + 14;
  pen.fillStyle = '#000';
  pen.fillRect(EDGE, top, WIDTH - 2 * EDGE, 3);
  write(pen, below, WIDTH - 2 * EDGE, top + 16);
  return canvas;
}

/** @param {Drawn} card @param {string} name @returns {Promise<File>} */
async function pictureOf(card, name) {
  const bytes = await new Promise((done) => { drawn(card).toBlob(done, 'image/png'); });
  if (!bytes) throw new Error('this browser can’t make a picture');
  return new File([/** @type {Blob} */ (bytes)], name, { type: 'image/png' });
}

/** What the picture says. @param {Issued} made @param {string} url  that its code leads to @param {boolean} sealed @returns {Drawn} */
function wordsOf({ card, result }, url, sealed) {
  const finding = result.sentences.filter(({ about }) => about === 'finding').map(({ text }) => text).join(' ');
  const seal = sealed ? 'Sealed by its issuer: the page that the code leads to says what the seal is worth.' : 'No seal. Nothing tells who wrote it or whether it was changed.';
  return {
    url,
    beside: [
      { text: result.model.json.title, size: 27, ink: QUIET_INK },
      { text: VERDICT_WORDS[result.verdict.verdict], size: 46, serif: true, before: 2 },
      { text: finding, size: 29, before: 10, most: 6 },
      { text: card.serial_text || 'No serial', size: 54, serif: true, before: 18, most: 1 },
      ...card.marks.map((mark) => ({ text: markWords(mark), size: 29, before: 2 })),
      { text: 'Match these with the instrument in your hands.', size: 24, ink: QUIET_INK, before: 8 },
    ],
    below: [
      { text: seal, size: 29, most: 3 },
      { text: `${INTEREST_WORDS[card.interest]} No authentication, appraisal or guarantee. The code leads to ${new URL(url).host}.`, size: 24, ink: QUIET_INK, before: 10 },
    ],
  };
}

/**
 * A card of this device to be passed on: sealed, in the server's own picture where that comes.
 * @param {Issued} made @param {string} [sealed]  address of the sealed card @returns {Shared}
 */
export function sharedOf(made, sealed) {
  const address = sealed ?? made.url;
  const name = pictureName(made.card.serial_text);
  const here = () => pictureOf(wordsOf(made, address, !!sealed), name);
  const there = () => fetched(`/c/${address.slice(address.lastIndexOf('/') + 1)}/card.png`, name).catch(here);
  return { address, title: `Card · ${made.result.model.json.title}`, file: sealed ? there : here };
}
