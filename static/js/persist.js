// @ts-check
/** Whether the browser may clear what this device keeps, in words, and a way to ask it not to. */

/** @param {boolean | undefined} answer  undefined: the browser has no word for it @returns {string} */
export function persistWords(answer) {
  if (answer) return 'The browser promised to keep what is on this device.';
  if (answer === false) return 'The browser may clear what is on this device when it needs room: send what waits before the day ends.';
  return 'This browser does not say how long it keeps what is on this device: send what waits before the day ends.';
}

/** @returns {Promise<boolean | undefined>} */
export const isPersisted = async () => navigator.storage?.persisted?.();

/** Asks the browser to keep what is here. Some ask the person, so this follows a tap. @returns {Promise<boolean | undefined>} */
export const askToPersist = async () => navigator.storage?.persist?.();

/** @param {HTMLElement} place  holds a p and a button */
export async function wirePersist(place) {
  const words = /** @type {HTMLElement} */ (place.querySelector('p'));
  const button = /** @type {HTMLButtonElement} */ (place.querySelector('button'));
  const show = (/** @type {boolean | undefined} */ answer, asked = false) => {
    words.textContent = persistWords(answer);
    button.hidden = answer !== false || asked;
  };
  button.addEventListener('click', async () => show(await askToPersist(), true));
  show(await isPersisted());
}
