// @ts-check
/**
 * One point's fields → its answer, and back. Field names: the point's own id for what was seen or
 * read, `<id>.<part>` for the rest; the server's plain forms read the same names.
 *
 * @import { Model } from './engine/types.js'
 */
import { checkAnswer } from './engine/answers.js';
import { checking, readSheet } from './engine/sheet.js';
import { parseQuantity } from './engine/units.js';
import { showReach } from './reach.js';
import { showReading } from './reads.js';
import { empty, fields, inputs, markOf, touched } from './stops.js';

const PARTS = /** @type {const} */ ([['state', 'state'], ['not-seen', 'not_seen'], ['note', 'note']]);

/**
 * The answer that is filled in, checked; undefined if nothing is. Throws FaultsError.
 * @param {Model} model @param {HTMLFieldSetElement} fieldset @returns {Record<string, any> | undefined}
 */
export function answerOf(model, fieldset) {
  const id = fieldset.dataset.point ?? '';
  const point = model.byId.get(id);
  if (!point) throw new Error(`the model has no point ${id}`);
  const filled = fields(fieldset).map(([name, value]) => /** @type {[string, string]} */ ([name, value.trim()]));
  const values = (/** @type {string} */ name) => filled.filter(([n, v]) => n === name && v).map(([, v]) => v);
  const answer = reading(point.json, values);
  if (values(`${id}.unsure`).length) answer.sure = false;
  for (const [part, key] of PARTS) {
    const [said] = values(`${id}.${part}`);
    if (said) answer[key] = said;
  }
  if (Object.keys(answer).every((key) => key === 'sure')) return undefined;
  checkAnswer(model, point, answer);
  return answer;
}

/** @param {any} point @param {(name: string) => string[]} values @returns {Record<string, any>} */
function reading(point, values) {
  const seen = values(point.id);
  if (seen.length === 0) return {};
  if (point.kind === 'measure') {
    const [unit] = values(`${point.id}.unit`);
    const quantity = parseQuantity(seen[0], unit ?? point.unit);
    return { value: quantity.value, unit: quantity.unit };
  }
  if (point.kind === 'serial' || point.kind === 'datecode') return { read: seen[0] };
  if (point.kind === 'pick') return { seen: seen[0] };
  const where = values(`${point.id}.where`);
  return { seen: point.many ? seen : seen[0], ...(where.length ? { where } : {}) };
}

/**
 * Fills the page, point by point. The one on the screen comes last: what was ticked there before is not
 * left standing where nobody has heard of it.
 * @param {HTMLFieldSetElement[]} points @param {Model} model @param {Record<string, any>} document @returns {Generator<void>}
 */
export function* filling(points, model, document) {
  yield* checking(model, document);
  const sheet = readSheet(model, document);
  for (const point of [...points].sort((a, b) => Number(b.hidden) - Number(a.hidden))) {
    yield;
    showReach(point, model, sheet);
    fill(point, model, document.answers ?? {});
    markOf(point);
  }
}

/** Fills a point's fields with its answer. @param {HTMLFieldSetElement} fieldset @param {Model} model @param {Record<string, any>} answers */
export function fill(fieldset, model, answers) {
  const id = fieldset.dataset.point ?? '';
  const said = answers[id] ?? {};
  const unit = model.byId.get(id)?.json.unit ?? '';
  /** @type {[string, string[]][]} */
  const wanted = [
    [id, [said.seen ?? said.read ?? (said.value === undefined ? [] : String(said.value))].flat()],
    [`${id}.unit`, [said.unit ?? unit]],
    [`${id}.unsure`, said.sure === false ? ['1'] : []],
    [`${id}.where`, said.where ?? []],
    ...PARTS.map(([part, key]) => /** @type {[string, string[]]} */ ([`${id}.${part}`, said[key] ? [said[key]] : []])),
  ];
  restore(fieldset, wanted.flatMap(([name, values]) => values.map((value) => /** @type {[string, string]} */ ([name, value]))));
}

/** Puts fields back as they were sent or typed. @param {HTMLFieldSetElement} fieldset @param {[string, string][]} wanted */
export function restore(fieldset, wanted) {
  touched(fieldset);
  const named = new Map(wanted.map(([name]) => [name, wanted.filter(([n]) => n === name).map(([, v]) => v)]));
  for (const input of inputs(fieldset)) {
    const values = named.get(input.name) ?? [];
    if (input.type === 'radio' || input.type === 'checkbox') {
      if (values.length === 0) empty(input);
      else input.checked = values.includes(input.value);
    } else if (input.tagName === 'SELECT') {
      if (values[0]) input.value = values[0];
    } else {
      input.value = values[0] ?? '';
    }
    const details = input.closest('details');
    if (details && values[0]) details.open = true;
  }
  showReading(fieldset);
}
