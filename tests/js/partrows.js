/** Rows of parts.csv and kits.csv for tests, from short lines, as in tests/partrows.py. */

import { Catalogue } from "../../site/core/partlist.js";

/**
 * Return the row of `number,status,replaced_by,relation,models,since,note`, ends left off.
 * @param {string} line
 */
export function part(line) {
  const [number, status, replacedBy = "", relation = "", models = "", since = "", note = ""] =
    line.split(",");
  const named = { number, name: `part ${number}`, component: "", status, replacedBy, relation };
  return { ...named, models: models.split(" ").filter(Boolean), since, note };
}

/**
 * Return the row of `kit,number,quantity`.
 * @param {string} line
 */
export function kit(line) {
  const [name, number, quantity] = line.split(",");
  return { kit: name, number, quantity: Number(quantity) };
}

/**
 * Return a catalogue of short lines.
 * @param {string[]} parts
 * @param {string[]} [kits]
 * @param {string[]} [models]
 */
export function catalogue(parts, kits = [], models = []) {
  return new Catalogue(parts.map(part), kits.map(kit), () => models);
}
