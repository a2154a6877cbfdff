// @ts-check
/**
 * The verdict strip, "would tell most next" and the words that say where an answer is kept.
 *
 * @import { Model, NextLook, Verdict } from './engine/types.js'
 */
import { faultWords } from './engine/errors.js';
import { runWords } from './engine/months.js';
import { VERDICT_WORDS } from './words.js';

/** @param {string} selector */
const find = (selector) => /** @type {HTMLElement | null} */ (document.querySelector(selector));

/** @param {string} selector @param {string} text */
function put(selector, text) {
  const element = find(selector);
  if (element && element.textContent !== text) element.textContent = text;
}

/** @param {Verdict} verdict */
export function showVerdict(verdict) {
  const strip = find('#strip');
  if (strip) strip.dataset.verdict = verdict.verdict;
  put('#strip .says b', VERDICT_WORDS[verdict.verdict]);
  put('#strip .reads', verdict.speaking ? `reads as ${verdict.reads_as.map(runWords).join(', ')}` : '');
}

/** @param {Model} model @param {NextLook[]} looks */
export function showNext(model, looks) {
  const list = find('#next ul');
  if (!list) return;
  const items = looks.slice(0, 3).map((look) => {
    const item = document.createElement('li');
    const link = document.createElement('a');
    const minutes = document.createElement('small');
    link.className = 'chip';
    link.dataset.go = look.point;
    link.href = `?at=${look.point}`;
    minutes.textContent = `${Number(look.minutes.toPrecision(6))} min`;
    link.append(`${model.byId.get(look.point)?.json.name ?? look.point} `, minutes);
    item.append(link);
    return item;
  });
  if (items.length === 0) {
    const none = document.createElement('li');
    none.className = 'quiet';
    none.textContent = 'Nothing more within reach of what is allowed and in the bag.';
    items.push(none);
  }
  list.replaceChildren(...items);
}

/** @param {'device' | 'server' | ''} where @param {string} words */
export function showSaved(where, words) {
  const said = find('#strip .saved');
  if (!said) return;
  said.dataset.saved = where;
  if (said.textContent !== words) said.textContent = words;
}

/** @param {string} name  of the inspection @param {string} claimed */
export function showHead(name, claimed) {
  put('.about a', `claimed ${claimed}`);
  put('.about h1', name);
  put('html:not([data-role]) title', `${name} · inspection`); // a kiosk's history tells no name
}

/** @param {number} done @param {number} all */
export const showCount = (done, all) => put('#strip .count', `${done} of ${all}`);

/** @param {{ where: string, expected: string, came: string, remedy: string }[]} faults  none: takes the message away */
export function showFaults(faults) {
  const place = find('#fault');
  if (!place) return;
  if (faults.length === 0) { place.replaceChildren(); return; }
  const box = document.createElement('div');
  box.className = 'faults';
  box.setAttribute('role', 'alert');
  box.append(...faults.map((fault) => {
    const line = document.createElement('p');
    line.textContent = faultWords({ ...fault, where: whereWords(fault.where) });
    return line;
  }));
  place.replaceChildren(box);
}

/** @type {Record<string, string>} */
const PARTS = { state: 'change', not_seen: 'not seen', where: 'where', sure: 'unsure' };

/** `answers.neck-depth-1.state` in the words of the screen. @param {string} where */
function whereWords(where) {
  const [head, point, ...parts] = where.split('.');
  if (head !== 'answers' || !point) return where;
  const name = point.replaceAll('-', ' ');
  return [name[0].toUpperCase() + name.slice(1), ...parts.filter((part) => PARTS[part]).map((part) => PARTS[part])].join(', ');
}
