// @ts-check
/**
 * What was typed and is no answer yet: it becomes one as its field is left, and what can't be one is
 * kept as the point's note, for whoever finds the inspection in the book.
 *
 * @import { Draft } from '../draft.js'
 */
import { all, update, withDocument } from '../draft.js';

const PATIENCE = 3000;
const STEP = 50;
const LONGEST = 500; // signs of a note

/** @param {NonNullable<Draft['typing']>} typing */
function wordsOf({ point, fields }) {
  const texts = fields.filter(([name, text]) => name !== point && !name.endsWith('.state') && text.trim()).map(([, text]) => text.trim());
  const own = fields.filter(([name]) => name === point).map(([, text]) => text.trim()).filter(Boolean);
  return `Typed, not finished: ${[...own, ...texts].join(' · ')}`.slice(0, LONGEST);
}

/** @param {Draft} draft @returns {Draft} */
export function withNote(draft) {
  const { typing, document } = draft;
  if (!typing) return draft;
  const { answers = {} } = document;
  const answer = { ...answers[typing.point], note: wordsOf(typing) };
  return withDocument(draft, { ...document, answers: { ...answers, [typing.point]: answer } });
}

/** Leaves the field, and waits until the page has written what it has. */
export async function settle() {
  if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
  const over = AbortSignal.timeout(PATIENCE); // no clock: it may be put forward, or the machine sleep
  const isSaving = () => /** @type {HTMLElement | null} */ (document.querySelector('#strip .saved'))?.textContent?.startsWith('Saving');
  do await new Promise((done) => setTimeout(done, STEP)); while (isSaving() && !over.aborted);
  for (const { id, typing } of await all()) if (typing) await update(id, withNote);
}
