// @ts-check
/**
 * The lifelines as numbers: for every point, when each of its variants was fitted, and what was seen.
 *
 * One row a point, one band a variant. At each month the bands share the row's height as the variants
 * shared the month's output. Coordinates: x in months from the start of the reference, y from 0 to
 * 100; the drawing is stretched to its place. The same numbers as on the server's page.
 *
 * @import { Answer, Model, Point, Sheet, Verdict } from './engine/types.js'
 * @import { Months } from './engine/months.js'
 */
import { runWords } from './engine/months.js';
import { rint, rounded } from './engine/numbers.js';
import { general } from './engine/text.js';
import { answerWords, fittedWords, pointWords } from './telling.js';
import { ASSEMBLY_WORDS, LEANING_WORDS } from './words.js';

const HEIGHT = 100;
const VISIBLE = 0.01; // a band thinner than one per cent of the row is not drawn
const TONES = 9; // shades of the strip of months
const TICKS = [1, 2, 5, 10]; // years between two labels
const MOST_LABELS = 6; // that stand side by side on a 320 px screen
const LAST_LABEL = 92; // per cent; a label further right would stand out of the drawing

/** Start and width in per cent of the drawing's. @typedef {[number, number]} Span */
/** `seen`: how far it is what was seen, 0 to 1; `middle`, `width`: per cent. @typedef {{ label: string, fitted: string, path: string, seen: number, middle: number, width: number }} Band */
/** `marks`: the months of a date code. @typedef {{ name: string, bands: Band[], seen: string, finding: string, leaning: string, marks: Span[] }} Row */
/** The rows of one assembly. @typedef {{ name: string, rows: Row[], apart: string }} Group */
/**
 * @typedef {object} Chart
 * @property {number} months
 * @property {[number, string][]} ticks  place in per cent, and a label or none
 * @property {Span} window
 * @property {string} claimed
 * @property {[number, number, number][]} strip  first month, months, tone 1 to 9
 * @property {Span[]} reads_as
 * @property {Group[]} groups
 */

/** Every witness that was looked at, by assembly. @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @returns {Chart} */
export function chartOf(model, sheet, verdict) {
  return {
    months: model.months,
    ticks: ticksOf(model),
    window: spanOf(model, verdict.window),
    claimed: runWords(verdict.claimed),
    strip: stripOf(verdict.posterior),
    reads_as: verdict.reads_as.map((run) => spanOf(model, run)),
    groups: groupsOf(model, sheet, verdict),
  };
}

/** @param {Model} model @returns {[number, string][]} */
function ticksOf({ covers: [first, last], months }) {
  const years = Array.from({ length: Math.floor(last / 12) - Math.floor(first / 12) + 1 }, (_, i) => Math.floor(first / 12) + i);
  const step = TICKS.find((each) => years.length / each <= MOST_LABELS) ?? TICKS[TICKS.length - 1];
  return years
    .map((year) => /** @type {[number, number]} */ ([year, ((12 * year - first) / months) * 100]))
    .filter(([, x]) => x >= 0)
    .map(([year, x]) => [x, year % step === 0 && x < LAST_LABEL ? String(year) : '']);
}

/** @param {Model} model @param {Months} run @returns {Span} */
const spanOf = (model, run) => [
  ((run[0] - model.covers[0]) / model.months) * 100,
  ((run[1] - run[0] + 1) / model.months) * 100,
];

/** Runs of months of one tone; darker where the parts speak more. @param {Float64Array} posterior @returns {[number, number, number][]} */
function stripOf(posterior) {
  const most = posterior.reduce((a, b) => Math.max(a, b));
  /** @type {[number, number, number][]} */
  const runs = [];
  posterior.forEach((chance, month) => {
    const tone = Math.ceil((chance / most) * TONES - 1e-9);
    const run = runs[runs.length - 1];
    if (run && run[2] === tone) run[1] += 1;
    else runs.push([month, 1, tone]);
  });
  return runs.filter(([, , tone]) => tone > 0);
}

/** @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @returns {Group[]} */
function groupsOf(model, sheet, verdict) {
  const shown = model.points.filter((point) => point.json.kind !== 'sign' && sheet.answers.has(point.id));
  const groups = Object.entries(ASSEMBLY_WORDS).map(([assembly, name]) => ({
    name,
    apart: apartWords(verdict, assembly),
    rows: shown.filter((point) => point.json.assembly === assembly).map((point) => rowOf(model, sheet, verdict, point)),
  }));
  return groups.filter((group) => group.rows.length);
}

/** @param {Verdict} verdict @param {string} assembly */
function apartWords(verdict, assembly) {
  if (!verdict.apart.includes(assembly)) return '';
  const runs = verdict.assemblies.get(assembly)?.reads_as ?? [];
  return `reads as another date: ${runs.map(runWords).join(', ')}`;
}

/** @param {Model} model @param {Sheet} sheet @param {Verdict} verdict @param {Point} point @returns {Row} */
function rowOf(model, sheet, verdict, point) {
  const answer = /** @type {Answer} */ (sheet.answers.get(point.id));
  return {
    name: pointWords(point),
    bands: bandsOf(point, weightsOf(point, answer)),
    seen: answerWords(point, answer),
    finding: findingOf(verdict, point.id),
    leaning: LEANING_WORDS[verdict.points.get(point.id)?.leaning ?? ''] ?? '',
    marks: marksOf(model, point, answer),
  };
}

/** @param {Verdict} verdict @param {string} id */
function findingOf(verdict, id) {
  if (verdict.declared.includes(id)) return 'declared as changed';
  if (verdict.flagged.includes(id)) return 'probably not the first part';
  return verdict.odd.includes(id) ? 'does not fit: look again' : '';
}

/** How far each variant is what was seen: 1 for a pick, shared out for a measure. @param {Point} point @param {Answer} answer @returns {number[]} */
function weightsOf(point, answer) {
  if (answer.value !== null) return measured(point, answer.value);
  if (point.json.kind === 'serial' && answer.read) {
    const number = Math.max(0, answer.number);
    return point.seen.map(({ block }) => Number(block !== undefined && block[0] <= number && number <= block[1]));
  }
  return point.seen.map((variant) => Number(answer.seen.includes(variant.id)));
}

/** @param {Point} point @param {number} value */
function measured(point, value) {
  const near = point.normals.map(([mean, spread]) => Math.exp(-0.5 * ((value - mean) / spread) ** 2) / spread);
  const total = near.reduce((a, b) => a + b, 0);
  return near.map((size) => (total ? rounded(size / total, 2) : 0));
}

/** @param {Model} model @param {Point} point @param {Answer} answer @returns {Span[]} */
function marksOf(model, point, answer) {
  if (point.json.kind !== 'datecode' || !answer.read) return [];
  const [first, last] = model.covers;
  return answer.months.filter((month) => first <= month && month <= last).map((month) => spanOf(model, [month, month]));
}

/** @param {Point} point @param {number[]} weights @returns {Band[]} */
function bandsOf(point, weights) {
  if (!point.made.length) return [];
  let top = new Float64Array(point.made[0].length);
  return point.seen.map((variant, i) => {
    const bottom = top.map((y, month) => y + point.made[i][month]);
    const band = { label: variant.label, fitted: fittedWords(variant), seen: weights[i], ...outlined(top, bottom) };
    top = bottom;
    return band;
  });
}

/** The outline of a band, and where its label may stand. @param {Float64Array} top @param {Float64Array} bottom */
function outlined(top, bottom) {
  const months = top.length;
  const runs = runsOf(Array.from(top, (y, month) => bottom[month] - y > VISIBLE));
  if (!runs.length) return { path: '', middle: 0, width: 0 };
  const [start, stop] = [runs[0][0], runs[runs.length - 1][1] + 1];
  return {
    path: runs.map((run) => `M${[...lineOf(top, run), ...lineOf(bottom, run).reverse()].join('L')}Z`).join(''),
    middle: ((start + stop) / 2 / months) * 100,
    width: ((stop - start) / months) * 100,
  };
}

/** First and last index of each run that holds. @param {boolean[]} there @returns {[number, number][]} */
function runsOf(there) {
  /** @type {[number, number][]} */
  const runs = [];
  there.forEach((holds, i) => {
    if (!holds) return;
    if (there[i - 1]) runs[runs.length - 1][1] = i;
    else runs.push([i, i]);
  });
  return runs;
}

/** An edge in as few points as draw it: mid-month values, plateaus by their ends. @param {Float64Array} edge @param {[number, number]} run */
function lineOf(edge, [first, last]) {
  const y = Array.from(edge.subarray(first, last + 1), (share) => rint(share * HEIGHT * 10) / 10);
  const end = y.length - 1;
  const inner = y
    .map((value, i) => /** @type {[number, number, boolean]} */ ([first + i + 0.5, value, turns(y, i, end)]))
    .filter(([, , kept]) => kept);
  return [[first, y[0]], ...inner, [last + 1, y[end]]].map(([x, value]) => `${general(Number(x))} ${general(Number(value))}`);
}

/** Whether a line does more at a point than pass it on a level. @param {number[]} y @param {number} i @param {number} end */
const turns = (y, i, end) => i === 0 || i === end || y[i] !== y[i - 1] || y[i] !== y[i + 1];
