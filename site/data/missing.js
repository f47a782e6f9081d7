/** What is asked for but not in memory yet, and how to go on once it is. */

/** Pieces of data that an answer needs and that are not in memory. */
export class Missing extends Error {
  /** @param {string[]} names  names of pieces */
  constructor(names) {
    super(`not in memory: ${names.join(" ")}`);
    this.names = names;
  }
}

/**
 * Return what a function returns once all that it asks of a house is in memory.
 * @template T
 * @param {{load: (names: string[]) => Promise<unknown>}} house
 * @param {() => T} make  asks the house; runs again after each load, so it must change nothing
 * @returns {Promise<T>}
 */
export async function settle(house, make) {
  for (;;) {
    try {
      return make();
    } catch (error) {
      if (!(error instanceof Missing)) throw error;
      await house.load(error.names);
    }
  }
}
