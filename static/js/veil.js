// @ts-check
/** Hides the verdict from the owner's eyes with one tap; the cookie tells the server's next reply. */

/** @param {HTMLButtonElement} button @param {boolean} veiled */
function show(button, veiled) {
  document.getElementById('strip')?.classList.toggle('veiled', veiled);
  button.value = veiled ? '0' : '1';
  button.textContent = veiled ? 'Show' : 'Hide';
  button.setAttribute('aria-label', `${button.textContent} verdict`);
}

/** @param {HTMLFormElement} form */
export function wireVeil(form) {
  const button = /** @type {HTMLButtonElement} */ (form.querySelector('button'));
  show(button, document.cookie.split('; ').includes('veil=1')); // a page out of the cache knows no cookie
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    const veiled = button.value === '1';
    document.cookie = `veil=${Number(veiled)}; path=/; SameSite=Strict`;
    show(button, veiled);
  });
}
