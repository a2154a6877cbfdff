// @ts-check
/**
 * Resistance of a coil at 20 °C, and how much wire and how many turns it may be. The same as the
 * Python room `readings` gives; where the formulas come from stands there.
 *
 * @import { Meaning } from './wording.js'
 */
import { unreadable } from '../engine/errors.js';
import { rint, rounded } from '../engine/numbers.js';
import { shown, strip } from '../engine/text.js';
import { convert, parseQuantity } from '../engine/units.js';
import { SCHEMES } from './facts.js';
import { fixed, measured, statusOf, statusWords, thousands } from './wording.js';

/** @typedef {{ ohms: number, celsius: number, gauge: number | null, turn: number | null }} Coil */

const RESISTIVITY = 1 / 58; // of copper at 20 °C, ohm mm²/m
const COEFFICIENT = 0.00393; // of copper at 20 °C, per kelvin
const MIL = 0.0254; // mm
const TEMPERATURE = /(?:at |@ ?)?(-?[0-9]{1,3}(?:[.,][0-9]+)?) ?(?:°|deg)? ?([CF])\b/i;
const GAUGE = /\b(?:([0-9]{2}) ?(?:awg|ga(?:uge)?)|awg ?([0-9]{2}))\b/i;
const TURN = /([0-9.,]+ ?(?:mm|in))(?: ?(?:a|per|\/) ?turn)?(?=[ ,;]|$)/i;
const GAPS = /[,;]? +|[,; ]+$/g;
const [FIRST_GAUGE, LAST_GAUGE] = [30, 50];

/** @param {string} text */
export function readResistance(text) {
  const coil = parsed(text);
  const cold = coil.ohms / (1 + COEFFICIENT * (coil.celsius - 20));
  const says = `${thousands(coil.ohms)} ohm at ${fixed(coil.celsius, 1)} °C are ${thousands(cold)} ohm at 20 °C`;
  const more = { measured_ohm: coil.ohms, celsius: rounded(coil.celsius, 2) };
  const meanings = [measured('resistance at 20 °C', rounded(cold, 2), 'ohm', says, more)];
  if (coil.gauge !== null) meanings.push(...wire(cold, coil, coil.gauge, false), ...wire(cold, coil, coil.gauge, true));
  return { meanings, floor: null, ceiling: null, says: told(meanings, coil), sources: SCHEMES.resistance.sources };
}

/** @param {string} text @returns {Coil} */
function parsed(text) {
  const [first, warm] = taken(text, TEMPERATURE);
  const [second, wound] = taken(first, GAUGE);
  const [third, around] = taken(second, TURN);
  const rest = strip(third.replace(GAPS, ' '));
  if (!warm || !/[a-zΩ\u2126ω]/i.test(rest)) throw refused(text);
  const degrees = Number(warm[1].replace(',', '.'));
  const celsius = warm[2].toUpperCase() === 'F' ? (degrees - 32) / 1.8 : degrees;
  const gauge = wound ? Number(wound[1] ?? wound[2]) : null;
  const ohms = inUnit(rest, 'ohm');
  const turn = around ? inUnit(around[1], 'mm') : null;
  const wires = gauge === null || (gauge >= FIRST_GAUGE && gauge <= LAST_GAUGE);
  const fits = celsius >= -30 && celsius <= 60 && ohms > 0 && wires;
  if (!fits || turn === 0 || (turn !== null && gauge === null)) throw refused(text);
  return { ohms, celsius, gauge, turn };
}

/** @param {string} text @param {string} unit */
function inUnit(text, unit) {
  const quantity = parseQuantity(text, unit);
  return convert(quantity.value, quantity.unit, unit);
}

/** The text without the first thing of this form, and that. @param {string} text @param {RegExp} pattern @returns {[string, RegExpExecArray | null]} */
function taken(text, pattern) {
  const found = pattern.exec(text);
  return found ? [text.slice(0, found.index) + text.slice(found.index + found[0].length), found] : [text, null];
}

/** @param {string} text */
function refused(text) {
  const wants =
    "a resistance with its unit and the coil's temperature from -30 to 60 °C, then a gauge " +
    `from ${FIRST_GAUGE} to ${LAST_GAUGE} AWG and the mean length of a turn, like ${SCHEMES.resistance.example}`;
  return unreadable('resistance', wants, shown(text), 'Write the temperature in C or F; a length of turn needs a gauge.');
}

/** Of a bare wire, mm. @param {number} gauge @param {boolean} toMil */
function diameter(gauge, toMil) {
  const exact = 0.127 * 92 ** ((36 - gauge) / 39);
  return toMil ? rounded(exact / MIL, 1) * MIL : exact;
}

/** Length of wire and turns by one convention of the gauge. @param {number} cold @param {Coil} coil @param {number} gauge @param {boolean} toMil */
function wire(cold, { turn }, gauge, toMil) {
  const how = toMil ? 'rounded to 0.1 mil' : 'unrounded';
  const thick = diameter(gauge, toMil);
  const metres = cold / (RESISTIVITY / ((Math.PI / 4) * thick ** 2));
  const of = `${gauge} AWG, diameter ${how} (${fixed(thick, 4)} mm)`;
  const more = { gauge, diameter: how, status: 'computed' };
  const found = [measured('length of wire', rounded(metres, 1), 'm', `${of}: ${thousands(metres)} m`, more)];
  if (turn) {
    const turns = (metres * 1000) / turn;
    found.push(measured('turns', rint(turns), 'turns', `${of}: ${thousands(turns)} turns of ${fixed(turn, 1)} mm`, more));
  }
  return found;
}

/** @param {Meaning[]} meanings @param {Coil} coil */
function told(meanings, { gauge, turn }) {
  const words = [`${meanings[0].says}, for copper (coefficient ${statusWords([statusOf('checked')])}).`];
  if (gauge !== null) {
    const values = meanings.filter(({ what }) => what === (turn ? 'turns' : 'length of wire')).map(({ value }) => Number(value));
    const size = turn ? `turns of ${fixed(turn, 1)} mm` : 'm of wire';
    words.push(
      `Some ${thousands(Math.min(...values))} to ${thousands(Math.max(...values))} ${size}, by both ways of ${gauge} AWG.`,
      'An estimate: wire as wound is stretched and off its gauge by more than that.',
    );
  }
  return words.join(' ');
}
