// @ts-check
/**
 * A card that was made here without a seal: when the server can be reached, it is asked to judge the
 * answers again and to seal what comes of that. The same card asked for twice is the same one there.
 */
import { update } from './draft.js';
import { faultWords } from './engine/errors.js';
import { showSealed } from './resultview.js';

const LONGEST = 15_000; // milliseconds

/**
 * @param {string} id  of the inspection @param {string} digits  of the unsealed card
 * @returns {Promise<{ address: string, issuer: string } | string | null>}  a text: why never; null: not now
 */
async function ask(id, digits) {
  try {
    const reply = await fetch(`/api/inspections/${id}/card`, {
      method: 'PUT', redirect: 'error', cache: 'no-store', credentials: 'same-origin',
      headers: { 'Content-Type': 'application/json', 'X-Outbox': '1' },
      body: JSON.stringify({ card: digits, leave: true }), signal: AbortSignal.timeout(LONGEST),
    });
    const said = await reply.json();
    if (reply.status === 200 && said?.uuid === id && said.card === digits) return { address: said.address, issuer: said.issuer };
    const why = said?.faults?.map(faultWords).join(' ');
    return said?.again === false && why ? why : null;
  } catch {
    return null; // no network, or a page of somebody else's in place of JSON
  }
}

/** Asks now and each time the device speaks to the server, until the card is sealed or never will be. @param {HTMLElement} root @param {string} id @param {string} digits */
export function keepSealing(root, id, digits) {
  let busy = false;
  const go = async () => {
    if (busy) return;
    busy = true;
    const found = await ask(id, digits);
    busy = false;
    if (found === null) return;
    removeEventListener('quickcheck:told', go);
    const place = root.querySelector('[data-sealing]');
    if (typeof found === 'string') {
      if (place) place.textContent = `The server will not seal it. ${found}`;
      return;
    }
    await update(id, (now) => ({ ...now, ...(now.card ? { card: { ...now.card, sealed: found } } : {}) }));
    showSealed(root, found);
  };
  addEventListener('quickcheck:told', go);
  void go();
}
