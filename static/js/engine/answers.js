// @ts-check
/**
 * One answer, checked against its point, in the point's own terms.
 *
 * @import { Answer, Model, Point } from './types.js'
 * @import { Named } from './fields.js'
 */
import { readCode } from './codes.js';
import { AnswerError, ReadingError, refusal } from './errors.js';
import { Gather, digits, finite, flag, get, givenOf, mapping, oneOf, onlyKnown, text, texts } from './fields.js';
import { r9, rounded } from './numbers.js';
import { serialNumber } from './serials.js';
import { shown, strip } from './text.js';
import { convert, parseQuantity } from './units.js';

/** @type {Record<string, string>} */
const FIELD = { pick: 'seen', sign: 'seen', measure: 'value', serial: 'read', datecode: 'read' };
const READINGS = ['seen', 'value', 'read'];
const KNOWN = ['seen', 'value', 'unit', 'read', 'sure', 'state', 'not_seen', 'note', 'where', 'photos'];
const ENOUGH = [...READINGS, 'state', 'not_seen', 'note', 'photos'];

/** @returns {Answer} */
export const nothing = () => ({
  seen: [],
  value: null,
  read: null,
  sure: true,
  state: null,
  not_seen: null,
  note: '',
  where: [],
  months: [],
  number: -1,
});

/** Whether something was read off the part itself. @param {Answer} answer */
export const hasReading = (answer) => answer.seen.length > 0 || answer.value !== null || answer.read !== null;

/** Whether the point counts as looked at. @param {Answer | undefined} answer */
export const looked = (answer) => answer !== undefined && (hasReading(answer) || answer.state !== null);

/**
 * A measured value as one of the steps of its span, as a card holds it.
 * @param {Model} model @param {Point} point @param {number} value
 */
export function measureStep(model, point, value) {
  const [low, high] = spanOf(point);
  const steps = model.rules.measure_steps;
  const ratio = rounded(((value - low) / (high - low)) * steps, model.rules.step_decimals);
  return Math.min(steps, Math.max(0, Math.floor(ratio + 0.5)));
}

/**
 * The value, in the point's unit, that a step stands for.
 * @param {Model} model @param {Point} point @param {number} step
 */
export function measureValue(model, point, step) {
  const [low, high] = spanOf(point);
  return low + (step * (high - low)) / model.rules.measure_steps;
}

/** @param {Point} point */
export const spanOf = (point) => point.json.span ?? [0, 1];

/**
 * One answer, checked; AnswerError names the fields of answers.<point>.
 * @param {Model} model @param {Point} point @param {unknown} answer @returns {Answer}
 */
export function checkAnswer(model, point, answer) {
  const where = `answers.${point.id}`;
  const given = mapping(answer, where);
  const field = FIELD[point.json.kind];
  if (!givenOf(given, ...ENOUGH).length && Object.keys(given).every((key) => KNOWN.includes(key))) {
    throw refusal(
      where,
      `${field}, state or not_seen`,
      shown(answer),
      'Say what was seen, or why it was not; leave the point out if nobody looked.',
    );
  }
  const checked = nothing();
  const gather = new Gather();
  for (const read of [knownKeys, plainFields, checkFields, readState, readNotSeen, READERS[point.json.kind]]) {
    Object.assign(checked, gather.take(() => read(model, point, given, where), {}));
  }
  gather.check();
  return checked;
}

/** @typedef {(model: Model, point: Point, given: Named, where: string) => Partial<Answer>} Reader */

/** @type {Reader} */
function knownKeys(_model, _point, given, where) {
  onlyKnown(given, KNOWN, where);
  return {};
}

/** @type {Reader} */
function plainFields(_model, _point, given, where) {
  return {
    sure: flag(given, 'sure', `${where}.sure`, true),
    note: text(given, 'note', `${where}.note`),
    where: texts(given, 'where', `${where}.where`),
  };
}

/** Refuse an answer of another kind of point, and one that was seen and not seen. @type {Reader} */
function checkFields(_model, point, given, where) {
  const { kind } = point.json;
  for (const field of givenOf(given, ...READINGS)) {
    if (field !== FIELD[kind]) {
      const expected = `"${FIELD[kind]}", as this point is a ${kind}`;
      throw refusal(`${where}.${field}`, expected, shown(field), `Give the answer as "${FIELD[kind]}".`);
    }
  }
  if (givenOf(given, 'not_seen').length && givenOf(given, ...READINGS, 'state').length) {
    throw refusal(`${where}.not_seen`, 'an answer or a reason for none', 'both', 'Take one of them out.');
  }
  return {};
}

/** @type {Reader} */
function readState(model, point, given, where) {
  const value = get(given, 'state');
  if (value === undefined) return {};
  const at = `${where}.state`;
  const { kind } = point.json;
  if (kind === 'sign') {
    throw refusal(at, 'no state, as this point is a sign', shown(value), 'Put the state on the part itself.');
  }
  const state = oneOf(value, Object.keys(model.rules.states).filter(Boolean), at);
  if (state !== 'changed' && !givenOf(given, ...READINGS).length) {
    const expected = `"${FIELD[kind]}" beside the state "${state}"`;
    throw refusal(at, expected, 'the state alone', 'Say what the part is; only "changed" may stand alone.');
  }
  return { state };
}

/** @type {Reader} */
function readNotSeen(model, _point, given, where) {
  const value = get(given, 'not_seen');
  return value === undefined ? {} : { not_seen: oneOf(value, model.rules.not_seen, `${where}.not_seen`) };
}

/** @type {Reader} */
function readSeen(_model, point, given, where) {
  const value = get(given, 'seen');
  if (value === undefined) return {};
  const at = `${where}.seen`;
  /** @type {unknown[]} */
  const several = Array.isArray(value) && point.json.kind === 'sign' ? value : [value];
  const allowed = [...point.seen.map((variant) => variant.id), 'other'];
  const seen = several.map((one) => oneOf(one, allowed, at));
  const most = point.json.many ? allowed.length : 1;
  if (seen.length < 1 || seen.length > most || new Set(seen).size < seen.length) {
    const expected = point.json.many ? 'one or more, each once' : 'exactly one';
    throw refusal(at, expected, shown(value), 'Tick what was seen.');
  }
  return { seen };
}

/** @type {Reader} */
function readValue(_model, point, given, where) {
  const value = get(given, 'value');
  if (value === undefined) return {};
  const home = point.json.unit ?? '';
  const unit = text(given, 'unit', `${where}.unit`, home);
  const size = retold(`${where}.value`, () => {
    if (typeof value !== 'string') return convert(finite(value, `${where}.value`), unit, home);
    const quantity = parseQuantity(value, unit); // as it was typed: "15/16", "23,8 mm"
    return convert(quantity.value, quantity.unit, home);
  });
  const [low, high] = spanOf(point);
  if (!(r9(low) <= r9(size) && r9(size) <= r9(high))) {
    const expected = `${digits(low)} to ${digits(high)} ${home}`;
    throw refusal(`${where}.value`, expected, shown(`${digits(size)} ${home}`), 'Measure again; check the unit.');
  }
  return { value: size };
}

/** @type {Reader} */
function readSerial(_model, point, given, where) {
  if (!givenOf(given, 'read').length) return {};
  const read = strip(text(given, 'read', `${where}.read`));
  const { pattern } = point;
  if (pattern && !pattern.matches(read)) {
    const remedy = 'Read it again; note it in words if it has another form.';
    throw refusal(`${where}.read`, `a serial such as ${pattern.example}`, shown(read), remedy);
  }
  return { read, number: serialNumber(read) };
}

/** @type {Reader} */
function readDatecode(_model, point, given, where) {
  if (!givenOf(given, 'read').length) return {};
  const read = strip(text(given, 'read', `${where}.read`));
  const { months } = retold(`${where}.read`, () => readCode(point.json.scheme ?? '', read));
  return { read, months };
}

/** @type {Record<string, Reader>} */
const READERS = { pick: readSeen, sign: readSeen, measure: readValue, serial: readSerial, datecode: readDatecode };

/**
 * A reading whose faults name the answer's field.
 * @template T @param {string} where @param {() => T} read @returns {T}
 */
function retold(where, read) {
  try {
    return read();
  } catch (error) {
    if (!(error instanceof ReadingError)) throw error;
    throw new AnswerError(error.faults.map((fault) => ({ ...fault, where })));
  }
}
