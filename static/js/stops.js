// @ts-check
/** What was said at a point, read from its fields; the marks in lists and on the outline follow it. */

/** @typedef {'seen' | 'not-seen' | 'out-of-reach' | 'open'} Mark */

/** @type {Record<Mark, string>} */
const WORDS = { seen: 'seen', 'not-seen': 'not seen', 'out-of-reach': 'out of reach', open: '' };

/**
 * What was last read of each point: to read all fields of all points at each tap takes a phone too long.
 * @type {WeakMap<HTMLFieldSetElement, Mark>}
 */
const MARKS = new WeakMap();

/** Whoever fills a field of a point says so. @param {HTMLFieldSetElement} point */
export const touched = (point) => MARKS.delete(point);

/** @param {HTMLFieldSetElement} point @returns {Mark} */
export function markOf(point) {
  const mark = MARKS.get(point) ?? read(point);
  MARKS.set(point, mark);
  return mark;
}

/** @param {HTMLFieldSetElement} point @returns {Mark} */
function read(point) {
  const id = point.dataset.point ?? '';
  const said = new Set(fields(point).filter(([, value]) => value.trim() !== '').map(([name]) => name));
  if (said.has(`${id}.not-seen`)) return 'not-seen';
  if ([id, `${id}.state`, `${id}.note`].some((part) => said.has(part))) return 'seen';
  return point.dataset.needs ? 'out-of-reach' : 'open';
}

/**
 * The fields of a point as they would be sent, whether it is on the screen or not.
 * @param {HTMLFieldSetElement} point @returns {[string, string][]}
 */
export function fields(point) {
  /** @type {[string, string][]} */
  const found = [];
  for (const field of point.querySelectorAll('input, select, textarea')) {
    const input = /** @type {HTMLInputElement} */ (field);
    const ticked = input.type !== 'radio' && input.type !== 'checkbox' ? true : input.checked;
    if (input.name && ticked) found.push([input.name, input.value]);
  }
  return found;
}

/** @param {HTMLFieldSetElement} point @returns {HTMLInputElement[]} */
export const inputs = (point) => [...point.querySelectorAll('input, select, textarea')].map((field) => /** @type {HTMLInputElement} */ (field));

/** @param {HTMLInputElement} input  the radio that stands for nothing is ticked, all others are not */
export function empty(input) {
  if (input.tagName === 'SELECT') return;
  if (input.type === 'radio' || input.type === 'checkbox') input.checked = input.type === 'radio' && input.value === '';
  else input.value = '';
}

/** Whether what was put in is an answer by that, as a tick is. @param {Event} event */
export const isTick = ({ target }) => target instanceof HTMLInputElement && /^(radio|checkbox)$/.test(target.type);

/** Empties every field of a point. @param {HTMLFieldSetElement} point */
export function clear(point) {
  touched(point);
  inputs(point).forEach(empty);
}

/**
 * A point is seen or not seen: saying one takes the other back.
 * @param {HTMLFieldSetElement} point @param {HTMLInputElement} changed
 */
export function reconcile(point, changed) {
  touched(point);
  const id = point.dataset.point ?? '';
  if (changed.name === `${id}.not-seen` && changed.value) {
    for (const input of inputs(point)) {
      if (input.name !== changed.name && input.name !== `${id}.note`) empty(input);
    }
  } else if (changed.name !== `${id}.note` && changed.name !== `${id}.not-seen`) {
    for (const input of inputs(point)) if (input.name === `${id}.not-seen`) empty(input);
  }
}

let painted = ''; // the marks on the page: most taps change none of them

/**
 * Brings the marks in the lists, the counts on the outline and the progress by area up to date.
 * @param {HTMLFieldSetElement[]} points
 */
export function paint(points) {
  const marks = points.map(markOf);
  if (marks.join() === painted) return;
  painted = marks.join();
  /** @type {Map<string, [number, number]>} */
  const counts = new Map();
  for (const [index, point] of points.entries()) {
    const mark = marks[index];
    const done = Number(mark === 'seen' || mark === 'not-seen');
    for (const key of [`place ${point.dataset.place}`, `area ${point.dataset.area}`]) {
      const [before, all] = counts.get(key) ?? [0, 0];
      counts.set(key, [before + done, all + 1]);
    }
    paintStop(point.dataset.point ?? '', mark);
  }
  for (const place of document.querySelectorAll('.outline .place')) {
    const count = counts.get(`place ${/** @type {SVGElement} */ (place).dataset.place}`);
    const tag = place.querySelector('.tag');
    if (!count || !tag) continue;
    const words = (tag.textContent ?? '').replace(/\d+\/\d+/, count.join('/'));
    if (words === tag.textContent) continue;
    tag.textContent = words;
    place.setAttribute('aria-label', `${words} points done`);
  }
  for (const item of document.querySelectorAll('.progress [data-area]')) paintArea(/** @type {HTMLElement} */ (item), counts);
}

/** @param {string} id @param {Mark} mark */
function paintStop(id, mark) {
  const item = document.querySelector(`[data-stop="${id}"]`);
  if (!item || item.classList.contains(mark)) return;
  item.className = `stop ${mark}`;
  const word = item.querySelector('.state-word');
  if (word) word.textContent = WORDS[mark];
}

/** @param {HTMLElement} item @param {Map<string, [number, number]>} counts */
function paintArea(item, counts) {
  const count = counts.get(`area ${item.dataset.area}`);
  const meter = item.querySelector('meter');
  const said = item.querySelector('.count');
  if (!count || !meter || !said || said.textContent === count.join('/')) return;
  meter.value = count[0];
  said.textContent = meter.textContent = count.join('/');
}
