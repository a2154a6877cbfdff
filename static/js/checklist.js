// @ts-check
/**
 * One point a screen. All points are on the page; this shows one at a time, keeps the address in
 * step, and finds the next one that is open. Hidden points are disabled, so the form is one point.
 */
import { showReading } from './reads.js';
import { clear, markOf, paint, reconcile, touched } from './stops.js';

export class Checklist {
  /** @param {HTMLFormElement} form @param {HTMLElement} overview @param {() => Promise<boolean>} settled */
  constructor(form, overview, settled) {
    this.form = form;
    this.overview = overview;
    this.settled = settled;
    this.points = /** @type {HTMLFieldSetElement[]} */ ([...form.querySelectorAll('fieldset[data-point]')]);
    this.bar = /** @type {HTMLElement} */ (form.querySelector('.bar'));
    this.point = /** @type {HTMLInputElement} */ (form.elements.namedItem('_point'));
    this.fault = /** @type {HTMLElement} */ (document.getElementById('fault'));
  }

  get current() {
    return this.points.find((point) => point.dataset.point === this.point.value);
  }

  wire() {
    document.addEventListener('click', (event) => this.#followed(event));
    addEventListener('popstate', () => this.show(new URLSearchParams(location.search).get('at'), false));
    this.form.addEventListener('submit', (event) => { event.preventDefault(); void this.#submitted(event); });
    // In the capture phase: the fields must agree before anything is sent.
    this.form.addEventListener('change', (event) => this.#changed(event), true);
    this.form.addEventListener('input', () => this.#typed(), true);
    this.repaint();
    const at = new URLSearchParams(location.search).get('at');
    if (at && at !== this.point.value) this.show(at, false);
  }

  /** @param {string | null | undefined} id  null: the outline @param {boolean} push */
  show(id, push = true) {
    const shown = this.points.find((point) => point.dataset.point === id);
    for (const point of this.points) point.disabled = point.hidden = point !== shown;
    this.bar.hidden = !shown;
    this.overview.hidden = !!shown;
    this.point.value = shown?.dataset.point ?? '';
    this.fault.replaceChildren();
    if (push) history.pushState(null, '', shown ? `?at=${shown.dataset.point}` : location.pathname);
    scrollTo(0, 0);
    if (shown) shown.focus({ preventScroll: true });
  }

  /** @param {string} place  shows the first open point there, else the first */
  showPlace(place) {
    const there = this.points.filter((point) => point.dataset.place === place);
    const point = there.find((candidate) => markOf(candidate) === 'open') ?? there[0];
    if (point) this.show(point.dataset.point);
  }

  repaint() {
    paint(this.points);
  }

  next() {
    const at = this.current ? this.points.indexOf(this.current) : -1;
    const around = [...this.points.slice(at + 1), ...this.points.slice(0, Math.max(at, 0))];
    const open = around.find((point) => markOf(point) === 'open');
    if (open) this.show(open.dataset.point);
    else location.assign(`${location.pathname.replace(/\/$/, '')}/verdict`);
  }

  back() {
    const at = this.current ? this.points.indexOf(this.current) : 0;
    this.show(at > 0 ? this.points[at - 1].dataset.point : null);
  }

  #typed() {
    if (!this.current) return;
    touched(this.current);
    showReading(this.current);
  }

  /** @param {Event} event */
  #changed(event) {
    this.#typed();
    if (this.current && event.target instanceof HTMLInputElement) reconcile(this.current, event.target);
    paint(this.points);
  }

  /** @param {MouseEvent} event */
  #followed(event) {
    if (event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
    const link = /** @type {Element} */ (event.target).closest('a[data-go], .outline a[data-place]');
    if (!link) return;
    event.preventDefault();
    const { go, place } = /** @type {HTMLElement} */ (link).dataset;
    if (link.hasAttribute('data-go-first')) this.next();
    else if (go) this.show(go);
    else this.showPlace(place ?? '');
  }

  /** @param {SubmitEvent} event */
  async #submitted(event) {
    const go = /** @type {HTMLButtonElement | null} */ (event.submitter)?.value ?? 'next';
    if (go === 'clear') {
      if (this.current) clear(this.current);
      this.form.dispatchEvent(new Event('change', { bubbles: true }));
      return;
    }
    if (!await this.settled()) return;
    if (go === 'places') this.show(null);
    else if (go === 'back') this.back();
    else this.next();
  }
}
