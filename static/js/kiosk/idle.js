// @ts-check
/**
 * How long nobody was at a kiosk, by the wall clock: a timer stands still while the machine sleeps, so
 * it only asks. All tabs share the time, for one person uses them all.
 */
import { remember, remembered } from '../remember.js';

const SEEN = 'quickcheck-seen';
const EVERY = 1000;
const TELL = 8000; // milliseconds: the server allows for ten seconds (web/turns.py)
const LONGEST = 600; // seconds: a tab behind another one waits for what may be open there
const SIGNS = ['pointerdown', 'keydown', 'wheel', 'input'];
const WAKES = ['pageshow', 'focus', 'resume'];

/** @typedef {{ idle: number, warning: number }} Limits  seconds */

/** Seconds since somebody was there; a clock that was put back begins anew. */
function idleFor() {
  const seen = Number(remembered(SEEN) ?? NaN);
  const now = Date.now();
  if (!(seen <= now)) remember(SEEN, String(now));
  return seen <= now ? (now - seen) / 1000 : 0;
}

/** Somebody is there now. */
export const arrived = () => remember(SEEN, String(Date.now()));

/**
 * @param {Limits} limits
 * @param {{ warn: (seconds: number) => void, calm: () => void, over: () => void, tell: () => void }} act
 */
export function watch({ idle, warning }, { warn, calm, over, tell }) {
  let told = 0;
  /** @returns {number} seconds that are left */
  const look = () => {
    const limit = document.hidden ? Math.max(idle, LONGEST) : idle;
    const left = limit - idleFor();
    if (left <= 0) over();
    else if (left <= warning) warn(Math.ceil(left));
    else calm();
    return left;
  };
  const here = () => {
    // The first tap after a long sleep is the next person's; once it is asked, the answer counts alone.
    if (look() <= warning) return;
    arrived();
    if (Math.abs(Date.now() - told) < TELL) return;
    told = Date.now();
    tell();
  };
  for (const sign of SIGNS) addEventListener(sign, here, { capture: true, passive: true });
  for (const wake of WAKES) addEventListener(wake, look);
  document.addEventListener('visibilitychange', look);
  setInterval(look, EVERY);
  look();
}
