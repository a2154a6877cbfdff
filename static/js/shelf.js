// @ts-check
/**
 * References kept on this device. An edition's model and pictures lie in a cache of their own, which
 * every build leaves alone; its empty pages lie with the build that made them. The list of the parts
 * is put in last: an edition whose list is there is there whole.
 */
import { BUILD } from './build.js';
import { all } from './draft.js';

/**
 * @typedef {{ url: string, type: string, sha256: string, bytes: number }} Part  the hash's first half
 * @typedef {{ url: string, bytes: number, text?: string }} Shell  an empty page, whole in the list
 * @typedef {object} Pack
 * @property {string} build  that the empty pages are of
 * @property {string} hash   of the edition, whole
 * @property {string} id
 * @property {string} title
 * @property {boolean} [general]  for what no other reference fits; absent in older lists
 * @property {string} about
 * @property {string} edition
 * @property {[number, number]} covers
 * @property {number} points
 * @property {Part[]} files
 * @property {Shell[]} shells
 */

const PREFIX = 'references-';

export class NotKeptError extends Error {}

/** @param {string} hash  of an edition, whole or its beginning */
export const digitsOf = (hash) => hash.slice(0, 16);
/** @param {string} digits */
const listAddress = (digits) => `/references/${digits}/pack.json`;
/** @param {Pack} pack @returns {number} bytes on this device */
export const sizeOf = (pack) => [...pack.files, ...pack.shells].reduce((sum, part) => sum + part.bytes, 0);
/** @param {number} bytes @returns {string} */
export const sizeWords = (bytes) => (bytes < 999_500 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`);

/**
 * What to fetch and what to let go, given the editions offered now, those here and those that
 * inspections here began with. An edition that an inspection uses always stays.
 * @param {{ offered: { id: string, digits: string }[], kept: { id: string, digits: string }[], used: string[] }} found
 * @returns {{ fetch: string[], drop: string[] }}
 */
export function plan({ offered, kept, used }) {
  const here = new Set(kept.map(({ digits }) => digits));
  const current = new Map(offered.map(({ id, digits }) => [id, digits]));
  const renewed = kept.flatMap(({ id }) => current.get(id) ?? []);
  const old = kept.filter(({ id, digits }) => current.has(id) && current.get(id) !== digits && !used.includes(digits));
  return {
    fetch: [...new Set([...renewed, ...used])].filter((digits) => !here.has(digits)),
    drop: old.map(({ digits }) => digits),
  };
}

/** @param {Part} part @returns {Promise<Response>} */
async function checked({ url, type, sha256 }) {
  // What a page has fetched already is not fetched again, unless that is not what it should be.
  for (const cache of /** @type {const} */ (['default', 'reload'])) {
    const reply = await fetch(url, { cache, credentials: 'same-origin', redirect: 'error' });
    const digest = await crypto.subtle.digest('SHA-256', await reply.clone().arrayBuffer());
    const found = Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, '0')).join('');
    const came = (reply.headers.get('Content-Type') ?? '').split(';')[0];
    if (reply.ok && came === type && found.startsWith(sha256)) return reply;
  }
  throw new NotKeptError(`${url} did not come as it is`);
}

/** Puts those parts in that are not there yet. @param {string} name @param {Part[]} parts */
async function put(name, parts) {
  const cache = await caches.open(name);
  await Promise.all(parts.map(async (part) => {
    if (!await cache.match(part.url, { ignoreVary: true })) await cache.put(part.url, await checked(part));
  }));
}

/**
 * Puts the empty pages in; each gets the list's own headers, which are those of every page.
 * @param {string} name @param {Shell[]} shells @param {Response} list
 */
async function putShells(name, shells, list) {
  const cache = await caches.open(name);
  const headers = new Headers(list.headers);
  headers.set('Content-Type', 'text/html; charset=utf-8');
  for (const each of ['Content-Encoding', 'Content-Length']) headers.delete(each);
  await Promise.all(shells.map(({ url, text }) => cache.put(url, new Response(text, { headers }))));
}

/** @param {string} digits @returns {Promise<Pack | undefined>} what is kept of an edition */
export async function kept(digits) {
  const reply = await caches.match(listAddress(digits), { cacheName: PREFIX + digits });
  return reply?.json();
}

/** @returns {Promise<Pack[]>} every edition on this device, the first one kept first */
export async function allKept() {
  const names = (await caches.keys()).filter((name) => name.startsWith(PREFIX));
  const packs = await Promise.all(names.map((name) => kept(name.slice(PREFIX.length))));
  return packs.filter((pack) => pack !== undefined);
}

/** Whether the empty pages of an edition are here in this page's build. @param {string} digits */
export async function opensHere(digits) {
  return !!await caches.match(`/references/${digits}/inspection`, { cacheName: `shell-${BUILD}`, ignoreVary: true });
}

/**
 * Keeps an edition on this device, whole or not at all. NotKeptError if anything came otherwise than
 * it should; whatever was here before is still here then.
 * @param {string} hash @returns {Promise<Pack>}
 */
export async function keep(hash) {
  const digits = digitsOf(hash);
  const reply = await fetch(listAddress(digits), { cache: 'no-store', credentials: 'same-origin', redirect: 'error' });
  if (!reply.ok || !reply.headers.get('Content-Type')?.startsWith('application/json')) throw new NotKeptError(`edition ${digits} can not be had now`);
  const pack = /** @type {Pack} */ (await reply.json());
  if (digitsOf(pack.hash) !== digits) throw new NotKeptError(`edition ${digits} came as another`);
  await put(PREFIX + digits, pack.files);
  // Of a server that is ahead of this page the pages are of its build; the next worker fetches its own.
  await putShells(`shell-${pack.build}`, pack.shells, reply);
  const kept = { ...pack, shells: pack.shells.map(({ url, bytes }) => ({ url, bytes })) };
  await (await caches.open(PREFIX + digits)).put(listAddress(digits), Response.json(kept));
  return pack;
}

/** @returns {Promise<string[]>} the editions that inspections on this device began with */
export async function usedDigits() {
  return [...new Set((await all()).map((draft) => digitsOf(draft.reference)))];
}

/** Lets an edition go, unless an inspection here uses it. @param {string} hash @returns {Promise<boolean>} */
export async function drop(hash) {
  const digits = digitsOf(hash);
  if ((await usedDigits()).includes(digits)) return false;
  await caches.delete(PREFIX + digits);
  for (const name of (await caches.keys()).filter((each) => each.startsWith('shell-'))) {
    const cache = await caches.open(name);
    const mine = (await cache.keys()).filter(({ url }) => new URL(url).pathname.startsWith(`/references/${digits}/`));
    await Promise.all(mine.map((request) => cache.delete(request)));
  }
  return true;
}

/**
 * Brings the shelf up to what is offered now and to what inspections here use. What can't be had now
 * is left for another time.
 * @param {{ id: string, digits: string }[]} offered
 */
export async function refresh(offered) {
  const packs = (await allKept()).map((pack) => ({ id: pack.id, digits: digitsOf(pack.hash) }));
  const todo = plan({ offered, kept: packs, used: await usedDigits() });
  const bare = await Promise.all(packs.map(async ({ digits }) => (await opensHere(digits) ? '' : digits)));
  let whole = true;
  for (const digits of [...todo.fetch, ...bare.filter(Boolean)]) {
    await keep(digits).catch(() => { whole = false; });
  }
  if (whole) for (const digits of todo.drop) await drop(digits);
}
