// @ts-check
/** The codes in a picture: read by the browser where it can, else by a decoder that is loaded only then. */

/** The texts of the codes in a picture. @typedef {(picture: HTMLCanvasElement) => Promise<string[]>} Reader */

/** The browser's own, where it has one that knows these codes. @returns {Promise<Reader | null>} */
async function own() {
  try {
    const Detector = /** @type {any} */ (globalThis).BarcodeDetector;
    if (!(await Detector?.getSupportedFormats())?.includes('qr_code')) return null;
    const detector = new Detector({ formats: ['qr_code'] });
    return async (picture) => (await detector.detect(picture)).map((/** @type {{ rawValue: string }} */ code) => code.rawValue);
  } catch {
    return null;
  }
}

/** @type {Reader} */
async function brought(picture) {
  const { decodeQR } = await import('../vendor/qr-0.7.0/decode.mjs');
  const pen = picture.getContext('2d', { willReadFrequently: true });
  if (!pen) return [];
  const pixels = pen.getImageData(0, 0, picture.width, picture.height);
  try {
    return [decodeQR(pixels)];
  } catch {
    return []; // its way to say that there is none
  }
}

/** A reader that is ready; a browser's own that fails is not asked again. Throws where the other can't be loaded. @returns {Promise<Reader>} */
export async function reader() {
  let quick = await own();
  if (!quick) await import('../vendor/qr-0.7.0/decode.mjs');
  return async (picture) => {
    try {
      if (quick) return await quick(picture);
    } catch {
      quick = null;
    }
    return brought(picture);
  };
}
