// @ts-check
/** On every screen: how much is on this device only, and why. */

/** @param {{ waiting: number, parked?: number, conflicts?: number }} counted */
export function showUnsent({ waiting, parked = 0, conflicts = 0 }) {
  const place = document.getElementById('unsent');
  if (!place) return;
  const words = [
    waiting && `${waiting} only on this device`,
    parked && `${parked} refused by the server`,
    conflicts && `${conflicts} in two versions`,
  ].filter(Boolean);
  place.dataset.unsent = String(waiting + parked);
  place.hidden = words.length === 0;
  const link = place.querySelector('a') ?? place;
  link.textContent = words.join(' · ');
}
