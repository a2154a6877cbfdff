// @ts-check
/** Long work in short pieces: who taps meanwhile waits for one of them, not for all. */

const LONGEST = 8; // milliseconds without a turn for others

/** Lets the browser do what waits. @returns {Promise<void>} */
const turn = () => /** @type {any} */ (globalThis).scheduler?.yield?.() ?? new Promise((done) => { setTimeout(done); });

/** Goes through the pieces; none is followed by a turn but by the next one. @param {Iterable<void>} pieces */
export async function inSlices(pieces) {
  let began = performance.now();
  for (const _ of pieces) {
    if (performance.now() - began < LONGEST) continue;
    await turn();
    began = performance.now();
  }
}
