// @ts-check
/**
 * From a document of answers to a sheet: every answer checked, in the reference's own terms.
 * Nothing downstream checks again. Keys at the top that are not known are ignored; inside an answer
 * they are refused: "stat" for "state" would change the verdict.
 *
 * @import { Access, Answer, Model, Point, Sheet } from './types.js'
 * @import { Months } from './months.js'
 * @import { Named } from './fields.js'
 */
import { checkAnswer } from './answers.js';
import { refusal } from './errors.js';
import { Gather, finite, flag, get, list, mapping, oneOf, text, texts } from './fields.js';
import { parseMonth, runWords } from './months.js';
import { measured, plain, shown } from './text.js';

/** What the owner allows, in rising order. @type {Access[]} */
export const ACCESS = ['look', 'handle', 'open'];

const LIKE = '{"reference": "…", "window": ["…", "…"], "answers": {}}';

/**
 * The checked answers of a document; `window` stands in place of its own claim.
 * @param {Model} model @param {unknown} given @param {Months | null} window @returns {Sheet}
 */
export function readSheet(model, given, window = null) {
  const document = mapping(given, 'document', LIKE);
  const gather = new Gather();
  gather.take(() => checkReference(model, document), undefined);
  const claimed = gather.take(() => checkedWindow(model, window ?? readWindow(document)), model.covers);
  const sheet = {
    claimed,
    window: within(claimed, model.covers),
    claim_words: gather.take(() => text(claimOf(document), 'words', 'claim.words'), ''),
    nothing_changed: gather.take(() => flag(claimOf(document), 'nothing_changed', 'claim.nothing_changed', false), false),
    access: gather.take(() => readAccess(document), 'open'),
    tools: gather.take(() => readTools(document), null),
    serial_text: gather.take(() => text(document, 'serial_text', 'serial_text'), ''),
    marks: gather.take(() => list(document, 'marks', 'marks').map(readMark), []),
    disclosures: gather.take(() => readDisclosures(model, document), []),
    answers: readAnswers(model, document, gather),
  };
  gather.check();
  return sheet;
}

/** @param {Months} claimed @param {Months} covers @returns {Months} */
const within = (claimed, covers) => [Math.max(covers[0], claimed[0]), Math.min(covers[1], claimed[1])];

/** @param {Model} model @param {Named} document */
function checkReference(model, document) {
  const given = get(document, 'reference');
  if (given !== model.json.id) {
    throw refusal('reference', `"${model.json.id}"`, shown(given), 'Judge the answers with the reference they were given for.');
  }
}

/** @param {Named} document @returns {Months} */
function readWindow(document) {
  const window = get(document, 'window');
  if (!Array.isArray(window) || window.length !== 2) {
    throw refusal(
      'window',
      'first and last month claimed, like ["1953-03", "1953-05"]',
      shown(window),
      'Give both, the same month twice where one month is claimed.',
    );
  }
  return [parseMonth(plain(window[0]), 'window'), parseMonth(plain(window[1]), 'window')];
}

/** @param {Model} model @param {Months} claimed */
function checkedWindow(model, claimed) {
  const came = shown(runWords(claimed));
  if (claimed[0] > claimed[1]) throw refusal('window', 'the first month before the last', came, 'Swap the two months.');
  if (claimed[1] < model.covers[0] || claimed[0] > model.covers[1]) {
    throw refusal(
      'window',
      `months within ${runWords(model.covers)}`,
      came,
      'Claim at least one month that the reference covers, or take another reference.',
    );
  }
  return claimed;
}

/** @param {Named} document */
function claimOf(document) {
  const claim = get(document, 'claim');
  const empty = !claim || (typeof claim === 'object' && !Object.keys(claim).length);
  return mapping(empty ? {} : claim, 'claim');
}

/** What the owner allows; where nobody said, nothing is ruled out, as with tools. @param {Named} document */
const readAccess = (document) => /** @type {Access} */ (oneOf(get(document, 'access') ?? 'open', ACCESS, 'access'));

/** @param {Named} document */
const readTools = (document) => (get(document, 'tools') === undefined ? null : new Set(texts(document, 'tools', 'tools')));

/** @param {unknown} value @param {number} index */
function readMark(value, index) {
  const where = `marks.${index}`;
  const mark = mapping(value, where);
  const mm = finite(Object.hasOwn(mark, 'mm') ? mark.mm : 0, `${where}.mm`);
  if (mm < 0) throw refusal(`${where}.mm`, '0 or more', shown(measured(mm)), 'Measure it again.');
  return { place: text(mark, 'place', `${where}.place`), kind: text(mark, 'kind', `${where}.kind`), mm };
}

/** @param {Model} model @param {Named} document */
function readDisclosures(model, document) {
  const known = Object.keys(model.json.disclosures);
  return texts(document, 'disclosures', 'disclosures').map((one) => oneOf(one, known, 'disclosures'));
}

/**
 * What was checked before, with the point that it was checked against: of all answers a tap makes one
 * anew. A document is not changed once it was given.
 * @type {WeakMap<object, { point: Point, answer: Answer }>}
 */
const CHECKED = new WeakMap();

/** @param {Model} model @param {Point} point @param {unknown} given */
function checked(model, point, given) {
  const key = /** @type {object} */ (given); // whatever else it is, nothing is kept under it: it is refused
  const known = CHECKED.get(key);
  if (known?.point === point) return known.answer;
  const answer = checkAnswer(model, point, given);
  CHECKED.set(key, { point, answer });
  return answer;
}

/**
 * Checks the answers of a document one by one, so that it is read at once afterwards; it says of none
 * whether it is as it should be.
 * @param {Model} model @param {unknown} given @returns {Generator<void>}
 */
export function* checking(model, given) {
  const { answers } = /** @type {{ answers?: Named }} */ (given);
  for (const point of model.points) {
    yield;
    if (answers && Object.hasOwn(answers, point.id)) new Gather().take(() => checked(model, point, answers[point.id]), null);
  }
}

/** @param {Model} model @param {Named} document @param {Gather} gather */
function readAnswers(model, document, gather) {
  const given = gather.take(() => mapping(get(document, 'answers'), 'answers'), {});
  for (const id of Object.keys(given)) {
    if (!model.byId.has(id)) {
      gather.faults.push({
        where: `answers.${id}`,
        expected: `a point of ${model.json.id}`,
        came: shown(id),
        remedy: 'Check the spelling, or take the edition that has this point.',
      });
    }
  }
  /** @type {Map<string, Answer>} */
  const answers = new Map();
  for (const point of model.points) {
    if (!Object.hasOwn(given, point.id)) continue;
    const answer = gather.take(() => checked(model, point, given[point.id]), null);
    if (answer) answers.set(point.id, answer);
  }
  return answers;
}
