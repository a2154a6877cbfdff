// @ts-check
/**
 * Photos at each point: take or choose one, see what is there, remove it.
 *
 * @import { Device } from './device.js'
 * @import { PhotoRecord } from './photos.js'
 */
import { sha256 } from './canonical.js';
import { html } from './dom.js';
import { encode, photosOf, readWhole, TYPE, tidy, withoutPhoto, withPhoto } from './photos.js';
import { save } from './takealong.js';

const FULL = 'this device has no room left for it. The answers are saved. Send what waits, or free some room';

/** @param {unknown} error */
function reason(error) {
  if (error instanceof DOMException && error.name === 'QuotaExceededError') return FULL;
  return error instanceof Error ? error.message : String(error);
}

/** @param {string} label @param {string} about @param {() => void} act */
function button(label, about, act) {
  const made = html('button', { type: 'button', class: 'quiet', 'aria-label': about && `${label}: ${about}` }, label);
  made.addEventListener('click', act);
  return made;
}

export class PhotoView {
  /** @param {Device} device */
  constructor(device) {
    this.device = device;
    /** What each point shows now. @type {Map<string, string>} */
    this.painted = new Map();
    this.point = '';
    /** What went wrong at each point since a button was pressed there. @type {Map<string, Set<string>>} */
    this.faults = new Map();
    this.adding = Promise.resolve();
    // Outside the form: what is chosen here is no field of the point.
    this.taking = this.#picker({ id: 'take-photo', capture: 'environment' });
    this.choosing = this.#picker({ id: 'choose-photo', multiple: '' });
  }

  wire() {
    for (const fieldset of this.device.points) {
      const place = this.#place(fieldset.dataset.point ?? '');
      const pick = (/** @type {HTMLInputElement} */ input) => () => {
        this.point = fieldset.dataset.point ?? '';
        this.faults.delete(this.point);
        input.click();
      };
      place?.append(
        html('p', { class: 'add' }, button('Take a photo', '', pick(this.taking)), button('Choose photos', '', pick(this.choosing))),
        html('p', { role: 'status' }),
      );
      if (place) place.hidden = false;
    }
    addEventListener('quickcheck:saved', () => this.paint());
    addEventListener('quickcheck:told', () => this.paint());
    this.paint();
    void tidy().catch(() => undefined); // the next time will do
  }

  /** @param {Record<string, string>} attributes @returns {HTMLInputElement} */
  #picker(attributes) {
    const input = /** @type {HTMLInputElement} */ (html('input', { type: 'file', accept: 'image/*', hidden: '', ...attributes }));
    input.addEventListener('change', () => {
      const files = [...input.files ?? []];
      input.value = ''; // the same file chosen again is a change again
      void this.add(this.point, files);
    });
    document.body.append(input);
    return input;
  }

  /** @param {string} point @returns {HTMLElement | null} */
  #place(point) {
    return document.querySelector(`fieldset[data-point="${point}"] .photos`);
  }

  /** @param {string} point @param {string} words */
  #say(point, words) {
    const said = this.#place(point)?.querySelector('[role=status]');
    if (said) said.textContent = words;
  }

  /** One after the other: a large picture takes much memory. @param {string} point @param {File[]} files */
  add(point, files) {
    for (const file of files) this.adding = this.adding.then(() => this.#add(point, file));
    return this.adding;
  }

  /** @param {string} point @param {File} file */
  async #add(point, file) {
    const faults = this.faults.get(point) ?? new Set();
    this.#say(point, 'Saving the photo …');
    try {
      await this.#keep(point, await encode(file));
    } catch (error) {
      this.faults.set(point, faults.add(`A photo was not saved: ${reason(error)}.`));
    }
    this.#say(point, [...faults].join(' '));
  }

  /** Says nothing until the bytes were read back as they are. @param {string} point @param {ArrayBuffer} bytes */
  async #keep(point, bytes) {
    const name = await sha256(bytes);
    /** @type {PhotoRecord} */
    const record = { sha256: name, inspection: this.device.draft.id, point, bytes, type: TYPE, made: new Date().toISOString() };
    await this.device.changePhotos((document) => withPhoto(document, point, name), record);
    if (await readWhole(name)) return;
    await this.device.changePhotos((document) => withoutPhoto(document, point, name));
    throw new Error('this device gave it back damaged');
  }

  /** Brings the pictures at all points up to date. */
  paint() {
    const { document, photos: states = {} } = this.device.draft;
    const photos = photosOf(document);
    for (const fieldset of this.device.points) {
      const point = fieldset.dataset.point ?? '';
      const names = photos[point] ?? [];
      const shows = JSON.stringify(names.map((name) => [name, states[name]]));
      if (shows === (this.painted.get(point) ?? '[]')) continue;
      this.painted.set(point, shows);
      this.#place(point)?.querySelector('ul')?.replaceChildren(...names.map((name, index) => this.#item(point, name, index)));
    }
  }

  /** @param {string} point @param {string} name @param {number} index */
  #item(point, name, index) {
    const about = `photo ${index + 1}`;
    const state = this.device.draft.photos?.[name];
    const image = /** @type {HTMLImageElement} */ (html('img', { alt: `Photo ${index + 1}`, width: 96, height: 96 }));
    void this.#fill(image, name);
    return html('li', { 'data-photo': name }, image,
      state === 'waiting' && html('small', {}, 'not yet on the server'),
      typeof state === 'object' && html('small', { class: 'refused' }, `The server refused it: ${state.why}`),
      typeof state === 'object' && button('Take along', about, () => void this.#takeAlong(name)),
      button('Remove', about, () => void this.#remove(point, name)));
  }

  /** From this device, else from the server. @param {HTMLImageElement} image @param {string} name */
  async #fill(image, name) {
    const url = await this.#url(name);
    const done = () => { if (url) URL.revokeObjectURL(url); };
    image.onload = done;
    image.onerror = () => { done(); image.replaceWith(html('span', { class: 'absent' }, 'not on this device')); };
    image.src = url ?? `/inspections/${this.device.draft.id}/photos/${name}`;
  }

  /** @param {string} name @returns {Promise<string | undefined>} of an object; to be revoked */
  async #url(name) {
    const record = await readWhole(name).catch(() => undefined);
    return record && URL.createObjectURL(new Blob([record.bytes], { type: record.type }));
  }

  /** @param {string} name */
  async #takeAlong(name) {
    const url = await this.#url(name);
    if (url) save(`${name.slice(0, 12)}.jpg`, url);
  }

  /** Its bytes stay as long as "undo" can bring it back. @param {string} point @param {string} name */
  async #remove(point, name) {
    try {
      await this.device.changePhotos((document) => withoutPhoto(document, point, name));
      this.#say(point, 'Photo removed.');
      /** @type {HTMLElement | null | undefined} */ (this.#place(point)?.querySelector('.add button'))?.focus();
    } catch (error) {
      this.#say(point, `The photo was not removed: ${reason(error)}.`);
    }
  }
}
