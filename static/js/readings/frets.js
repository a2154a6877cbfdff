// @ts-check
/**
 * Scale length and frets from the distance of one fret, in equal temperament and by the rule of 18.
 * The same as the Python room `readings` gives.
 */
import { unreadable } from '../engine/errors.js';
import { rounded } from '../engine/numbers.js';
import { measured as number, shown } from '../engine/text.js';
import { convert, parseQuantity } from '../engine/units.js';
import { SCHEMES } from './facts.js';
import { fixed, measured } from './wording.js';

const FORM = /^(?:fret )?([0-9]{1,2})(?:st|nd|rd|th)?(?: fret)?[ :,=]{1,2}(.+)$/i;
const MOST = 36;
const SHOWN = 24;
const MISS_MM = 0.5;

/** @param {number} scale @param {number} fret */
const fretAt = (scale, fret) => scale * (1 - 2 ** (-fret / 12));

/** @param {string} text */
export function readScale(text) {
  const [, digits = '0', written = ''] = FORM.exec(text) ?? [];
  const fret = Number(digits);
  if (fret < 1 || fret > MOST || !/[^0-9., /-]/.test(written)) {
    const wants = `a fret from 1 to ${MOST} and its distance from the nut with its unit, like ${SCHEMES['scale-length'].example} or 7 215.4 mm`;
    throw unreadable('scale-length', wants, shown(text), "Measure from the nut's edge to the middle of the fret.");
  }
  const { value, unit } = parseQuantity(written, 'mm');
  const distance = convert(value, unit, 'mm');
  if (!(distance > 0 && distance < 5000)) {
    throw unreadable('scale-length', 'a distance above 0 and under 5 m', shown(text), 'Measure again.');
  }
  const scale = distance / fretAt(1, fret);
  const meanings = meaningsOf(scale, distance / (1 - (17 / 18) ** fret));
  const says =
    `${meanings[0].says}, if fret ${fret} lies at ${fixed(distance, 2)} mm in equal temperament. ` +
    `A slip of ${number(MISS_MM)} mm in measuring makes ${fixed(MISS_MM / fretAt(1, fret), 1)} mm. ` +
    'The string itself is a little longer, as saddles are set back.';
  return { meanings, floor: null, ceiling: null, says, sources: SCHEMES['scale-length'].sources };
}

/** @param {number} scale @param {number} by18 */
const meaningsOf = (scale, by18) => [
  length('scale length', scale, 'Scale length'),
  length('scale length by the rule of 18', by18, 'by the rule of 18 (common practice, no source):'),
  ...Array.from({ length: SHOWN }, (_, at) => length('fret', fretAt(scale, at + 1), `fret ${at + 1}:`, { fret: at + 1 })),
];

/** @param {string} what @param {number} mm @param {string} says @param {Record<string, unknown>} [more] */
function length(what, mm, says, more = {}) {
  const inches = convert(mm, 'mm', 'in');
  const words = `${says} ${fixed(mm, 2)} mm (${fixed(inches, 3)} in)`;
  return measured(what, rounded(mm, 3), 'mm', words, { inches: rounded(inches, 4), ...more });
}
