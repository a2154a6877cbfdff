// @ts-check
/**
 * The inspection on this device: every answer goes to the database here, the verdict is made here,
 * and the server hears of it when it can.
 *
 * @import { Draft } from './draft.js'
 * @import { Model, Sheet, Verdict } from './engine/types.js'
 */
import { answerOf, fill, filling, restore } from './answerform.js';
import { begin, load, newDraft, undone, update, withDocument, GoneDraftError, StaleDraftError } from './draft.js';
import { FaultsError } from './engine/errors.js';
import { runWords } from './engine/months.js';
import { looking, nextLooks } from './engine/nextlook.js';
import { readSheet } from './engine/sheet.js';
import { judgeSheet } from './engine/verdict.js';
import { saying } from './engine/witnesses.js';
import { held, hold, release } from './heldtyping.js';
import { notice } from './notices.js';
import { modelOf } from './models.js';
import { firstTab } from './onetab.js';
import { painted } from './painted.js';
import { withPhotosOf } from './photos.js';
import { inSlices } from './slices.js';
import { fields, isTick, markOf } from './stops.js';
import { showCount, showFaults, showHead, showNext, showSaved, showVerdict } from './strip.js';
import { takeAlong } from './takealong.js';
import { warmUp } from './warming.js';

const [TYPING, AGAIN] = [300, 3000]; // milliseconds to an answer of letters, to a failed write made once more

export class Device {
  /** @param {HTMLFormElement} form @param {Model} model @param {Draft} draft */
  constructor(form, model, draft) {
    this.form = form;
    this.model = model;
    this.draft = draft;
    this.points = /** @type {HTMLFieldSetElement[]} */ ([...form.querySelectorAll('fieldset[data-point]')]);
    this.saving = Promise.resolve();
    this.writes = 0; // that are not done yet
    this.first = true; // of the tabs on this inspection
    this.refused = this.readOnly = false;
    this.failed = ''; // why the document here is not the stored one
    /** @type {{ point: HTMLFieldSetElement, kept: boolean, refused: boolean } | null} what is no answer yet */
    this.typed = null;
    this.timer = 0;
    this.verdict = /** @type {Verdict | null} */ (null); // the one that is shown
  }

  /**
   * Opens the inspection of this page: from this device, else from what the server put on the page.
   * Throws if there is no database or no reference here.
   * @param {HTMLFormElement} form
   */
  static async open(form) {
    const { inspection: id = '', reference: hash = '' } = form.dataset;
    const kept = /** @type {HTMLTemplateElement | null} */ (document.getElementById('saved'));
    const given = JSON.parse(kept?.content.textContent || 'null');
    const coming = modelOf(hash);
    coming.catch(() => undefined); // waited for below
    const first = await firstTab(`quickcheck-inspection-${id}`); // then the page before has written its last
    let draft = await load(id);
    if (!draft && !given) throw new Error('this inspection is not on this device');
    const model = await coming;
    draft ??= await begin(newDraft(id, { reference: hash, title: form.dataset.title ?? '', document: given.document, base: given.revision }));
    if (given && !draft.dirty && given.revision > draft.base) {
      draft = await update(id, (now) => (now.dirty ? now : { ...now, document: given.document, base: given.revision, undo: [], steps: [] }));
    }
    const device = new Device(form, model, draft);
    await inSlices(filling(device.points, model, draft.document));
    return Object.assign(device, { first });
  }

  /** To be called as soon as it is open: no turn in between. */
  wire() {
    this.#restoreTyping();
    this.form.addEventListener('change', () => this.#answered());
    this.form.addEventListener('input', (event) => { if (!isTick(event)) this.#typed(); });
    addEventListener('quickcheck:told', () => void this.#heard());
    addEventListener('popstate', () => this.#leave());
    document.addEventListener('visibilitychange', () => { if (document.hidden) this.#leave(); });
    addEventListener('pagehide', () => this.#keepTyping(true));
    if (this.first) void painted().then(() => this.#leave());
    else this.#readOnly('This inspection is open in another tab.');
    // A point can be tapped before there is a verdict.
    void painted().then(painted).then(() => inSlices(saying(this.model, readSheet(this.model, this.draft.document)))).then(() => this.show());
    this.#say();
  }

  /** Waits for what is being written; false if the last answer was refused. @returns {Promise<boolean>} */
  async settled() {
    await new Promise((done) => setTimeout(done));
    this.#leave();
    await this.saving;
    const { refused } = this;
    this.refused = false;
    return !refused;
  }

  /** Shows the verdict on the answers as they stand. */
  show() {
    const sheet = readSheet(this.model, this.draft.document);
    const verdict = judgeSheet(this.model, sheet);
    showVerdict(verdict);
    this.verdict = verdict;
    void painted().then(() => this.#next(sheet, verdict));
    showCount(this.points.filter((point) => ['seen', 'not-seen'].includes(markOf(point))).length, this.points.length);
    showHead(this.draft.document.name || this.draft.title, runWords(verdict.claimed));
    return verdict;
  }

  /** Shows what would tell most next; of several taps the last one counts. @param {Sheet} sheet @param {Verdict} verdict */
  async #next(sheet, verdict) {
    if (this.verdict === verdict) await inSlices(looking(this.model, sheet));
    if (this.verdict !== verdict) return;
    showNext(this.model, nextLooks(this.model, sheet, verdict));
    void warmUp(this.model, this.draft.document, () => this.verdict !== verdict);
  }

  /** Takes the last change back; resolves with the point that it was about. @returns {Promise<string | null>} */
  async undo() {
    const { answers: before = {}, photos: pictured = {} } = this.draft.document;
    await this.#write(undone, true);
    const { answers: after = {}, photos = {} } = this.draft.document;
    for (const point of this.points) fill(point, this.model, after);
    this.show();
    const differs = (/** @type {any} */ one, /** @type {any} */ other) => Object.keys({ ...one, ...other }).find((id) => JSON.stringify(one[id]) !== JSON.stringify(other[id]));
    return differs(before, after) ?? differs(pictured, photos) ?? null;
  }

  get #current() { return this.points.find((point) => !point.hidden); }

  /** @param {HTMLFieldSetElement | undefined} point */
  #answered(point = this.#current) {
    clearTimeout(this.timer); this.timer = 0;
    if (!point || this.readOnly) return;
    if (this.typed && this.typed.point !== point) this.#leave();
    const id = point.dataset.point ?? '';
    try {
      const answer = answerOf(this.model, point);
      const { [id]: before, ...others } = this.draft.document.answers ?? {};
      const kept = this.typed?.kept;
      this.typed = null;
      this.refused = false;
      showFaults([]);
      if (JSON.stringify(before) !== JSON.stringify(answer) || this.failed) {
        this.#put({ ...this.draft.document, answers: answer ? { ...others, [id]: answer } : others }, id);
      } else if (kept) void this.#write((now) => ({ ...now, typing: null }));
      else this.#say();
    } catch (error) {
      if (!(error instanceof FaultsError)) throw error;
      this.refused = true;
      this.typed = { point, kept: false, refused: true };
      if (!point.hidden) showFaults(error.faults);
      this.#say();
      this.#keepTyping();
    }
  }

  /** Judges, writes behind it, says "saved" when it is. @param {Record<string, any>} document @param {string} id  of the point */
  #put(document, id) {
    this.draft = { ...this.draft, document };
    const { rules, verdict } = this.show();
    const judged = { ...document, judged: { rules, verdict } };
    this.draft = { ...this.draft, document: judged };
    showSaved('', 'Saving …');
    // Photos change only where they are stored: one may have been added since the judging.
    void this.#write((now) => ({ ...withDocument(now, withPhotosOf(judged, now.document)), typing: now.typing?.point === id ? null : now.typing }));
  }

  /**
   * Changes which photos there are, bytes and all in one transaction; rejects if that was not done.
   * @param {(document: Record<string, any>) => Record<string, any>} change
   * @param {import('./photos.js').PhotoRecord} [photo]
   * @returns {Promise<void>}
   */
  changePhotos(change, photo) {
    const next = (/** @type {Draft} */ now) => {
      const document = change(now.document);
      if (document === now.document) return now;
      // Typing at the point goes on; what the server has said of the same bytes still holds.
      const photos = photo ? { [photo.sha256]: /** @type {const} */ ('waiting'), ...now.photos } : now.photos;
      return { ...withDocument(now, document), typing: now.typing, ...(photos && { photos }) };
    };
    const done = this.saving.then(async () => {
      if (this.readOnly) throw new Error('this inspection is open in another tab');
      const stored = await update(this.draft.id, next, this.draft.version, photo);
      this.draft = { ...stored, document: withPhotosOf(this.draft.document, stored.document) };
      this.#say();
      dispatchEvent(new Event('quickcheck:saved'));
    });
    this.saving = done.catch((error) => { if (error instanceof StaleDraftError) this.#failed(error); });
    return done;
  }

  /** One write after the other. @param {(draft: Draft) => Draft} change @param {boolean} adopt  take the stored document over */
  #write(change, adopt = false) {
    this.writes += 1;
    this.saving = this.saving.then(painted).then(async () => {
      try {
        const stored = await update(this.draft.id, change, this.draft.version)
          .catch((error) => this.#putBack(error, change)).finally(() => { this.writes -= 1; });
        if (this.failed) { this.failed = ''; notice('unsaved', ''); }
        // A later answer may be waiting already: the document here is then ahead of the stored one.
        this.draft = adopt ? stored : { ...stored, document: withPhotosOf(this.draft.document, stored.document) };
        this.#say();
        dispatchEvent(new Event('quickcheck:saved'));
      } catch (error) {
        this.#failed(error);
      }
    });
    return this.saving;
  }

  /** The browser may clear all that it keeps while a page is open: what this page still has goes back. @param {unknown} error @param {(draft: Draft) => Draft} change */
  async #putBack(error, change) {
    if (!(error instanceof GoneDraftError)) throw error;
    await begin(this.draft);
    notice('cleared', 'The browser had cleared what was on this device. This inspection was put back; others that were not on the server yet are gone.');
    return update(this.draft.id, change, this.draft.version);
  }

  /** @param {unknown} error */
  #failed(error) {
    this.refused = true;
    if (error instanceof StaleDraftError) {
      this.#readOnly('This inspection was changed in another tab.');
      return;
    }
    const full = error instanceof DOMException && error.name === 'QuotaExceededError';
    const { failed: before } = this;
    setTimeout(() => void this.#heard(), AGAIN);
    this.failed = full ? 'Not saved: this device has no room left. Free some, or send what waits.' : `Not saved: ${error}`;
    this.#say();
    const { id } = this.draft;
    if (!before) notice('unsaved', 'What is on this page is not saved on this device. It is tried again while the page is open.', {
      label: 'Take it along as a file', act: () => takeAlong(id, this.draft.document),
    });
  }

  #say() {
    const { dirty, parked, conflict } = this.draft;
    if (this.readOnly) return;
    if (this.failed) showSaved('', this.failed);
    else if (this.typed?.refused) showSaved('', 'Not saved');
    else if (this.writes || (this.typed && !this.typed.kept)) showSaved('', 'Saving …');
    else if (parked) showSaved('device', `Saved on this device; the server refused it: ${parked.why}`);
    else if (dirty || this.typed) showSaved('device', 'Saved on this device · not yet on the server');
    else showSaved('server', conflict ? 'On the server, in two versions' : 'Saved on the server');
  }

  /** What is stored now may have been sent by any tab. */
  async #heard() {
    if (this.failed) await this.#write((now) => withDocument(now, withPhotosOf(this.draft.document, now.document)));
    const stored = await load(this.draft.id).catch(() => undefined);
    if (!stored || this.readOnly || this.failed) return;
    const { dirty, parked, conflict, base, photos } = stored;
    if (stored.version !== this.draft.version) return;
    this.draft = { ...this.draft, dirty, parked, conflict, base, photos };
    this.#say();
  }

  #typed() {
    const point = this.#current;
    if (!point || this.readOnly) return;
    if (this.typed && this.typed.point !== point) this.#leave();
    this.typed = { point, kept: false, refused: false };
    this.#say();
    this.timer ||= window.setTimeout(() => this.#keepTyping(), TYPING); // also while the typing goes on
  }

  /** What was typed becomes an answer when its point is left, if it can be one. */
  #leave() {
    if (this.typed) this.#answered(this.typed.point);
  }

  /** Keeps what is typed and no answer yet, so that a killed page gives it back. @param {boolean} leaving */
  #keepTyping(leaving = false) {
    const { typed } = this;
    clearTimeout(this.timer); this.timer = 0;
    if (!typed || typed.kept || this.readOnly) return;
    const typing = { point: typed.point.dataset.point ?? '', fields: fields(typed.point) };
    if (leaving) hold(this.draft.id, this.draft.version, typing);
    void this.#write((now) => ({ ...now, typing })).then(() => { typed.kept = !this.failed; if (typed.kept) release(this.draft.id); this.#say(); });
  }

  #restoreTyping() {
    const typing = held(this.draft.id, this.draft.version) ?? this.draft.typing;
    const point = this.points.find((candidate) => candidate.dataset.point === typing?.point);
    if (!typing || !point) return;
    restore(point, typing.fields);
    this.typed = { point, kept: true, refused: false };
  }

  /** @param {string} why */
  #readOnly(why) {
    this.readOnly = true;
    this.form.classList.add('read-only');
    showSaved('', `${why} This one only reads: close it, or close the other and load this page again.`);
  }
}
