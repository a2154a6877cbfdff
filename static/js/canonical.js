// @ts-check
/** A document as the one text that phone and server agree on: keys sorted, no spaces, NFC. */

/** @param {unknown} value @returns {string} */
export function canonicalText(value) {
  if (typeof value === 'string') return JSON.stringify(value.normalize('NFC'));
  if (Array.isArray(value)) return `[${value.map((item) => canonicalText(item ?? null)).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const entries = Object.entries(value).filter(([, item]) => item !== undefined);
  const named = entries.map(([key, item]) => /** @type {[string, unknown]} */ ([key.normalize('NFC'), item]));
  named.sort(([a], [b]) => (a < b ? -1 : Number(a > b)));
  return `{${named.map(([key, item]) => `${JSON.stringify(key)}:${canonicalText(item)}`).join(',')}}`;
}

/** @param {string | ArrayBuffer} content @returns {Promise<string>} 64 hex digits */
export async function sha256(content) {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  const digest = await crypto.subtle.digest('SHA-256', bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}
