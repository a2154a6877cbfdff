// @ts-check
/** The page of a learning that runs: asks how far it is, and shows what was learned once it is there. */
const PAUSE = 600; // milliseconds between two questions
const waiting = /** @type {HTMLElement} */ (document.getElementById('waiting'));
const said = waiting.textContent;

async function ask() {
  try {
    const reply = await fetch(location.pathname, { headers: { 'X-Part': '1' }, cache: 'no-store' });
    const part = document.createRange().createContextualFragment(await reply.text());
    const bar = /** @type {HTMLElement | null} */ (part.querySelector('#bar'));
    // done, failed, or not known any more: the whole page says it
    if (bar?.dataset.stage !== 'running') { location.reload(); return; }
    document.getElementById('bar')?.replaceWith(bar);
    waiting.textContent = said;
  } catch {
    waiting.textContent = 'The server does not answer. Asked again every second; if it was started anew, nothing of this is left.';
  }
  setTimeout(() => void ask(), PAUSE);
}

setTimeout(() => void ask(), PAUSE);
