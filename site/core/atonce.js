/** Several questions to the house in one go, so that what they lack is fetched in one go. */

/**
 * Return what `read` gives for each of some values. Where it throws because pieces of data are not
 * in memory (an error with their `names`), the pieces of all of them are named in one error: each
 * round trip costs the one who waits.
 * @template Value, Found
 * @param {Iterable<Value>} values
 * @param {(value: Value) => Found} read
 * @returns {Found[]}
 */
export function atOnce(values, read) {
  /** @type {Found[]} */
  const found = [];
  /** @type {any} */
  let missing = null;
  for (const value of values) {
    try {
      found.push(read(value));
    } catch (/** @type {any} */ error) {
      if (!error?.names) throw error;
      missing ??= error;
      if (missing !== error) missing.names = [...new Set([...missing.names, ...error.names])];
    }
  }
  if (missing) throw missing;
  return found;
}
