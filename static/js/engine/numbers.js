// @ts-check
/**
 * Rounding as Python and numpy round, so that every comparison falls the same way in both engines.
 *
 * `Math.round` takes halves up; both of the others take a half to the even neighbour. Two ways of
 * rounding to decimals are in use there, and they differ where a product falls on a half:
 * numpy multiplies, rounds and divides (`ninth`, `twelfth`); Python's `round` looks at the number
 * itself, before any multiplication has rounded it (`rounded`).
 */

const NO_FRACTIONS = 2 ** 52; // from here on a double holds whole numbers only
const SPLIT = 2 ** 27 + 1;

/**
 * The nearest whole number, halves to even. Adding 2^52 leaves no room for a fraction, and the
 * addition itself takes halves to even, as IEEE 754 has it.
 * @param {number} x
 */
export function rint(x) {
  const size = Math.abs(x);
  if (!(size < NO_FRACTIONS)) return x;
  const whole = size + NO_FRACTIONS - NO_FRACTIONS;
  return x < 0 ? -whole : whole;
}

/** Nine decimals as numpy rounds. @param {number} x */
export const ninth = (x) => rint(x * 1e9) / 1e9;

/** Twelve decimals as numpy rounds, counted in units of the twelfth. @param {number} x */
export const twelfths = (x) => rint(x * 1e12);

/**
 * A number with so many decimals, as Python's `round` gives it.
 * @param {number} x @param {number} decimals  0 to 22
 */
export function rounded(x, decimals) {
  const scale = 10 ** decimals;
  const product = x * scale;
  if (!(Math.abs(product) < 2 * NO_FRACTIONS)) return x; // no double of this size has so many decimals
  let whole = rint(product);
  if (Math.abs(product - Math.trunc(product)) === 0.5) {
    const rest = restOfProduct(x, scale, product);
    if (rest !== 0) whole = rest > 0 ? Math.ceil(product) : Math.floor(product);
  }
  return whole / scale;
}

/** A value as it is compared: with 9 decimals. @param {number} x */
export const r9 = (x) => rounded(x, 9);

/**
 * What rounding took from a product: a·b − product, exactly (Dekker 1971).
 * @param {number} a @param {number} b @param {number} product
 */
function restOfProduct(a, b, product) {
  const [aHigh, aLow] = halves(a);
  const [bHigh, bLow] = halves(b);
  return aHigh * bHigh - product + aHigh * bLow + aLow * bHigh + aLow * bLow;
}

/** @param {number} x @returns {[number, number]} */
function halves(x) {
  const high = x * SPLIT - (x * SPLIT - x);
  return [high, x - high];
}
