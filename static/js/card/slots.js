// @ts-check
/**
 * The back of a card: what was answered at each point, one slot a point, in file order.
 *
 * @import { Answer, Model, Point, Sheet } from '../engine/types.js'
 * @import { BitWriter } from './bits.js'
 */
import { hasReading, measureStep, measureValue } from '../engine/answers.js';
import { spaced } from '../engine/text.js';
import { widthFor } from './bits.js';
import { BITS, OPENINGS, REASONS, SIGN_PLACES, STATES } from './tables.js';

/** @param {Point} point */
const choicesOf = (point) => [...point.seen.map((variant) => variant.id), 'other'];

/**
 * What a card carries of a checked answer: measures in steps, date codes in capitals with single
 * blanks, ticks in file order; no notes, and no places but those of signs.
 * @param {Model} model @param {Point} point @param {Answer} answer @returns {Answer}
 */
export function carried(model, point, answer) {
  const { kind } = point.json;
  const read = hasReading(answer);
  return {
    ...answer,
    seen: choicesOf(point).filter((one) => answer.seen.includes(one)),
    value: answer.value === null ? null : measureValue(model, point, measureStep(model, point, answer.value)),
    read: answer.read && kind === 'datecode' ? spaced(answer.read.toUpperCase()) : answer.read,
    sure: answer.sure || !read,
    note: '',
    where: kind === 'sign' && read ? SIGN_PLACES.filter((place) => answer.where.includes(place)) : [],
  };
}

/** The answers as a card carries them, in the reference's order. @param {Model} model @param {Sheet} sheet @returns {Map<string, Answer>} */
export function carriedAnswers(model, sheet) {
  const found = new Map();
  for (const point of model.points) {
    const answer = sheet.answers.get(point.id);
    if (answer && (hasReading(answer) || answer.state || answer.not_seen)) found.set(point.id, carried(model, point, answer));
  }
  return found;
}

/**
 * Write a slot for each point.
 * @param {Model} model @param {Map<string, Answer>} answers  as carried @param {string} serial  on the front @param {BitWriter} bits
 */
export function writeSlots(model, answers, serial, bits) {
  for (const point of model.points) {
    const answer = answers.get(point.id);
    if (!answer) {
      bits.put(OPENINGS['not looked at'], BITS.opening, point.id);
    } else if (!hasReading(answer)) {
      bits.put(OPENINGS['no answer'], BITS.opening, point.id);
      bits.putChoice(answer.not_seen || (answer.state ?? ''), REASONS, BITS.reason, point.id);
    } else {
      writeOpening(answer, bits, point.id);
      WAYS[point.json.kind]({ model, point, serial }, answer, bits);
    }
  }
}

/** @param {Answer} answer @param {BitWriter} bits @param {string} where */
function writeOpening(answer, bits, where) {
  if (answer.sure && answer.state === null) {
    bits.put(OPENINGS.sure, BITS.opening, where);
    return;
  }
  bits.put(OPENINGS.more, BITS.opening, where);
  bits.put(Number(!answer.sure), BITS.unsure, where);
  bits.putChoice(answer.state, STATES, BITS.state, where);
}

/** Where an answer goes: its point, and the serial on the front, which it may repeat. @typedef {{ model: Model, point: Point, serial: string }} Slot */
/** @typedef {(slot: Slot, answer: Answer, bits: BitWriter) => void} Way */

/** @type {Way} */
function writePick({ point }, answer, bits) {
  const choices = choicesOf(point);
  bits.putChoice(answer.seen[0], choices, widthFor(choices.length), point.id);
}

/** @type {Way} */
function writeSign(slot, answer, bits) {
  const { point } = slot;
  if (point.json.many) bits.putFlags(choicesOf(point).map((one) => answer.seen.includes(one)), point.id);
  else writePick(slot, answer, bits);
  bits.putFlags([answer.where.length > 0], point.id);
  if (answer.where.length) bits.putFlags(SIGN_PLACES.map((place) => answer.where.includes(place)), point.id);
}

/** @type {Way} */
function writeMeasure({ model, point }, answer, bits) {
  bits.put(measureStep(model, point, answer.value ?? 0), BITS.measure, point.id);
}

/** @type {Way} */
function writeSerial(slot, answer, bits) {
  const same = answer.read === slot.serial;
  bits.putFlags([same], slot.point.id);
  if (!same) writeCode(slot, answer, bits);
}

/** @type {Way} */
function writeCode({ point }, answer, bits) {
  bits.putText(answer.read ?? '', point.id);
}

/** How the answers of one kind of point are written. @type {Record<string, Way>} */
const WAYS = { pick: writePick, sign: writeSign, measure: writeMeasure, serial: writeSerial, datecode: writeCode };
