// @ts-check
/**
 * A kiosk between two people: the one routine by which a visit ends, whatever ends it. What is here goes
 * to the server or to the organizer, the cookie is changed, and then nothing of it is left in the page,
 * in what the browser keeps, or behind the Back button.
 */
import { dropApp } from './kiosk/app.js';
import { clear, shut } from './kiosk/aside.js';
import { arrived, watch } from './kiosk/idle.js';
import { settle } from './kiosk/typed.js';
import { alone, flush } from './outbox.js';
import { forget, remember, remembered } from './remember.js';

const VISIT = 'quickcheck-visit'; // the visit of the page that was opened last
const OPEN = 'quickcheck-open'; // of this tab: a page that was not left
const TYPING = 'quickcheck-typing-';
const AGAIN = 2000;
const LONGEST = 5000;

const html = document.documentElement;
const { visit = '', idle = '90', warning = '30' } = html.dataset;
const inspecting = Number(idle) > 90;
let leaving = false;

/** @param {string} id */
const dialog = (id) => /** @type {HTMLDialogElement | null} */ (document.getElementById(id));

/** @param {string} address @param {Record<string, string>} fields */
const post = (address, fields) => fetch(address, {
  method: 'POST', body: new URLSearchParams(fields), headers: { Accept: 'application/json' },
  redirect: 'error', cache: 'no-store', signal: AbortSignal.timeout(LONGEST),
});

/** Whether this tab's page went without leaving: the browser was killed, and opens again what was open. */
function wasKilled() {
  try { return sessionStorage.getItem(OPEN) === visit; } catch { return false; }
}

function forgetWords() {
  try {
    sessionStorage.clear();
    for (const key of Object.keys(localStorage)) if (key.startsWith(TYPING)) forget(key);
  } catch { /* this browser keeps no words */ }
  document.cookie = 'veil=; path=/; max-age=0; SameSite=Strict';
}

/** Nothing is left to see, to go back to or to be written by what still runs here. */
async function wipe() {
  forgetWords();
  addEventListener('pagehide', forgetWords); // after what others note there
  await shut();
  for (const each of document.querySelectorAll('[src^="blob:"], [href^="blob:"]')) URL.revokeObjectURL(each.getAttribute('src') ?? each.getAttribute('href') ?? '');
  document.title = 'quickcheck';
  document.body.replaceChildren();
}

/** @param {string} next  the mark of the visit that begins */
async function leave(next) {
  await wipe();
  remember(VISIT, next); // other tabs hear of it
  arrived();
  location.replace('/');
}

/** @returns {Promise<string | null>} "y" or "n"; null: go on here */
function asked() {
  const box = dialog('keep');
  if (!box) return Promise.resolve('y');
  return new Promise((done) => {
    box.returnValue = '';
    box.addEventListener('close', () => done(box.returnValue || null), { once: true });
    box.showModal();
  });
}

/** The server does not answer: this page says no more than that, and what is here waits for it. */
function wait() {
  const words = Object.assign(document.createElement('p'), { className: 'leaf waiting lead', textContent: 'One moment: the server does not answer. This machine goes on by itself.' });
  words.setAttribute('role', 'status');
  if (!document.querySelector('p.waiting')) document.body.replaceChildren(words);
  return new Promise((done) => setTimeout(done, AGAIN));
}

/** One try. @param {string} keep @returns {Promise<{ ask?: boolean, visit?: string }>} rejects where the server does not answer */
async function end(keep) {
  if (keep !== 'n') await flush();
  return alone(async () => {
    const reply = await post('/hand-over', { keep });
    if (reply.status >= 500) throw new Error('the server can not do it now');
    const said = reply.ok ? await reply.json() : { visit: '' }; // another tab was first, or it is no kiosk any more
    if (!said.ask) await clear(keep !== 'n');
    return said;
  });
}

/** The routine. @param {string} keep  what becomes of what is unfinished: "y", "n", or "" to ask */
async function handOver(keep) {
  if (leaving) return;
  leaving = true;
  dialog('still-here')?.close();
  await settle().catch(() => undefined);
  for (;;) {
    try {
      const said = await end(keep);
      if (!said.ask) { await leave(said.visit ?? ''); return; }
      const chosen = await asked();
      if (chosen === null) { leaving = false; return; }
      keep = chosen;
    } catch {
      keep = keep || 'y'; // nothing is discarded that nobody asked to
      await wait();
    }
  }
}

/** @param {number} seconds */
function warn(seconds) {
  const box = dialog('still-here');
  if (!box || leaving) return;
  const place = box.querySelector('[data-seconds]');
  if (place) place.textContent = String(seconds);
  if (!box.open) box.showModal();
}

async function tell() {
  const reply = await post('/hand-over/here', { inspecting: inspecting ? 'y' : 'n' }).catch(() => undefined);
  if (reply?.status === 409) void handOver('y');
}

/** What the visit before left here, if it ended without this routine: by a plain form, or at the server. */
async function tidyUp() {
  if (remembered(VISIT) === null) { // it was no kiosk until now, and what was typed here may be somebody's
    await flush().catch(() => undefined);
    remember(VISIT, 'none'); // where nothing is remembered, each page would take itself for the first
  }
  const before = remembered(VISIT);
  if (before !== null && before !== visit) { await alone(() => clear(true)); forgetWords(); }
  remember(VISIT, visit);
}

function wire() {
  addEventListener('pagehide', () => { delete html.dataset.mine; try { sessionStorage.removeItem(OPEN); } catch { /* as above */ } });
  addEventListener('pageshow', (event) => {
    if (!event.persisted) return; // else it was put away whole: whose turn it is now, the server says
    if (remembered(VISIT) === visit) location.reload();
    else location.replace('/');
  });
  addEventListener('storage', ({ key, newValue }) => {
    if (key === VISIT && newValue !== visit && !leaving) { leaving = true; void wipe().then(() => location.replace('/')); }
  });
  dialog('still-here')?.addEventListener('close', () => { if (!leaving) { arrived(); void tell(); } });
  document.querySelector('form.turn')?.addEventListener('submit', (event) => { event.preventDefault(); void handOver(''); });
}

async function start() {
  const killed = wasKilled();
  try { sessionStorage.setItem(OPEN, visit); } catch { /* as above */ } // at once: a page may be left before it is up
  wire();
  await dropApp();
  if (html.dataset.over || killed) { await handOver('y'); return; }
  await tidyUp();
  html.dataset.mine = '1';
  arrived(); // to open a page is to be there
  watch({ idle: Number(idle), warning: Number(warning) }, {
    warn, calm: () => dialog('still-here')?.close(), over: () => void handOver('y'), tell: () => void tell(),
  });
}

void start();
