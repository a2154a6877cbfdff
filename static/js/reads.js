// @ts-check
/** What a date code says, in words under its field while it is typed, with or without a network. */
import { readCode } from './engine/codes.js';
import { ReadingError } from './engine/errors.js';

/** @param {HTMLFieldSetElement} point */
export function showReading(point) {
  const said = /** @type {HTMLElement | null} */ (point.querySelector('[data-scheme]'));
  const field = /** @type {HTMLInputElement | null} */ (point.querySelector('.entry input'));
  if (!said || !field) return;
  const words = wordsOf(said.dataset.scheme ?? '', field.value);
  if (said.textContent !== words) said.textContent = words;
}

/** Nothing while a code is not whole: what is wrong with it is told when it is sent. @param {string} scheme @param {string} text */
function wordsOf(scheme, text) {
  try {
    return text.trim() ? readCode(scheme, text).says : '';
  } catch (error) {
    if (error instanceof ReadingError) return '';
    throw error;
  }
}
