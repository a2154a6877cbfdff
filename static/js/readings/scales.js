// @ts-check
/**
 * Weight in both systems, and what damp does to it. The same as the Python room `readings` gives;
 * where the formulas come from stands there.
 *
 * @import { Meaning } from './wording.js'
 */
import { capital } from '../engine/datewords.js';
import { unreadable } from '../engine/errors.js';
import { rounded } from '../engine/numbers.js';
import { general, measured as number, shown } from '../engine/text.js';
import { convert, parseQuantity, tenthsOfOunces } from '../engine/units.js';
import { SCHEMES } from './facts.js';
import { fixed, measured } from './wording.js';

const ROOM = 21.1; // °C
const [DRY, DAMP] = [30, 65]; // per cent
const HUMIDITY = /(?:,? ?(?:at|@))? ?([0-9]{1,2}(?:[.,][0-9]+)?) ?%(?: ?RH)?/i;
const HEAVIEST = 1000000; // g

/** @param {string} text */
export function readWeight(text) {
  const found = HUMIDITY.exec(text);
  const rest = found ? text.slice(0, found.index) : text;
  const humidity = found ? Number(found[1].replace(',', '.')) : null;
  if (!/[a-z]/i.test(rest) || (found && text.slice(found.index + found[0].length).trim())) {
    const wants = `a weight with its unit, like ${SCHEMES.weight.example} or 3.74 kg, then a humidity like 45 %`;
    throw unreadable('weight', wants, shown(text), 'Write g, kg, oz or lb after the number.');
  }
  const weight = parseQuantity(rest.replace(/^[ ,]+|[ ,]+$/g, ''), 'kg');
  const grams = convert(weight.value, weight.unit, 'g');
  if (!(grams > 0 && grams <= HEAVIEST)) throw unreadable('weight', 'a weight above 0 and up to 1 t', shown(text), 'Weigh it again.');
  const meanings = [...weights(weight, grams), ...damp(grams, humidity)];
  const says = `${meanings[0].says}, ${meanings[1].says}. ${remark(meanings[meanings.length - 1], humidity)}`;
  return { meanings, floor: null, ceiling: null, says, sources: SCHEMES.weight.sources };
}

/** Of wood at equilibrium, per cent of its dry mass. @param {number} humidity */
function moisture(humidity) {
  const [t, h] = [ROOM, humidity / 100];
  const w = 349 + 1.29 * t + 0.0135 * t ** 2;
  const k = 0.805 + 0.000736 * t - 0.00000273 * t ** 2;
  const k1 = 6.27 - 0.00938 * t - 0.000303 * t ** 2;
  const k2 = 1.91 + 0.0407 * t - 0.000293 * t ** 2;
  const kh = k * h;
  const second = k1 * kh + 2 * k1 * k2 * kh ** 2;
  return (1800 / w) * (kh / (1 - kh) + second / (1 + k1 * kh + k1 * k2 * kh ** 2));
}

/** @param {number} mass @param {number} was @param {number} becomes */
const woodMass = (mass, was, becomes) => (mass * (100 + moisture(becomes))) / (100 + moisture(was));

/** @param {{ value: number, unit: string }} weight @param {number} grams */
function weights({ value, unit }, grams) {
  const tenths = tenthsOfOunces(grams);
  const [pounds, ounces] = [Math.floor(tenths / 160), (tenths % 160) / 10];
  const kilos = convert(value, unit, 'kg');
  return [
    measured('weight', kilos, 'kg', `${fixed(kilos, 3)} kg`),
    measured('weight', convert(value, unit, 'lb'), 'lb', `${pounds} lb ${general(ounces)} oz`, { pounds, ounces }),
  ];
}

/** What wood alone gains from dry to damp air, or its weight at both ends. @param {number} grams @param {number | null} humidity */
function damp(grams, humidity) {
  if (humidity === null) {
    const gain = rounded((woodMass(1, DRY, DAMP) - 1) * 100, 2);
    const says = `wood alone gains ${number(gain)} % from ${DRY} to ${DAMP} % humidity`;
    return [measured('gain of wood', gain, '%', says, { celsius: ROOM })];
  }
  return [DRY, DAMP].map((end) => {
    const kilos = convert(woodMass(grams, humidity, end), 'g', 'kg');
    const says = `${fixed(kilos, 3)} kg at ${end} % humidity, were it all wood`;
    return measured('weight of wood alone', rounded(kilos, 4), 'kg', says, { humidity: end, celsius: ROOM });
  });
}

/** @param {Meaning} last @param {number | null} humidity */
function remark(last, humidity) {
  const told = humidity === null ? last.says : `weighed at ${general(humidity)} %: ${last.says}`;
  return `${capital(told)} (at ${ROOM} °C, after weeks to months; metal gains nothing). Weight dates nothing by itself.`;
}
