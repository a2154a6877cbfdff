// @ts-check
/** What a person waits to see comes first. */

const LONGEST = 100; // milliseconds: a page that is not looked at paints nothing

/** Resolves once what was changed on the page has been painted; at once on a page that is not shown. @returns {Promise<void>} */
export const painted = () => (document.hidden ? Promise.resolve() : new Promise((done) => {
  setTimeout(done, LONGEST);
  requestAnimationFrame(() => setTimeout(done));
}));
