/** Records read back from the plain JSON values in which publishing writes them (kb/wire.py). */

/** @typedef {import("./records.js").Block} Block */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Scheme} Scheme */
/** @typedef {string | null | undefined} Iso */

/**
 * A block with only what is given in it.
 * @typedef {object} BlockJson
 * @property {string[]} [families]
 * @property {string[]} [models]
 * @property {[number | null, number | null]} [revision]
 * @property {[Iso, Iso]} [built]
 * @property {string[]} [plants]
 * @property {[string, string][]} [serials]
 * @property {BlockJson[]} [but_not]
 */

/**
 * Return the day of an ISO text, or null.
 * @param {Iso} text
 */
export function dayOf(text) {
  return text ? Date.parse(text) / 864e5 : null;
}

/**
 * Return the stretch of days between two ISO texts.
 * @param {Iso[]} ends
 * @returns {Days}
 */
export function daysOf([first, last]) {
  return { first: dayOf(first), last: dayOf(last) };
}

/**
 * Return the block that publishing wrote.
 * @param {BlockJson} given
 * @returns {Block}
 */
export function blockOf(given) {
  const { families = [], models = [], revision, built, plants = [], serials = [] } = given;
  return {
    families,
    models,
    revision: revision ? { low: revision[0], high: revision[1] } : null,
    built: built ? daysOf(built) : null,
    plants,
    serials: serials.map(([first, last]) => ({ first, last })),
    butNot: (given.but_not ?? []).map(blockOf),
  };
}

/**
 * Return the scheme that publishing wrote. The plants' codes come once more as a list, for digits
 * among them would change the order of an object's keys.
 * @param {string} name
 * @param {any} given
 * @returns {Scheme}
 */
export function schemeOf(name, given) {
  return {
    name,
    layout: given.layout.replaceAll(" ", ""),
    plants: given.plants,
    codes: given.codes,
    yearLetters: given.year_letters,
    yearFirst: given.year_first,
    monthLetters: given.month_letters,
    week: given.week,
    used: daysOf(given.used),
    sample: given.sample,
  };
}
