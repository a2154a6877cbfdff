// @ts-check
/** Text as Python handles it: blanks, and what came, as it is repeated in a refusal. */

const LONGEST_ECHO = 80;
// What Python's `str.split` takes for a blank; \s has one sign more and five fewer.
const BLANKS = '[\\t-\\r\\x1c- \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]+';
const RUN = new RegExp(BLANKS, 'u');
const ENDS = new RegExp(`^${BLANKS}|${BLANKS}$`, 'gu');

/** Text without blanks around it. @param {string} text */
export const strip = (text) => text.replace(ENDS, '');

/** Text with single blanks. @param {string} text */
export const spaced = (text) => strip(text).split(RUN).join(' ');

/** How many signs a text has. @param {string} text */
export const length = (text) => [...text].length;

/** What came, short enough to repeat on one line. @param {unknown} value */
export function shown(value) {
  const signs = [...spaced(typeof value === 'string' ? value : written(value))];
  return signs.length > LONGEST_ECHO ? `"${signs.slice(0, LONGEST_ECHO - 1).join('')}…"` : `"${signs.join('')}"`;
}

/** A value of JSON as Python writes it. @param {unknown} value @returns {string} */
export function written(value) {
  if (value === null || value === undefined) return 'None';
  if (typeof value === 'boolean') return value ? 'True' : 'False';
  if (typeof value === 'number') return numeral(value);
  if (typeof value === 'string') return quoted(value);
  if (Array.isArray(value)) return `[${value.map(written).join(', ')}]`;
  return `{${Object.entries(value).map(([key, inner]) => `${quoted(key)}: ${written(inner)}`).join(', ')}}`;
}

/** A value in words, text as it stands. @param {unknown} value */
export const plain = (value) => (typeof value === 'string' ? value : written(value));

/** @param {string} text */
function quoted(text) {
  const quote = text.includes("'") && !text.includes('"') ? '"' : "'";
  /** @type {Record<string, string>} */
  const marks = { '\\': '\\\\', '\n': '\\n', '\r': '\\r', '\t': '\\t', [quote]: `\\${quote}` };
  return quote + [...text].map((sign) => marks[sign] ?? sign).join('') + quote;
}

/** A number as Python writes it; whole ones without a point. @param {number} x */
export function numeral(x) {
  if (Number.isNaN(x)) return 'nan';
  if (!Number.isFinite(x)) return x > 0 ? 'inf' : '-inf';
  const [digits, power] = /** @type {[string, string]} */ (x.toExponential().split('e'));
  const exponent = Number(power);
  return x === 0 || (exponent >= -4 && exponent < 16) ? String(x) : digits + powerOf(exponent);
}

/** A measured number as Python writes it: a whole one has its point as well. @param {number} x */
export const measured = (x) => (/[.en]/.test(numeral(x)) ? numeral(x) : `${numeral(x)}.0`);

/** A number with six digits that count, as the format "g" has it. @param {number} x */
export function general(x) {
  if (x === 0) return '0';
  const [digits, power] = /** @type {[string, string]} */ (x.toExponential(5).split('e'));
  const exponent = Number(power);
  if (exponent >= -4 && exponent < 6) return trimmed(x.toFixed(5 - exponent));
  return trimmed(digits) + powerOf(exponent);
}

/** @param {string} digits */
const trimmed = (digits) => (digits.includes('.') ? digits.replace(/\.?0+$/, '') : digits);

/** @param {number} exponent */
const powerOf = (exponent) => `e${exponent < 0 ? '-' : '+'}${String(Math.abs(exponent)).padStart(2, '0')}`;
