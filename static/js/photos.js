// @ts-check
/**
 * Photos on this device. Their bytes are a record of their own, named by their hash and never written
 * again; at which point a photo is stands in the inspection's document, what the server said of it in
 * the inspection's record, so all three change together or not at all.
 *
 * @import { Draft } from './draft.js'
 * @typedef {'waiting' | 'sent' | import('./draft.js').Parked} PhotoState
 * @typedef {object} PhotoRecord
 * @property {string} sha256       of the bytes
 * @property {string} inspection   where it was taken first
 * @property {string} point
 * @property {ArrayBuffer} bytes   WebKit aborts a transaction that holds a Blob or a File
 * @property {string} type
 * @property {string} made         ISO time, to show and never to order by
 */
import { sha256 } from './canonical.js';
import { transact } from './db.js';
import { documentsOf } from './draft.js';

const LONGEST_SIDE = 2048;
const QUALITY = 0.85;
export const TYPE = 'image/jpeg';

export class NoPhotoError extends Error {}

/** @param {Record<string, any>} document @returns {Record<string, string[]>} point → hashes */
export const photosOf = (document) => document.photos ?? {};

/** @param {Record<string, any>} document @returns {string[]} each hash once */
export const namesIn = (document) => [...new Set(Object.values(photosOf(document)).flat())];

/** @param {Draft} draft @returns {string[]} hashes of those that the server has not taken yet */
export const waitingIn = (draft) => namesIn(draft.document).filter((name) => draft.photos?.[name] === 'waiting');

/** @param {Draft} draft @returns {string[]} hashes of those that the server refused */
export const refusedIn = (draft) => namesIn(draft.document).filter((name) => typeof draft.photos?.[name] === 'object');

/** The document with the photos of another. @param {Record<string, any>} document @param {Record<string, any>} other */
export function withPhotosOf(document, other) {
  const { photos, ...rest } = document;
  return /** @type {Record<string, any>} */ (other.photos ? { ...rest, photos: other.photos } : rest);
}

/** @param {Record<string, any>} document @param {string} point @param {string} name */
export function withPhoto(document, point, name) {
  const { [point]: there = [], ...others } = photosOf(document);
  return there.includes(name) ? document : { ...document, photos: { ...others, [point]: [...there, name] } };
}

/** @param {Record<string, any>} document @param {string} point @param {string} name */
export function withoutPhoto(document, point, name) {
  const { [point]: there = [], ...others } = photosOf(document);
  const left = there.filter((other) => other !== name);
  const photos = left.length ? { ...others, [point]: left } : others;
  return withPhotosOf(document, Object.keys(photos).length ? { photos } : {});
}

/** What is said of each photo, once the server took all that it does not miss. @param {Draft} draft @param {unknown} missing */
export function heardMissing(draft, missing) {
  const { photos = {} } = draft;
  if (!Array.isArray(missing)) return photos;
  const told = namesIn(draft.document).filter((name) => typeof photos[name] === 'string')
    .map((name) => /** @type {[string, PhotoState]} */ ([name, missing.includes(name) ? 'waiting' : 'sent']));
  return { ...photos, ...Object.fromEntries(told) };
}

/** All photos of this device are offered again, the refused ones too. @param {Draft} draft @returns {Record<string, PhotoState>} */
export const offeredAgain = ({ photos = {} }) => Object.fromEntries(Object.keys(photos).map((name) => [name, 'waiting']));

/** The size at which no side is too long, never larger. @param {number} width @param {number} height */
export function fitted(width, height) {
  const scale = Math.min(1, LONGEST_SIDE / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/**
 * The picture of a file as a JPEG of nothing but its pixels: no place, no time, no camera. It is turned
 * as the camera said. Throws NoPhotoError. @param {Blob} file @returns {Promise<ArrayBuffer>}
 */
export async function encode(file) {
  const picture = await createImageBitmap(file).catch(() => { throw new NoPhotoError('this browser can’t read that file as a picture'); });
  const canvas = Object.assign(document.createElement('canvas'), fitted(picture.width, picture.height));
  const pen = canvas.getContext('2d');
  if (!pen) throw new NoPhotoError('this browser has no memory left to draw it');
  pen.imageSmoothingQuality = 'high';
  pen.fillStyle = '#fff'; // JPEG has no transparency
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const made = /** @type {Blob | null} */ (await new Promise((done) => canvas.toBlob(done, TYPE, QUALITY)));
  canvas.width = canvas.height = 0; // WebKit gives the memory back only so
  if (made?.type !== TYPE) throw new NoPhotoError('this browser can’t make a JPEG of it');
  return made.arrayBuffer();
}

/** @param {string} name @returns {Promise<PhotoRecord | undefined>} */
export const read = (name) => transact(['photos'], 'readonly', (t) => t.objectStore('photos').get(name));

/** The record, if its bytes are what they were. @param {string} name */
export async function readWhole(name) {
  const record = await read(name);
  return record && await sha256(record.bytes) === name ? record : undefined;
}

/** Lets go of bytes that no inspection speaks of any more, not even one that "undo" would bring back. */
export const tidy = () => transact(['drafts', 'photos'], 'readwrite', (t) => {
  const photos = t.objectStore('photos');
  const asked = t.objectStore('drafts').getAll();
  asked.onsuccess = () => {
    const drafts = /** @type {Draft[]} */ (asked.result);
    const used = new Set(drafts.flatMap(documentsOf).flatMap(namesIn));
    const kept = photos.getAllKeys();
    kept.onsuccess = () => {
      for (const name of kept.result) if (!used.has(String(name))) photos.delete(name);
    };
  };
});
