/** Which models a bulletin can mean, whatever else it asks of a unit. */

import { reaches } from "./judge.js";

/**
 * Tell whether any block is open to that family and model, whatever the unit.
 * @param {import("./records.js").Block[]} where
 * @param {string} family
 * @param {string} model
 */
export function canApply(where, family, model) {
  return where.some((block) => reaches(block, family, model));
}
