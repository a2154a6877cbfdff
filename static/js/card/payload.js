// @ts-check
/**
 * A verdict with its answers as bytes: the very bytes that the Python room `card` writes, without
 * a seal, for no issuer's key is ever on a phone.
 *
 * @import { Answer, Model, Sheet, Verdict } from '../engine/types.js'
 * @import { Fault } from '../engine/errors.js'
 */
import { rint } from '../engine/numbers.js';
import { shown, spaced } from '../engine/text.js';
import { BitWriter, numberOf } from './bits.js';
import { CardError, noCard } from './errors.js';
import { carriedAnswers, writeSlots } from './slots.js';
import * as tables from './tables.js';

const MINUTE = 60000;
const MARK_PLACES = Object.keys(tables.MARK_PLACES);
const MARK_KINDS = Object.keys(tables.MARK_KINDS);

/**
 * What the code carries. Months are numbers; `issued` counts minutes from 2020.
 * @typedef {object} Card
 * @property {number} rules
 * @property {string} reference  the first 8 bytes of the hash, as 16 hex digits
 * @property {[number, number]} claimed
 * @property {[number, number]} reads_as
 * @property {string} verdict
 * @property {number} found
 * @property {number} declared
 * @property {number} number
 * @property {number} issued
 * @property {string} interest
 * @property {boolean} nothing_changed
 * @property {string} access
 * @property {string} serial_text
 * @property {{ place: string, kind: string, mm: number }[]} marks
 * @property {string[]} disclosures
 * @property {Map<string, Answer>} answers
 */

/**
 * The card for a verdict; CardError where it has no room or no word for something. `issued` is cut
 * to the minute; `interest`: one of INTERESTS; `number` counts this issuer's cards for this serial.
 * @param {Model} model @param {Sheet} sheet @param {Verdict} verdict
 * @param {{ issued: Date, interest: string, number?: number }} more @returns {Card}
 */
export function cardOf(model, sheet, verdict, { issued, interest, number = 1 }) {
  const card = {
    rules: verdict.rules,
    reference: model.json.hash.slice(0, 2 * tables.PREFIX),
    claimed: sheet.claimed,
    reads_as: /** @type {[number, number]} */ ([verdict.reads_as[0][0], verdict.reads_as[verdict.reads_as.length - 1][1]]),
    verdict: verdict.verdict,
    found: [...verdict.flagged, ...verdict.odd].filter((id) => !verdict.declared.includes(id)).length,
    declared: verdict.declared.length,
    number,
    issued: Math.floor((issued.getTime() - tables.EPOCH) / MINUTE),
    interest,
    nothing_changed: sheet.nothing_changed,
    access: sheet.access,
    serial_text: spaced(sheet.serial_text),
    marks: sheet.marks.map((mark) => ({ ...mark, mm: rint(mark.mm) })),
    disclosures: tables.DISCLOSURES.filter((term) => sheet.disclosures.includes(term)),
    answers: carriedAnswers(model, sheet),
  };
  check(card);
  return card;
}

/** The time of issue as it can be shown. @param {Card} card */
export const issuedAt = (card) => new Date(tables.EPOCH + card.issued * MINUTE);

/** What no front can say, all at once. @param {Card} card */
function check(card) {
  /** @type {Fault[]} */
  const faults = [];
  const remedy = 'No card can say this: correct it.';
  if (!(card.number > 0)) faults.push({ where: 'number', expected: 'a number from 1', came: shown(card.number), remedy });
  if (card.marks.length > tables.MOST_MARKS) {
    faults.push({ where: 'marks', expected: `at most ${tables.MOST_MARKS} marks`, came: shown(card.marks.length), remedy });
  }
  if (faults.length) throw new CardError(faults);
}

/** The one encoding of a card. @param {Model} model @param {Card} card @returns {Uint8Array} */
export function encode(model, card) {
  const bits = new BitWriter();
  writeFront(card, bits);
  writeSlots(model, card.answers, card.serial_text, bits);
  const data = bits.data();
  if (data.length + tables.SEAL_BYTES > tables.LARGEST) {
    const expected = `at most ${tables.LARGEST - tables.SEAL_BYTES} bytes, so that a seal fits`;
    const remedy = 'The reference has too many points for one code; keep the answers in the book.';
    throw noCard('card', expected, String(data.length), remedy);
  }
  return data;
}

/** @param {Card} card @param {BitWriter} bits */
function writeFront(card, bits) {
  const numbers = numbersOf(card);
  for (const [field, width] of Object.entries(tables.WIDTHS)) bits.put(numbers[field], width, field);
  bits.putText(card.serial_text, 'serial_text');
  bits.put(card.marks.length, tables.BITS['mark count'], 'marks');
  for (const mark of card.marks) {
    bits.putChoice(mark.place, MARK_PLACES, tables.BITS.place, 'marks.place');
    bits.putChoice(mark.kind, MARK_KINDS, tables.BITS.kind, 'marks.kind');
    bits.put(mark.mm, tables.BITS.mm, 'marks.mm');
  }
  writeDisclosures(card.disclosures, bits);
}

/** Each field of fixed width as its number. @param {Card} card @returns {Record<string, number | bigint>} */
function numbersOf(card) {
  return {
    format: tables.FORMAT,
    sealed: 0,
    rules: card.rules,
    reference: BigInt(`0x${card.reference}`),
    'claimed from': card.claimed[0] - tables.FIRST_MONTH,
    'claimed to': card.claimed[1] - tables.FIRST_MONTH,
    'reads as from': card.reads_as[0] - tables.FIRST_MONTH,
    'reads as to': card.reads_as[1] - tables.FIRST_MONTH,
    verdict: numberOf(card.verdict, tables.VERDICTS, 'verdict'),
    found: card.found,
    declared: card.declared,
    number: card.number,
    issued: card.issued,
    interest: numberOf(card.interest, tables.INTERESTS, 'interest'),
    'nothing changed': Number(card.nothing_changed),
    access: numberOf(card.access, tables.ACCESS, 'access'),
  };
}

/** A bit set in blocks of 8, as many as the last one told of needs: terms can be added. @param {string[]} ids @param {BitWriter} bits */
function writeDisclosures(ids, bits) {
  const rows = ids.map((term) => numberOf(term, tables.DISCLOSURES, 'disclosures'));
  const size = tables.BITS.block;
  const blocks = Math.floor(Math.max(-1, ...rows) / size) + 1;
  bits.put(blocks, tables.BITS['block count'], 'disclosures');
  bits.putFlags(Array.from({ length: blocks * size }, (_, row) => rows.includes(row)), 'disclosures');
}
