// @ts-check
/** Hides the verdict from the owner's eyes with one tap; the cookie tells the server's next reply. */

/** @param {HTMLFormElement} form */
export function wireVeil(form) {
  const button = /** @type {HTMLButtonElement} */ (form.querySelector('button'));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    const veiled = button.value === '1';
    document.cookie = `veil=${Number(veiled)}; path=/; SameSite=Strict`;
    document.getElementById('strip')?.classList.toggle('veiled', veiled);
    button.value = veiled ? '0' : '1';
    button.textContent = veiled ? 'Show' : 'Hide';
    button.setAttribute('aria-label', `${button.textContent} verdict`);
  });
}
