// @ts-check
/**
 * Arithmetic on rows of months. Plain loops: a phone that has just opened the app interprets these
 * lines, and there a call for every month, or an iterator, costs more than the arithmetic.
 */

/** The sum of rows, as a row of its own. @param {Float64Array[]} rows @param {number} length */
export function sum(rows, length) {
  if (rows.length === 1) return rows[0].slice();
  const sums = new Float64Array(length);
  for (let n = 0; n < rows.length; n += 1) {
    const row = rows[n];
    for (let t = 0; t < length; t += 1) sums[t] += row[t];
  }
  return sums;
}

/** The product of rows, times a factor. @param {Float64Array[]} rows @param {number} factor */
export function product(rows, factor) {
  const products = rows[0].slice();
  for (let n = 1; n < rows.length; n += 1) {
    const row = rows[n];
    for (let i = 0; i < products.length; i += 1) products[i] *= row[i];
  }
  if (factor !== 1) for (let i = 0; i < products.length; i += 1) products[i] *= factor;
  return products;
}

/** The mean over the scales of lag. @param {Float64Array} values @param {number} lags */
export function overLags(values, lags) {
  if (lags === 1) return values;
  const means = new Float64Array(values.length / lags);
  for (let i = 0; i < values.length; i += 1) means[i % means.length] += values[i];
  for (let t = 0; t < means.length; t += 1) means[t] /= lags;
  return means;
}

/** Logarithms of chances. @param {Float64Array} chances */
export function logsOf(chances) {
  const logs = new Float64Array(chances.length);
  for (let t = 0; t < logs.length; t += 1) logs[t] = Math.log(chances[t]);
  return logs;
}
