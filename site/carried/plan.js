/** What there is to carry, and what of it a choice of families needs. */

/** @typedef {[path: string, size: number]} Sized */
/**
 * A part of the house: whose it is, its bulletins in force, bytes of its pictures, its packs.
 * @typedef {{of: string[], bulletins: number, pictures: number, packs: Sized[]}} Bundle
 */
/**
 * @typedef {{families: string[], style: string, shell: Sized[], search: Sized[],
 *   bundles: Bundle[]}} List
 */
/** @typedef {{name: string, size: number, bulletins: number, carried: boolean}} Offer */

export const REST = ""; // stands among the families for what none of them asks for

/**
 * Return the list of all that can be carried from its piece of data.
 * @param {{value: any, bytes: Uint8Array}} piece
 * @returns {List}
 */
export function listOf({ value, bytes }) {
  const names = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  /** @type {Sized[]} */
  const sized = value.sizes.map((/** @type {number} */ size, /** @type {number} */ at) => (
    [`data/${names.slice(10 * at, 10 * at + 10)}.bin`, size]
  ));
  const search = sized.splice(0, value.search);
  const bundles = value.bundles.map((/** @type {any} */ { of, packs, ...rest }) => ({
    ...rest,
    of: of.map((/** @type {number} */ place) => value.families[place] ?? REST),
    packs: sized.splice(0, packs),
  }));
  return { ...value, search, bundles };
}

/**
 * Return every name that can be chosen: the families, and REST where there is such a part.
 * @param {List} list
 */
export function allOf({ families, bundles }) {
  return bundles.some(({ of }) => of.includes(REST)) ? [...families, REST] : families;
}

/**
 * Return the bundles that these families need.
 * @param {List} list
 * @param {string[]} families  none: not even what all share
 */
export function neededBy({ bundles }, families) {
  const held = bundles.filter(({ of }) => !of.length || of.some((name) => families.includes(name)));
  return families.length ? held : [];
}

/**
 * Return what each family costs on top of those chosen, or saves when it is taken off.
 * @param {List} list
 * @param {string[]} chosen
 * @returns {Offer[]}
 */
export function offersOf(list, chosen) {
  return allOf(list).map((name) => {
    const carried = chosen.includes(name);
    const others = chosen.filter((each) => each !== name);
    const size = sizeFor(list, [...others, name]) - sizeFor(list, others);
    const own = list.bundles.filter(({ of }) => of.includes(name));
    return { name, size, bulletins: countOf(own), carried };
  });
}

/**
 * Return the bytes that these families take in all.
 * @param {List} list
 * @param {string[]} families
 */
export function sizeFor(list, families) {
  const packs = neededBy(list, families);
  const shared = families.length ? [...list.search, ...list.shell] : [];
  const pictures = packs.reduce((sum, bundle) => sum + bundle.pictures, 0);
  return sumOf(shared) + sumOf(packs.flatMap((bundle) => bundle.packs)) + pictures;
}

/**
 * Return the bulletins in force of these bundles.
 * @param {Bundle[]} bundles
 */
export function countOf(bundles) {
  return bundles.reduce((sum, { bulletins }) => sum + bulletins, 0);
}

/**
 * Return the bytes of these files.
 * @param {Sized[]} files
 */
export function sumOf(files) {
  return files.reduce((sum, [, size]) => sum + size, 0);
}
