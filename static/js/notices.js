// @ts-check
/** What the app says about itself: below the content, so that nothing moves under a finger. */

/**
 * Says something once; the same name again replaces it, no words take it away.
 * @param {string} name @param {string} words @param {{ label: string, act: () => void }} [action]
 */
export function notice(name, words, action) {
  const place = document.getElementById('notices');
  if (!place) return;
  place.querySelector(`[data-notice="${name}"]`)?.remove();
  if (words) place.append(made(name, words, action));
  place.hidden = place.childElementCount === 0;
}

/** @param {string} name @param {string} words @param {{ label: string, act: () => void }} [action] */
function made(name, words, action) {
  const box = document.createElement('div');
  const text = document.createElement('p');
  box.className = 'notice';
  box.dataset.notice = name;
  text.setAttribute('role', 'status');
  box.append(text);
  // Words that are put into a status are read out; a status that comes with its words often is not.
  setTimeout(() => { text.textContent = words; });
  if (action) box.append(button(action.label, action.act));
  box.append(button('Close', () => notice(name, '')));
  return box;
}

/** @param {string} label @param {() => void} act */
function button(label, act) {
  const made = document.createElement('button');
  made.type = 'button';
  made.className = label === 'Close' ? 'quiet' : '';
  made.textContent = label;
  made.addEventListener('click', act);
  return made;
}
