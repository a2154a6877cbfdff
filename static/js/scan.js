// @ts-check
/** The page that reads a card at a station: camera, picture, what was found, and where that leads. */
import { Camera, inSizes, noCamera, whyNot } from './camera.js';
import { judge } from './cardtext.js';
import { reader } from './codes.js';

const PAUSE = 125; // milliseconds between two looks: eight a second
const HINT = 6_000; // milliseconds without a code, after which it is said what may help
const LONGEST = 180_000; // milliseconds that a camera is left on without a card
const SAID = {
  looking: 'Looking for a code …',
  hint: 'No code yet. Hold it straight, nearer, with the screen bright and no glare.',
  other: 'That is a code, but not of a card. Looking on …',
  several: 'There is more than one card in the picture. Show one alone.',
  notHere: 'Part of this page did not come, so it can read nothing. Load it again.',
  otherPicture: 'The picture shows a code, but not of a card.',
  noneInPicture: 'No code was found in the picture. Take it from nearer, sharp and without glare.',
};

/** @template {HTMLElement} T @param {string} id @returns {T} */
const find = (id) => /** @type {T} */ (document.getElementById(id));

class ScanPage {
  page = find('scan');
  state = find('scan-state');
  begin = /** @type {HTMLButtonElement} */ (find('scan-begin'));
  end = /** @type {HTMLButtonElement} */ (find('scan-end'));
  choice = /** @type {HTMLSelectElement} */ (find('scan-choice'));
  file = /** @type {HTMLInputElement} */ (find('scan-file'));
  camera = new Camera(/** @type {HTMLVideoElement} */ (find('scan-video')));
  canvas = document.createElement('canvas');
  hosts = [...(this.page.dataset.hosts ?? '').split(' '), location.hostname];
  turn = 0;

  wire() {
    const why = noCamera(isSecureContext, !!navigator.mediaDevices?.getUserMedia, location.origin);
    find('scan-camera').hidden = false;
    find('scan-ask').hidden = why !== '';
    if (why) this.say(why);
    this.begin.addEventListener('click', () => void this.start(''));
    this.end.addEventListener('click', () => { this.stop('The camera is off.'); this.begin.focus(); });
    this.choice.addEventListener('change', () => void this.start(this.choice.value));
    // A camera is never left on behind the page's back.
    addEventListener('pagehide', () => this.stop(''));
    document.addEventListener('visibilitychange', () => {
      if (document.hidden && this.turn % 2) this.stop('The camera was stopped as you left the page. Start it again.');
    });
    this.wireFile();
  }

  wireFile() {
    const form = /** @type {HTMLFormElement} */ (this.file.form);
    form.hidden = false;
    find('scan-send').hidden = true;
    form.addEventListener('submit', (event) => event.preventDefault());
    this.file.addEventListener('change', () => void this.readFile());
  }

  /** Said only where it changes, as it is read out. @param {string} words */
  say(words) {
    if (this.state.textContent !== words) this.state.textContent = words;
  }

  /** An odd turn is one with the camera on. @param {boolean} on */
  next(on) {
    this.turn += (this.turn % 2 === 1) === on ? 2 : 1;
    return this.turn;
  }

  /** @param {string} device */
  async start(device) {
    const turn = this.next(true);
    find('elsewhere').hidden = true;
    this.say('Allow the camera when the browser asks.');
    try {
      const [read, on] = await Promise.all([reader(), this.camera.start(device)]);
      if (!on || turn !== this.turn) return;
      this.show(true);
      await this.offerChoice();
      await this.look(read, turn);
    } catch (error) {
      if (turn === this.turn) this.stop(error instanceof TypeError ? SAID.notHere : whyNot(error));
    }
  }

  /** @param {string} words */
  stop(words) {
    this.next(false);
    this.camera.stop();
    this.canvas.width = this.canvas.height = 0;
    this.show(false);
    this.say(words);
  }

  /** @param {boolean} on */
  show(on) {
    const moves = document.activeElement === this.begin;
    find('scan-on').hidden = !on;
    find('scan-ask').hidden = on;
    if (on && moves) this.end.focus();
  }

  async offerChoice() {
    const all = await this.camera.all();
    find('scan-cameras').hidden = all.length < 2;
    this.choice.replaceChildren(...all.map(({ id, label }, index) => new Option(label || `Camera ${index + 1}`, id, false, id === this.camera.device)));
  }

  /** Looks until there is a card, or somebody stops it. @param {import('./codes.js').Reader} read @param {number} turn */
  async look(read, turn) {
    const began = performance.now();
    this.say(SAID.looking);
    for (let seen = began; turn === this.turn; await new Promise((done) => { setTimeout(done, PAUSE); })) {
      const texts = this.camera.draw(this.canvas) ? await read(this.canvas) : [];
      if (turn !== this.turn) return;
      const found = judge(texts, this.hosts);
      const now = performance.now();
      if (texts.length) seen = now;
      if (found.what === 'card') this.open(found.digits, found.elsewhere);
      else if (found.what !== 'nothing') this.say(SAID[found.what]);
      else if (now - seen > HINT) this.say(SAID.hint);
      if (this.camera.lost) this.stop('The camera went away. Start it again.');
      else if (now - began > LONGEST) this.stop('The camera was stopped after three minutes without a card.');
    }
  }

  /** Goes to the card's page on this server, whatever server its code names. @param {string} digits @param {string} elsewhere */
  open(digits, elsewhere) {
    const here = `/c/${digits}`;
    this.stop(elsewhere ? 'A card was read.' : 'A card was read. Opening it …');
    if (!elsewhere) {
      location.assign(here);
      return;
    }
    const go = /** @type {HTMLAnchorElement} */ (find('elsewhere-go'));
    find('elsewhere-host').textContent = elsewhere;
    go.href = here;
    find('elsewhere').hidden = false;
    go.focus();
  }

  async readFile() {
    const [file] = this.file.files ?? [];
    this.file.value = ''; // the same file may be chosen again
    if (!file) return;
    this.stop('Reading the picture …');
    const read = await reader().catch(() => null);
    if (!read) {
      this.say(SAID.notHere);
      return;
    }
    try {
      const found = await inSizes(file, this.canvas, async () => {
        const there = judge(await read(this.canvas), this.hosts);
        return there.what === 'nothing' ? null : there;
      });
      if (found?.what === 'card') this.open(found.digits, found.elsewhere);
      else this.say(found?.what === 'several' ? SAID.several : found ? SAID.otherPicture : SAID.noneInPicture);
    } catch {
      this.say('This browser can’t read that file as a picture. Choose a PNG, JPEG or WebP.');
    }
  }
}

new ScanPage().wire();
