// @ts-check
/**
 * What "undo" needs, change by change: only what a change took away, for it is written to the disk with
 * every answer and read whenever somebody asks what waits.
 *
 * @typedef {[key: string, point: string | null, ...was: any[]][]} Step  where it stood, and what; nothing: nothing stood there
 */

/** What an inspection holds by point: a change there takes away that point's only. */
const BY_POINT = new Set(['answers', 'photos']);

/** @param {any} value @returns {value is Record<string, any>} */
const isMapping = (value) => value !== null && typeof value === 'object' && !Array.isArray(value);

/** The keys under which two mappings differ. @param {Record<string, any>} one @param {Record<string, any>} other */
const differing = (one, other) => Object.keys({ ...one, ...other }).filter((key) => JSON.stringify(one[key]) !== JSON.stringify(other[key]));

/** @param {Record<string, any>} mapping @param {string} key */
const standing = (mapping, key) => (Object.hasOwn(mapping, key) ? [mapping[key]] : []);

/** What stands in one document and not in the one that follows. @param {Record<string, any>} was @param {Record<string, any>} now @returns {Step} */
export const taken = (was, now) => differing(was, now).flatMap((key) => {
  const [before, after] = [was[key], now[key]];
  if (!BY_POINT.has(key) || !isMapping(before) || !isMapping(after)) return [/** @type {Step[0]} */ ([key, null, ...standing(was, key)])];
  return differing(before, after).map((point) => /** @type {Step[0]} */ ([key, point, ...standing(before, point)]));
});

/** @param {Record<string, any>} mapping @param {string} key @param {any[]} was */
function putBack(mapping, key, was) {
  const { [key]: _, ...others } = mapping;
  return was.length ? { ...others, [key]: was[0] } : others;
}

/** @param {Record<string, any>} document @param {Step} step */
export const before = (document, step) => step.reduce((found, [key, point, ...was]) => (
  point === null ? putBack(found, key, was) : { ...found, [key]: putBack(found[key], point, was) }), document);
