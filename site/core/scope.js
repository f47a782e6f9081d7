/** Which models a bulletin can mean, whatever else it asks of a unit. */

import { reaches } from "./judge.js";

/** @typedef {import("./records.js").Block} Block */
/** @typedef {import("./records.js").Family} Family */

/**
 * What of a house tells its models by family.
 * @typedef {{families: Map<string, Family>, modelsOf: (family: string) => string[]}} Families
 */

/**
 * Tell whether any block is open to that family and model, whatever the unit.
 * @param {Block[]} where
 * @param {string} family
 * @param {string} model
 */
export function canApply(where, family, model) {
  return where.some((block) => reaches(block, family, model));
}

/**
 * Return the models that any of the blocks can mean, in the house's order.
 * @param {Block[]} where
 * @param {Families} house
 */
export function modelsOf(where, house) {
  return [...house.families.keys()]
    .flatMap((name) => house.modelsOf(name).filter((model) => canApply(where, name, model)));
}

/**
 * Return the families of the models that any of the blocks can mean.
 * @param {Block[]} where
 * @param {Families} house
 */
export function familiesOf(where, house) {
  return [...house.families.values()]
    .filter(({ name }) => house.modelsOf(name).some((model) => canApply(where, name, model)));
}
