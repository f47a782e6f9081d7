/** A house as the phone knows it: everything that answers ask for, from pieces of data. */

import { daysOf, schemeOf } from "../core/wire.js";
import { Parts } from "./parts.js";
import { Pieces } from "./pieces.js";

/** @typedef {import("../core/records.js").Family} Family */
/** @typedef {import("../core/records.js").Scheme} Scheme */

/**
 * @param {any} given
 * @returns {Family}
 */
function familyFrom({ name, product, produced, schemes }) {
  return {
    name,
    product,
    produced: daysOf(produced),
    schemes: schemes.map((/** @type {[string, string, string]} */ [scheme, ...used]) => (
      { name: scheme, used: daysOf(used) }
    )),
  };
}

/**
 * The data of one house. What is not in memory yet throws Missing: ask through `settle`.
 */
export class House extends Parts {
  /**
   * @param {Pieces} pieces  with the start piece in memory
   * @param {string} start  its name
   */
  constructor(pieces, start) {
    super(pieces, start);
    const schemes = Object.entries(this.facts.schemes);
    /** @type {Map<string, Scheme>} */
    this.schemes = new Map(schemes.map(([name, given]) => [name, schemeOf(name, given)]));
    /** @type {Map<string, Family>} */
    this.families = new Map(this.facts.families.map((/** @type {any} */ given) => (
      [given.name, familyFrom(given)]
    )));
  }

  /**
   * Return the family of a model.
   * @param {string} model
   * @returns {Family}
   */
  familyOf(model) {
    const name = this.familyNamed(model);
    return /** @type {Family} */ (this.families.get(name));
  }
}

/**
 * Return the house whose start piece lies at a path such as "data/0123456789.bin".
 * @param {(path: string) => Promise<Uint8Array>} fetchBytes
 * @param {string} start
 */
export async function openHouse(fetchBytes, start) {
  const pieces = new Pieces(fetchBytes);
  const name = start.replace(/^.*\/|\.bin$/g, "");
  await pieces.load([name]);
  const house = new House(pieces, name);
  const { cards } = house.layers;
  // On the way while the words and terms are: where cards lie is needed last, but always.
  if (cards.far) pieces.load(cards.names).catch(() => {});
  return house;
}
