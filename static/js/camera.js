// @ts-check
/** A camera that is held only as long as it is needed, and pictures on a canvas that nobody sees. */

const WANTED = { facingMode: { ideal: 'environment' }, width: { ideal: 1280 }, height: { ideal: 720 } };
const FRAME = 1280; // pixels: what a webcam gives, and more than four for each module of a card at arm's length
const SIDES = [1600, 900, 2800]; // of a picture's file, one after the other: what is too fine or too coarse at one is not at another

/** Why there is no picture, in words. @param {unknown} error */
export function whyNot(error) {
  const name = error instanceof Error || error instanceof DOMException ? error.name : '';
  if (name === 'NotAllowedError' || name === 'SecurityError') return 'The camera was not allowed. Allow it in the browser’s address bar and start again, or use a picture or the address.';
  if (name === 'NotFoundError' || name === 'OverconstrainedError') return 'No camera was found. Use a picture or the address.';
  if (name === 'NotReadableError' || name === 'AbortError') return 'The camera gives no picture: another program may hold it. Close that and start again, or use a picture or the address.';
  return 'The camera could not be started. Use a picture or the address.';
}

/** What there is to say where no page like this gets a camera; empty where it does. @param {boolean} secure @param {boolean} has @param {string} origin */
export function noCamera(secure, has, origin) {
  if (!secure) return `This browser gives the camera only to pages at https or localhost addresses; this one is at ${origin}. Use a picture or the address.`;
  return has ? '' : 'This browser gives pages no camera. Use a picture or the address.';
}

/** @param {number} width @param {number} height @param {number} longest @returns {[number, number]} */
export function fitted(width, height, longest) {
  const scale = Math.min(1, longest / Math.max(width, height, 1));
  return [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
}

/** @param {HTMLCanvasElement} canvas @param {CanvasImageSource} source @param {[number, number]} size */
function draw(canvas, source, [width, height]) {
  Object.assign(canvas, { width, height });
  canvas.getContext('2d', { willReadFrequently: true })?.drawImage(source, 0, 0, width, height);
}

/**
 * Draws a picture's file in one size after the other, until something is found in it. Throws where the browser can't read it.
 * @template T @param {Blob} file @param {HTMLCanvasElement} canvas @param {() => Promise<T | null>} look @returns {Promise<T | null>}
 */
export async function inSizes(file, canvas, look) {
  const picture = await createImageBitmap(file);
  const sizes = SIDES.map((side) => fitted(picture.width, picture.height, side));
  // no size twice, as a small picture would come
  const once = sizes.filter(([width], index) => sizes.findIndex(([other]) => other === width) === index);
  /** @type {T | null} */
  let found = null;
  for (const size of once) {
    draw(canvas, picture, size);
    found = await look();
    if (found) break;
  }
  picture.close();
  canvas.width = canvas.height = 0; // WebKit gives the memory back only so
  return found;
}

export class Camera {
  /** @type {MediaStream | null} */
  #stream = null;
  #turn = 0;

  /** @param {HTMLVideoElement} video */
  constructor(video) {
    this.video = video;
  }

  get device() {
    return this.#stream?.getVideoTracks()[0]?.getSettings().deviceId ?? '';
  }

  /** Whether it ended by itself, as one does that is unplugged. */
  get lost() {
    return this.#stream?.getVideoTracks().every(({ readyState }) => readyState === 'ended') ?? false;
  }

  /** Starts it; false if it was stopped meanwhile. Throws what the browser says. @param {string} device  empty: whichever looks away from the user */
  async start(device) {
    this.stop();
    const turn = this.#turn;
    const { facingMode, ...size } = WANTED;
    const video = { ...size, ...(device ? { deviceId: { exact: device } } : { facingMode }) };
    const stream = await navigator.mediaDevices.getUserMedia({ video });
    if (turn !== this.#turn) {
      release(stream);
      return false;
    }
    this.#stream = stream;
    this.video.srcObject = stream;
    this.video.hidden = false; // before it plays: WebKit may not begin what is not shown
    // what looks at the user is watched like a mirror
    this.video.classList.toggle('mirror', stream.getVideoTracks()[0]?.getSettings().facingMode !== 'environment');
    await this.video.play();
    return turn === this.#turn;
  }

  stop() {
    this.#turn += 1;
    if (this.#stream) release(this.#stream);
    this.#stream = this.video.srcObject = null;
    this.video.hidden = true;
  }

  /** Draws what it sees; false where nothing has come yet. @param {HTMLCanvasElement} canvas */
  draw(canvas) {
    const { videoWidth, videoHeight } = this.video;
    if (!this.#stream || !videoWidth) return false;
    draw(canvas, this.video, fitted(videoWidth, videoHeight, FRAME));
    return true;
  }

  /** The cameras of this machine, once one was allowed. */
  async all() {
    const found = await navigator.mediaDevices.enumerateDevices();
    return found.filter(({ kind }) => kind === 'videoinput').map(({ deviceId, label }) => ({ id: deviceId, label }));
  }
}

/** @param {MediaStream} stream */
const release = (stream) => { for (const track of stream.getTracks()) track.stop(); };
