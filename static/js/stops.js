// @ts-check
/** What was said at a point, read from its fields; the marks in lists and on the outline follow it. */

/** @typedef {'seen' | 'not-seen' | 'out-of-reach' | 'open'} Mark */

/** @type {Record<Mark, string>} */
const WORDS = { seen: 'seen', 'not-seen': 'not seen', 'out-of-reach': 'out of reach', open: '' };

/** @param {HTMLFieldSetElement} point @returns {Mark} */
export function markOf(point) {
  const id = point.dataset.point ?? '';
  const said = (/** @type {string} */ part) => fields(point).some(([name, value]) => name === part && value.trim() !== '');
  if (said(`${id}.not-seen`)) return 'not-seen';
  if ([id, `${id}.state`, `${id}.note`].some(said)) return 'seen';
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

/** Empties every field of a point. @param {HTMLFieldSetElement} point */
export function clear(point) {
  inputs(point).forEach(empty);
}

/**
 * A point is seen or not seen: saying one takes the other back.
 * @param {HTMLFieldSetElement} point @param {HTMLInputElement} changed
 */
export function reconcile(point, changed) {
  const id = point.dataset.point ?? '';
  if (changed.name === `${id}.not-seen` && changed.value) {
    for (const input of inputs(point)) {
      if (input.name !== changed.name && input.name !== `${id}.note`) empty(input);
    }
  } else if (changed.name !== `${id}.note` && changed.name !== `${id}.not-seen`) {
    for (const input of inputs(point)) if (input.name === `${id}.not-seen`) empty(input);
  }
}

/** @param {HTMLFieldSetElement[]} points */
export function paint(points) {
  /** @type {Map<string, [number, number]>} */
  const places = new Map();
  for (const point of points) {
    const mark = markOf(point);
    const [done, all] = places.get(point.dataset.place ?? '') ?? [0, 0];
    places.set(point.dataset.place ?? '', [done + Number(mark === 'seen' || mark === 'not-seen'), all + 1]);
    const item = document.querySelector(`[data-stop="${point.dataset.point}"]`);
    if (!item) continue;
    item.className = `stop ${mark}`;
    const word = item.querySelector('.state-word');
    if (word) word.textContent = WORDS[mark];
  }
  for (const place of document.querySelectorAll('.outline .place')) {
    const count = places.get(/** @type {SVGElement} */ (place).dataset.place ?? '');
    const tag = place.querySelector('.tag');
    if (!count || !tag) continue;
    tag.textContent = (tag.textContent ?? '').replace(/\d+\/\d+/, count.join('/'));
    place.setAttribute('aria-label', (place.getAttribute('aria-label') ?? '').replace(/\d+\/\d+/, count.join('/')));
  }
}
