// @ts-check
/** Search as you type over a list that is already on the page: no request, no network. An item with data-always stays: it is for what nothing else fits. */

/** @param {HTMLElement} field  names its list in data-filter; items carry their words in data-words */
export function wireFilter(field) {
  const list = document.getElementById(field.dataset.filter ?? '');
  const input = field.querySelector('input');
  const none = document.getElementById(`${field.dataset.filter}-none`);
  if (!list || !input) return;
  const items = /** @type {HTMLElement[]} */ ([...list.children]);
  input.addEventListener('input', () => {
    const wanted = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const item of items) {
      item.hidden = item.dataset.always === undefined && !wanted.every((word) => (item.dataset.words ?? '').includes(word));
    }
    if (none) none.hidden = items.some((item) => !item.hidden && item.dataset.always === undefined);
  });
  field.hidden = items.length < 2;
}
