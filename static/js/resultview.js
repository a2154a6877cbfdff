// @ts-check
/**
 * Fills the verdict's page and the card's page on the phone: the same words in the same places as on
 * the server's pages. The shells (templates/device) are empty but for their headings: `data-slot` is
 * a place for words, `data-about` a list of sentences, `data-head` the heading that goes with it.
 *
 * @import { Answer, Model, NextLook, Point, Sentence, Sheet, Verdict } from './engine/types.js'
 * @import { Card } from './card/payload.js'
 * @import { Symbol } from './card/qr.js'
 */
import { cardUrl } from './card/code.js';
import { documentOf } from './card/document.js';
import { cardOf, encode, issuedAt } from './card/payload.js';
import { svgPath, symbol } from './card/qr.js';
import { MODULE_MM, QUIET } from './card/tables.js';
import { chartOf } from './chart.js';
import { html, svg } from './dom.js';
import { looked as wasLooked } from './engine/answers.js';
import { explain } from './engine/explain.js';
import { runWords } from './engine/months.js';
import { nextLooks } from './engine/nextlook.js';
import { readSheet } from './engine/sheet.js';
import { judgeSheet } from './engine/verdict.js';
import { lifelines } from './lifelines.js';
import { answerWords, dayWords, markWords, pointWords, spanWords } from './telling.js';
import { INTEREST_WORDS, STATE_WORDS, VERDICT_WORDS } from './words.js';

/** @typedef {Record<string, unknown>} Document */
/** Everything that a page shows of one inspection. @typedef {{ model: Model, document: Document, sheet: Sheet, verdict: Verdict, looks: NextLook[], sentences: Sentence[] }} Result */
/** A card, its bytes, the address in its code, and what whoever opens that will see. @typedef {{ card: Card, data: Uint8Array, url: string, result: Result }} Issued */

const ON_CARD = ['width', 'claim', 'found', 'count', 'apart'];

/** An inspection judged on the phone; AnswerError with every fault of the document. @param {Model} model @param {Document} document @returns {Result} */
export function resultOf(model, document) {
  const sheet = readSheet(model, document);
  const verdict = judgeSheet(model, sheet);
  const looks = nextLooks(model, sheet, verdict);
  return { model, document, sheet, verdict, looks, sentences: explain(model, sheet, verdict, looks) };
}

/**
 * Fills the page of the verdict.
 * @param {ParentNode} root  holds the shell @param {Result} result @param {{ back: string, card: string }} links
 */
export function showVerdict(root, result, links) {
  const { model, document: told, sheet, verdict } = result;
  const name = typeof told.name === 'string' ? told.name : '';
  const serial = sheet.serial_text && `serial ${sheet.serial_text}`;
  showReference(root, model);
  showFinding(root, result);
  put(root, 'over', [model.json.title, name, serial].filter(Boolean).join(' · '));
  for (const list of root.querySelectorAll('[data-about]')) showSaid(root, /** @type {HTMLElement} */ (list), result);
  put(root, 'lifelines', lifelines(chartOf(model, sheet, verdict)));
  link(root, 'back', links.back);
  link(root, 'card', links.card);
  document.title = `${VERDICT_WORDS[verdict.verdict]} · ${name || model.json.title}`;
}

/**
 * The card of an inspection, with what the code alone says: judged again from the answers that it
 * carries. CardError where there is no card for it.
 * @param {Result} result @param {{ issued: Date, interest: string, number?: number, base: string }} issue  `base`: address of the server
 * @returns {Issued}
 */
export function issued({ model, sheet, verdict }, { base, ...more }) {
  const card = cardOf(model, sheet, verdict, more);
  const data = encode(model, card);
  return { card, data, url: cardUrl(base, data), result: resultOf(model, documentOf(model, card)) };
}

/** Fills the page of a card. @param {ParentNode} root  holds the shell @param {Issued} made */
export function showCard(root, { card, url, result }) {
  const { model } = result;
  showReference(root, model);
  showFinding(root, result);
  showFront(root, card, { host: new URL(url).host, finish: finishWords(result) });
  root.querySelector('[data-slot="code"]')?.replaceWith(code(symbol(url)));
  showMonths(root, result);
  put(root, 'said', ...items(ON_CARD.flatMap((about) => said(result, about))));
  for (const list of root.querySelectorAll('[data-about]')) showSaid(root, /** @type {HTMLElement} */ (list), result);
  put(root, 'looked', ...model.points.map((point) => looked(result, point)));
  const unseen = said(result, 'unseen');
  put(root, 'unseen', ...items(unseen.length ? unseen : ['Every point of the reference was looked at.']));
  document.title = `Card · ${model.json.title}`;
}

/** The page of a card that a server has sealed: its code, whose seal it is, and where to open it. @param {HTMLElement} root @param {{ address: string, issuer: string }} sealed */
export function showSealed(root, { address, issuer }) {
  root.dataset.seal = 'sealed';
  root.dataset.sealed = address;
  put(root, 'issuer', issuer);
  root.querySelector('[data-slot="code"]')?.replaceWith(code(symbol(address)));
  const words = `Judged again and sealed by ${issuer}. The code is now that of the sealed card; its page says what the seal is worth.`;
  const open = html('a', { class: 'button', href: address }, 'Open the sealed card');
  root.querySelector('[data-sealing]')?.replaceWith(html('p', { role: 'status' }, words), html('p', { class: 'go' }, open));
  const box = root.querySelector('.seal');
  box?.classList.replace('open', 'holds');
  box?.querySelector('.seal-head')?.remove();
}

/** The QR code with its quiet zone. @param {Symbol} found */
export function code(found) {
  const side = found.size + 2 * QUIET;
  return svg(
    'svg',
    {
      class: 'code',
      'data-slot': 'code',
      width: `${side * MODULE_MM}mm`,
      height: `${side * MODULE_MM}mm`,
      viewBox: `${-QUIET} ${-QUIET} ${side} ${side}`,
      role: 'img',
      'aria-label': 'QR code of this page',
      'shape-rendering': 'crispEdges',
    },
    svg('rect', { class: 'code-ground', x: -QUIET, y: -QUIET, width: side, height: side }),
    svg('path', { class: 'code-ink', d: svgPath(found) }),
  );
}

/** @param {ParentNode} root @param {Card} card @param {{ host: string, finish: string }} more */
function showFront(root, card, { host, finish }) {
  const rows = [['Serial', card.serial_text || 'none given'], ...card.marks.map((mark, i) => [`Mark ${i + 1}`, markWords(mark)])];
  if (finish) rows.push(['Finish', finish]);
  put(root, 'match', ...rows.flatMap(([term, words], i) => [html('dt', {}, term), html('dd', { class: !i && 'serial' }, words)]));
  put(root, 'issued', dayWords(issuedAt(card)));
  put(root, 'domain', host);
  put(root, 'interest', INTEREST_WORDS[card.interest]);
}

/** What was seen of the finish, which a buyer can match at a glance. @param {Result} result */
function finishWords({ model, sheet }) {
  const seen = model.points.filter(({ id, json }) => json.area === 'finish' && json.kind === 'pick' && sheet.answers.get(id)?.seen.length);
  return seen.map((point) => answerWords(point, /** @type {Answer} */ (sheet.answers.get(point.id)))).join(', ');
}

/** The months claimed, how many, and those that the parts read as. @param {ParentNode} root @param {Result} result */
function showMonths(root, { verdict }) {
  put(root, 'claimed', runWords(verdict.claimed));
  put(root, 'span', `(${spanWords(verdict.claimed)})`);
  put(root, 'reads-as', verdict.reads_as.map(runWords).join(', '));
}

/** @param {ParentNode} root @param {Model} model */
function showReference(root, model) {
  put(root, 'title', model.json.title);
  put(root, 'edition', model.json.edition);
}

/** The verdict in a mark, a word and a line. @param {ParentNode} root @param {Result} result */
function showFinding(root, result) {
  const { verdict } = result.verdict;
  const mark = /** @type {HTMLTemplateElement | null} */ (root.querySelector(`template[data-mark="${verdict}"]`));
  put(root, 'mark', ...(mark ? [mark.content.cloneNode(true)] : []));
  put(root, 'verdict', VERDICT_WORDS[verdict]);
  put(root, 'finding', said(result, 'finding').join(' '));
  for (const place of root.querySelectorAll('[data-verdict]')) /** @type {HTMLElement} */ (place).dataset.verdict = verdict;
}

/** One list of sentences, hidden with its heading where there is nothing to say. @param {ParentNode} root @param {HTMLElement} list @param {Result} result */
function showSaid(root, list, result) {
  const found = said(result, list.dataset.about ?? '');
  const head = /** @type {HTMLElement | null} */ (root.querySelector(`[data-head="${list.dataset.about}"]`));
  list.replaceChildren(...items(found));
  list.hidden = !found.length;
  if (head) head.hidden = list.hidden;
}

/** A line of the table of what was looked at. @param {Result} result @param {Point} point */
function looked({ sheet, verdict }, point) {
  const answer = sheet.answers.get(point.id);
  if (!answer || !wasLooked(answer)) return '';
  const state = answer.state ? [' ', html('span', { class: 'change' }, STATE_WORDS[answer.state])] : [];
  const change = changeWords(verdict, point.id);
  const cell = html('td', {}, answerWords(point, answer), ...state, ...(change ? [' ', html('em', {}, change)] : []));
  return html('tr', {}, html('th', { scope: 'row' }, pointWords(point)), cell);
}

/** @param {Verdict} verdict @param {string} id */
function changeWords(verdict, id) {
  if (verdict.flagged.includes(id) && !verdict.declared.includes(id)) return 'probably not the first part';
  return verdict.odd.includes(id) ? 'does not fit' : '';
}

/** The sentences about one matter. @param {Result} result @param {string} about */
const said = ({ sentences }, about) => sentences.filter((sentence) => sentence.about === about).map(({ text }) => text);

/** @param {string[]} texts */
const items = (texts) => texts.map((text) => html('li', {}, text));

/** Fills every place of that name. @param {ParentNode} root @param {string} slot @param {...(string | Node)} what */
function put(root, slot, ...what) {
  root.querySelectorAll(`[data-slot="${slot}"]`).forEach((place, i) => {
    place.replaceChildren(...(i ? what.map((each) => (each instanceof Node ? each.cloneNode(true) : each)) : what));
  });
}

/** @param {ParentNode} root @param {string} name @param {string} href */
function link(root, name, href) {
  root.querySelector(`[data-link="${name}"]`)?.setAttribute('href', href);
}
