// @ts-check
/** On every screen: how much is on this device only, and why. */

/** @param {number} count */
export const photoWords = (count) => (count === 1 ? '1 photo' : `${count} photos`);

/** @param {{ waiting: number, parked?: number, conflicts?: number, photos?: number, refused?: number, unpaired?: boolean }} counted */
export function showUnsent({ waiting, parked = 0, conflicts = 0, photos = 0, refused = 0, unpaired = false }) {
  const place = document.getElementById('unsent');
  if (!place) return;
  const words = [
    waiting && `${waiting} only on this device`,
    parked && `${parked} refused by the server`,
    conflicts && `${conflicts} in two versions`,
    photos && `${photoWords(photos)} only on this device`,
    refused && `${photoWords(refused)} refused by the server`,
  ].filter(Boolean);
  place.dataset.unsent = String(waiting + parked + photos + refused);
  place.hidden = words.length === 0;
  const link = place.querySelector('a');
  if (!link) return;
  link.href = unpaired ? '/pair' : '/book';
  link.textContent = [...words, ...(unpaired ? ['pair this device to send it'] : [])].join(' · ');
}
