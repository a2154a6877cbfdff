// @ts-check
/**
 * Passing a card on. The links do something sensible by themselves: one loads the picture, one opens
 * the card. Where the system has a sheet for sharing they open that; where it has none, the address is
 * copied, and where it can't be, it is shown to be copied by hand.
 */
import { html } from './dom.js';
import { save } from './takealong.js';

const LONGEST = 10_000; // milliseconds that a picture may take to come

/**
 * What is passed on; `file` makes the picture.
 * @typedef {{ address: string, title: string, file: () => Promise<File> }} Shared
 */

/** The server's picture. @param {string} address @param {string} name @returns {Promise<File>} */
export async function fetched(address, name) {
  const reply = await fetch(address, { cache: 'no-store', redirect: 'error', signal: AbortSignal.timeout(LONGEST) });
  const bytes = await reply.blob();
  // a hall's sign-in page answers as well, with a page of its own
  if (!reply.ok || bytes.type !== 'image/png') throw new Error('no picture came');
  return new File([bytes], name, { type: bytes.type });
}

/** A name that every system can keep. @param {string} serial */
export const pictureName = (serial) => `card-${serial.replace(/[^\w-]+/g, '-') || 'no-serial'}.png`;

/** Opens the sheet; false where there is none for this or it fails, null where the tap was too long ago. @param {ShareData} what @returns {Promise<boolean | null>} */
async function onSheet(what) {
  if (!navigator.canShare?.(what)) return false;
  try {
    await navigator.share(what);
  } catch (error) {
    const { name } = /** @type {Error} */ (error);
    if (name === 'NotAllowedError') return null; // too long since the tap
    if (name !== 'AbortError') return false; // the person closed it: that is an answer
  }
  return true;
}

/** @param {string} text */
async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}

/** One place with the ways to pass one card on. */
class Sharing {
  /** @param {HTMLElement} place @param {() => Shared} what */
  constructor(place, what) {
    this.what = what;
    this.said = /** @type {HTMLElement} */ (place.querySelector('[role="status"]'));
    /** @type {{ address: string, file: File } | null} made at an earlier tap */
    this.made = null;
    for (const [act, go] of /** @type {const} */ ([['picture', () => this.picture()], ['link', () => this.link()]])) {
      place.querySelector(`[data-share="${act}"]`)?.addEventListener('click', (event) => { event.preventDefault(); void go(); });
    }
    place.hidden = false;
  }

  async picture() {
    const { address, title, file } = this.what();
    try {
      if (this.made?.address !== address) this.made = { address, file: await file() };
    } catch {
      this.said.textContent = 'The picture did not come. Try again where the server answers, or share the link.';
      return;
    }
    const opened = await onSheet({ files: [this.made.file], title });
    if (opened === null) this.said.textContent = 'The picture is ready. Tap again to share it.';
    else if (!opened) {
      save(this.made.file.name, URL.createObjectURL(this.made.file));
      this.said.textContent = 'Saved as a picture; this browser has no sheet for sharing.';
    } else this.said.textContent = '';
  }

  async link() {
    const { address, title } = this.what();
    this.said.textContent = '';
    if (await onSheet({ url: address, title })) return;
    if (await copied(address)) this.said.textContent = 'The address is copied.';
    else this.#byHand(address);
  }

  /** @param {string} address */
  #byHand(address) {
    const field = /** @type {HTMLInputElement} */ (html('input', { type: 'text', readonly: '', value: address, 'aria-label': 'Address of the card' }));
    this.said.replaceChildren('Copy this: ', field);
    field.select();
  }
}

/** @param {HTMLElement} place @param {() => Shared} what  asked at every tap: a card may have been sealed since */
export function wireSharing(place, what) {
  return new Sharing(place, what);
}

/** The cards that the server has put on the page, each with its links. @param {ParentNode} page */
export function wireShared(page) {
  for (const place of /** @type {NodeListOf<HTMLElement>} */ (page.querySelectorAll('[data-sharing*="/c/"]'))) {
    const { sharing: address = '' } = place.dataset;
    const picture = /** @type {HTMLAnchorElement} */ (place.querySelector('[data-share="picture"]'));
    wireSharing(place, () => ({ address, title: document.title, file: () => fetched(picture.href, picture.download) }));
  }
}
