// @ts-check
/**
 * The lifelines drawn: the same elements and classes as on the server's page. The drawing is hidden
 * from screen readers; the table behind it says the same.
 *
 * @import { Band, Chart, Group, Row, Span } from './chart.js'
 */
import { html, svg } from './dom.js';
import { rounded } from './engine/numbers.js';

const NARROWEST_STAMP = 0.6; // per cent of the width that can still be seen
const NARROWEST_LABEL = 12;
const SIGNS_A_PER_CENT = 0.62;

/** @param {number} x */
const percent = (x) => `${rounded(x, 3)}%`;

/** @param {Chart} chart @returns {HTMLElement} */
export function lifelines(chart) {
  return html('div', { class: 'lifelines' }, drawing(chart), key(chart), table(chart));
}

/** @param {Chart} chart */
function drawing(chart) {
  return html(
    'div',
    { class: 'chart', 'aria-hidden': 'true' },
    html('div', { class: 'ground' }, svg('svg', { width: '100%', height: '100%' }, ground(chart))),
    html('div', { class: 'lane-name' }),
    html('div', { class: 'lane' }, axis(chart)),
    html('div', { class: 'lane-name' }, 'The parts speak for'),
    html('div', { class: 'lane' }, strip(chart), brackets(chart)),
    ...chart.groups.flatMap((group) => [heading(group), ...group.rows.flatMap((row) => [laneName(row), lane(chart, row)])]),
  );
}

/** Years and the claimed window, behind every lane. @param {Chart} chart */
function ground({ ticks, window: [x, width] }) {
  const upright = (/** @type {string} */ kind, /** @type {number} */ at) =>
    svg('line', { class: kind, x1: percent(at), x2: percent(at), y1: 0, y2: '100%' });
  return svg(
    'g',
    { id: 'ground' },
    ...ticks.map(([at, label]) => upright(label ? 'year labelled' : 'year', at)),
    svg('rect', { class: 'window', x: percent(x), width: percent(width), y: 0, height: '100%' }),
    upright('window-edge', x),
    upright('window-edge', x + width),
  );
}

/** @param {Chart} chart */
function axis({ ticks }) {
  const labels = ticks.filter(([, label]) => label).map(([x, label]) => svg('text', { x: percent(x), y: 13, dx: 3 }, label));
  return svg('svg', { class: 'axis', width: '100%', height: 18, 'aria-hidden': 'true' }, ...labels);
}

/** @param {Chart} chart @param {number} height */
const stretched = ({ months }, height) => ({ viewBox: `0 0 ${months} ${height}`, preserveAspectRatio: 'none' });

/** @param {Chart} chart */
function strip(chart) {
  const tones = chart.strip.map(([x, width, tone]) => svg('rect', { class: `tone-${tone}`, x, width, y: 0, height: 20 }));
  return svg('svg', { class: 'strip-of-months', width: '100%', height: 26, ...stretched(chart, 26) }, ...tones);
}

/** @param {Chart} chart */
function brackets({ reads_as }) {
  const spans = reads_as.map(([x, width]) => svg('rect', { x: percent(x), width: percent(width), y: 2, height: 3 }));
  return svg('svg', { class: 'brackets', width: '100%', height: 8 }, ...spans);
}

/** @param {Group} group */
function heading({ name, apart }) {
  const stands = apart && html('span', {}, `stands apart, ${apart}`);
  return html('h3', { class: apart ? 'assembly apart' : 'assembly' }, name, stands && ' ', stands);
}

/** @param {Row} row */
function laneName({ name, seen, finding }) {
  const said = [html('b', {}, name), seen && html('span', {}, seen), finding && html('em', {}, finding)];
  return html('div', { class: 'lane-name' }, ...said.flatMap((part, i) => (i && part ? [' ', part] : [part])));
}

/** @param {Chart} chart @param {Row} row */
function lane(chart, { bands, finding, marks }) {
  const drawn = bands.filter((band) => band.path);
  return html(
    'div',
    { class: 'lane' },
    svg('svg', { class: 'lane-ground', width: '100%', height: '100%' }, svg('use', { href: '#ground' })),
    svg('svg', { class: finding ? 'life found' : 'life', width: '100%', height: 20, ...stretched(chart, 100) }, ...drawn.map(outline)),
    bands.length > 0 && svg('svg', { class: 'labels', width: '100%', height: 12 }, ...bands.filter(hasRoom).map(label)),
    marks.length > 0 && svg('svg', { class: 'stamps', width: '100%', height: 20 }, ...marks.map(stamp)),
  );
}

/** @param {Band} band */
function outline({ label: name, fitted, path, seen }) {
  const kind = seen >= 0.5 ? 'band is-seen' : seen >= 0.1 ? 'band half-seen' : 'band';
  return svg('path', { class: kind, d: path }, svg('title', {}, `${name}, ${fitted}`));
}

/** @param {Band} band */
const hasRoom = ({ width }) => width > NARROWEST_LABEL;

/** @param {Band} band */
function label({ label: name, middle, width, seen }) {
  const at = { x: `${rounded(middle, 2)}%`, y: 9, 'text-anchor': 'middle', class: seen >= 0.5 && 'is-seen' };
  return svg('text', at, shortened(name, Math.trunc(width * SIGNS_A_PER_CENT) + 1));
}

/** @param {string} text @param {number} most */
function shortened(text, most) {
  const signs = [...text];
  return signs.length <= most ? text : `${signs.slice(0, most - 1).join('')}…`;
}

/** @param {Span} span */
function stamp([x, width]) {
  return svg('rect', { x: percent(x), width: percent(Math.max(width, NARROWEST_STAMP)), y: 3, height: 14 });
}

/** @param {Chart} chart */
function key({ claimed }) {
  const words = [['k-seen', 'seen'], ['k-fitted', 'fitted, not seen'], ['k-window', `claimed ${claimed}`], ['k-reads', 'reads as']];
  const parts = words.flatMap(([kind, word]) => [' ', html('span', { class: kind }, word)]);
  return html('p', { class: 'key', 'aria-hidden': 'true' }, ...parts.slice(1));
}

/** @param {Chart} chart */
function table({ groups }) {
  const heads = ['Point', 'Seen', 'Fitted', 'Speaks for'].map((name) => html('th', { scope: 'col' }, name));
  const caption = 'What was seen, when each variant was fitted, what it speaks for';
  const whole = html(
    'table',
    {},
    html('caption', { class: 'visually-hidden' }, caption),
    html('thead', {}, html('tr', {}, ...heads)),
    ...groups.map(body),
  );
  const scroll = html('section', { class: 'scroll', tabindex: 0, 'aria-label': 'Lifelines as a table' }, whole);
  return html('details', { class: 'as-table' }, html('summary', {}, 'The same as a table'), scroll);
}

/** @param {Group} group */
function body({ name, apart, rows }) {
  const head = html('th', { scope: 'rowgroup', colspan: 4 }, apart ? `${name}: stands apart, ${apart}` : name);
  return html('tbody', {}, html('tr', {}, head), ...rows.map(line));
}

/** @param {Row} row */
function line({ name, seen, finding, bands, leaning }) {
  const fitted = bands.map((band) => `${band.label}: ${band.fitted}`).join('; ');
  const cells = [finding ? `${seen}; ${finding}` : seen, fitted, leaning];
  return html('tr', {}, html('th', { scope: 'row' }, name), ...cells.map((text) => html('td', {}, text)));
}
