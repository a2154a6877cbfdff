// @ts-check
/**
 * The nearest of some words, for "Did you mean …?": by Ratcliff and Obershelp's measure (1988), with
 * the tie-breaks of Python's difflib, so that both engines ask the same question.
 */

const CLOSE = 0.6; // difflib's own cutoff

/**
 * The word nearest to one that is not known, or null.
 * @param {string} word @param {readonly string[]} known
 */
export function nearest(word, known) {
  /** @type {string | null} */
  let best = null;
  let highest = CLOSE;
  for (const each of known) {
    const score = likeness(each, word);
    if (score > highest || (score === highest && (best === null || each > best))) [best, highest] = [each, score];
  }
  return best;
}

/** 1 for the same words, 0 for words without a sign in common. @param {string} a @param {string} b */
const likeness = (a, b) => (2 * matching([...a], [...b])) / (([...a].length + [...b].length) || 1);

/**
 * How many signs match: the longest stretch in both, and so on before it and after it.
 * @param {string[]} a @param {string[]} b @returns {number}
 */
function matching(a, b) {
  let [at, there, size] = [0, 0, 0];
  for (let i = 0; i < a.length; i += 1) {
    for (let j = 0; j < b.length; j += 1) {
      let run = 0;
      while (i + run < a.length && j + run < b.length && a[i + run] === b[j + run]) run += 1;
      if (run > size) [at, there, size] = [i, j, run];
    }
  }
  if (!size) return 0;
  const before = matching(a.slice(0, at), b.slice(0, there));
  return size + before + matching(a.slice(at + size), b.slice(there + size));
}
