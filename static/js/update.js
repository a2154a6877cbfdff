// @ts-check
/**
 * Keeps the app on this device, and changes to a new build when a person asks for it and nothing that
 * was typed would be lost by it, here or in another tab.
 */
import { BUILD } from './build.js';
import { notice } from './notices.js';
import { remember, remembered } from './remember.js';

/** Goes over the document before a page is loaded anew; whoever has unsaved work prevents it. */
export const RELOAD = 'quickcheck:reload';
const TABS = 'quickcheck-update';
const AGAIN = 1000;
const ANSWERS = 300; // milliseconds that other tabs have to speak up
const TOLD = 'quickcheck-ready-offline';

/** @type {EventTarget | null} a field with letters that no `change` has told of yet */
let typing = null;

/** Whether this page can be loaded anew without losing anything. @returns {boolean} */
export const canReload = () => document.dispatchEvent(new Event(RELOAD, { cancelable: true }));

/** A form whose fields are sent only by its button. @param {HTMLFormElement} form */
function isFilledIn(form) {
  if (form.dataset.inspection !== undefined && form.classList.contains('inspection')) return false;
  return [...form.elements].some((field) => {
    if (field instanceof HTMLInputElement) return field.checked !== field.defaultChecked || field.value !== field.defaultValue;
    return field instanceof HTMLTextAreaElement && field.value !== field.defaultValue;
  });
}

/** Whether the inspection's own word is that something is not saved yet. */
function isUnsaved() {
  const said = /** @type {HTMLElement | null} */ (document.querySelector('#strip .saved'));
  if (!said || document.querySelector('form.read-only')) return false;
  return said.dataset.saved === '' || (said.dataset.unsent ?? '0') !== '0';
}

function watchTyping() {
  document.addEventListener('input', ({ target }) => { typing = target; });
  document.addEventListener('change', () => { typing = null; });
  document.addEventListener(RELOAD, (event) => {
    if (typing || isUnsaved() || [...document.forms].some(isFilledIn)) event.preventDefault();
  });
}

/** Whether every tab can be loaded anew: a worker that takes over does so for all. @returns {Promise<boolean>} */
async function allCanReload() {
  if (!canReload()) return false;
  const channel = new BroadcastChannel(TABS);
  const objected = new Promise((done) => {
    channel.onmessage = ({ data }) => { if (data === 'wait') done(true); };
    setTimeout(() => done(false), ANSWERS);
  });
  channel.postMessage('may I?');
  const must = await objected;
  channel.close();
  return !must;
}

function answerTabs() {
  const channel = new BroadcastChannel(TABS);
  channel.onmessage = ({ data }) => { if (data === 'may I?' && !canReload()) channel.postMessage('wait'); };
}

/** @param {ServiceWorkerRegistration} registration */
async function change(registration) {
  notice('update', 'The new version comes as soon as everything typed is saved, in every tab.');
  while (!await allCanReload()) await new Promise((done) => setTimeout(done, AGAIN));
  registration.waiting?.postMessage('take-over');
}

/** @param {ServiceWorkerRegistration} registration */
function offer(registration) {
  if (!registration.waiting || !navigator.serviceWorker.controller) return;
  notice('update', 'A new version is here.', { label: 'Update', act: () => void change(registration) });
}

/** A new worker has taken over: the page follows, at once or as soon as it can. */
async function follow() {
  if (!canReload()) notice('update', 'This page is of the version before. It goes on working, and changes when all is saved.');
  while (!canReload()) await new Promise((done) => setTimeout(done, AGAIN));
  location.reload();
}

/** @param {ServiceWorkerRegistration} registration */
function watch(registration) {
  offer(registration);
  registration.addEventListener('updatefound', () => {
    const found = registration.installing;
    found?.addEventListener('statechange', () => { if (found.state === 'installed') offer(registration); });
  });
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden) void registration.update().catch(() => undefined); // no network: another time
  });
}

async function tellReady() {
  await navigator.serviceWorker.ready;
  document.documentElement.dataset.kept = BUILD;
  if (remembered(TOLD)) return;
  remember(TOLD, '1');
  notice('ready', 'Ready offline: this app now opens on this device without a network.');
}

/** Registers the worker and resolves once the app is whole on this device. */
export async function keepApp() {
  watchTyping();
  answerTabs();
  let first = !navigator.serviceWorker.controller; // the first worker takes over a page of its own build
  let following = false;
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (!first && !following) { following = true; void follow(); }
    first = false;
  });
  watch(await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' }));
  await tellReady();
}
