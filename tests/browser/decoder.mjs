// Reads grey frames of 1280 × 720 one after the other: their files as arguments, a JSON list of text (or null) and milliseconds on output.
import { readFileSync } from 'node:fs';

const [decoder, ...names] = process.argv.slice(2);
const { decodeQR } = await import(decoder);
const read = (name) => {
  const grey = readFileSync(name);
  const data = new Uint8ClampedArray(4 * grey.length).fill(255);
  grey.forEach((value, index) => data.fill(value, 4 * index, 4 * index + 3));
  const began = performance.now();
  let text = null;
  try { text = decodeQR({ width: 1280, height: 720, data }); } catch { /* none was found */ }
  return [text, performance.now() - began];
};
console.log(JSON.stringify(names.map(read)));
