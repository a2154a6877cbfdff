// @ts-check
/** Says how to put the app on this device, in the words of the platform; nothing where it is already. */

/**
 * @typedef {{ standalone: boolean, canAsk: boolean, apple: boolean, waiting: number }} Where
 * @typedef {{ words: string, asks: boolean }} Hint
 */

/** @param {Where} where @returns {Hint | null} */
export function hint({ standalone, canAsk, apple, waiting }) {
  if (standalone) return null;
  if (canAsk) return { words: 'Install the app: it opens from the home screen, without a network.', asks: true };
  if (!apple) return null;
  const first = waiting ? `Send the ${waiting} still waiting first: the home-screen app has a store of its own. ` : '';
  return {
    words: `${first}Tap Share, then “Add to Home Screen”. After seven days without a visit the browser clears what a plain tab keeps; a home-screen app keeps its own.`,
    asks: false,
  };
}

/** An iPad calls itself a Macintosh, but has a touch screen. @param {string} agent @param {number} touches */
export const isApple = (agent, touches) => /iPhone|iPad|iPod/.test(agent) || (agent.includes('Macintosh') && touches > 1);

const isStandalone = () =>
  matchMedia('(display-mode: standalone)').matches || /** @type {any} */ (navigator).standalone === true;

/** @param {HTMLElement} place  holds a p and a button @param {() => Promise<number>} waiting  how many are on this device only */
export function wireInstall(place, waiting) {
  const words = /** @type {HTMLElement} */ (place.querySelector('p'));
  const button = /** @type {HTMLButtonElement} */ (place.querySelector('button'));
  /** @type {any} */
  let prompt = null;
  const show = async () => {
    const found = hint({
      standalone: isStandalone(), canAsk: !!prompt, apple: isApple(navigator.userAgent, navigator.maxTouchPoints), waiting: await waiting(),
    });
    place.hidden = !found;
    words.textContent = found?.words ?? '';
    button.hidden = !found?.asks;
  };
  addEventListener('beforeinstallprompt', (event) => { event.preventDefault(); prompt = event; void show(); });
  addEventListener('appinstalled', () => { prompt = null; place.hidden = true; });
  button.addEventListener('click', () => { prompt?.prompt(); prompt = null; void show(); });
  return show();
}
