// @ts-check
/**
 * A text as a QR symbol and as a drawing, in the version that the server's would have. The mask may
 * be another: both are read alike.
 */
import { correction, generate, mode } from '../../vendor/lean-qr-2.7.4.mjs';
import { noCard } from './errors.js';
import { HIGHEST_VERSION } from './tables.js';

/** Without its quiet zone; `rows[y][x]` is true where it is dark. @typedef {{ version: number, size: number, rows: boolean[][] }} Symbol */

// As many digits in a row are worth a segment of their own; the server's library has the same limit.
const CARD = /^(.*?)([0-9]{20,})$/s;

/** The smallest symbol for the address of a card, at error correction M. @param {string} text @returns {Symbol} */
export function symbol(text) {
  const found = CARD.exec(text);
  const [start, figures] = found ? [found[1], found[2]] : [text, ''];
  const segments = [...(start ? [mode.ascii(start)] : []), ...(figures ? [mode.numeric(figures)] : [])];
  const bitmap = drawn(() =>
    generate(mode.multi(...segments), {
      minCorrectionLevel: correction.M,
      maxCorrectionLevel: correction.M,
      maxVersion: HIGHEST_VERSION,
    }),
  );
  if (!bitmap) {
    const expected = `a text that fits version ${HIGHEST_VERSION}`;
    throw noCard('code', expected, `${text.length} characters`, 'Shorten the address of the server.');
  }
  const { size } = bitmap;
  const side = Array.from({ length: size }, (_, i) => i);
  return { version: (size - 17) / 4, size, rows: side.map((y) => side.map((x) => bitmap.get(x, y))) };
}

/** Null where the text is too long: the one refusal that the library knows by this number. @template T @param {() => T} make @returns {T | null} */
function drawn(make) {
  try {
    return make();
  } catch (error) {
    if (/** @type {{ code?: number }} */ (error).code === TOO_LONG) return null;
    throw error;
  }
}

const TOO_LONG = 4;

/** The data of one path, a module being 1 unit: each run of dark modules a rectangle. @param {Symbol} found */
export function svgPath({ rows }) {
  return rows.map((row, y) => runs(row).map(([x, length]) => `M${x} ${y}h${length}v1h-${length}z`).join('')).join('');
}

/** First and length of each run of dark modules. @param {boolean[]} row @returns {[number, number][]} */
function runs(row) {
  /** @type {[number, number][]} */
  const found = [];
  row.forEach((dark, x) => {
    const last = found[found.length - 1];
    if (!dark) return;
    if (last && last[0] + last[1] === x) last[1] += 1;
    else found.push([x, 1]);
  });
  return found;
}
