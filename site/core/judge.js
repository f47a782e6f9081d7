/** The conditions of a block held against what is known of a unit: yes, no or maybe, no words. */

import { covers, meet } from "./dates.js";
import { fold, foldName } from "./folding.js";
import { agreed, every, opposite, some } from "./kleene.js";
import { inOrder, keyOf } from "./ranges.js";

/** @typedef {import("./ranges.js").Ranges} Ranges */
/** @typedef {import("./records.js").Block} Block */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").SerialRange} SerialRange */
/** @typedef {import("./records.js").Verdict} Verdict */
/** @typedef {import("./serials.js").Use} Use */

/**
 * One way a unit can be: a reading of its serial, or all that its production allows. The plants are
 * null where they cannot be known; the reading is null without a serial.
 * @typedef {object} Way
 * @property {string} model
 * @property {string} family
 * @property {Ranges} ranges
 * @property {Days} built
 * @property {string[] | null} plants
 * @property {number | null} revision
 * @property {Reading | null} reading
 * @property {string} serial
 */

/** @typedef {"model" | "revision" | "built" | "plant" | "serials"} Condition */

/**
 * Return the plants whose units the schemes can tell; null where a scheme names none.
 * @param {Use[]} uses
 */
export function plantsOf(uses) {
  if (!uses.length || !uses.every(({ scheme }) => scheme.codes.length)) return null;
  return [...new Set(uses.flatMap(({ scheme }) => scheme.codes.map(fold)))];
}

/** @type {Map<string, RegExp>} */
const PATTERNS = new Map();

/** @param {string} pattern */
function patternOf(pattern) {
  const plain = fold(pattern).replace(/[\\^$+()[\]{}|/]/g, "\\$&");
  const made = new RegExp(`^${plain.replace(/\*/g, ".*").replace(/\?/g, ".")}$`, "u");
  PATTERNS.set(pattern, made);
  return made;
}

/**
 * Tell whether a pattern fits a model; `*` is any characters, `?` one, case never matters.
 * @param {string} pattern
 * @param {string} model
 */
export function modelMatches(pattern, model) {
  return (PATTERNS.get(pattern) ?? patternOf(pattern)).test(fold(model));
}

/**
 * Return yes or no.
 * @param {boolean} holds
 * @returns {Verdict}
 */
export function verdict(holds) {
  return holds ? "yes" : "no";
}

/**
 * Tell whether the block is open to a family; one that names no family is open to all.
 * @param {Block} block
 * @param {string} family
 */
export function familyNamed({ families }, family) {
  if (!families.length || families.includes(family)) return true;
  return families.some((name) => foldName(name) === foldName(family));
}

/**
 * Tell whether the block can hold for any unit of that family and model.
 * @param {Block} block
 * @param {string} family
 * @param {string} model
 */
export function reaches(block, family, model) {
  const { models } = block;
  if (!familyNamed(block, family)) return false;
  return !models.length || models.some((pattern) => modelMatches(pattern, model));
}

/**
 * @param {SerialRange} serials
 * @param {Reading} reading
 * @param {Way} way
 */
function within(serials, reading, { ranges, serial }) {
  const found = ranges.of(serials, reading.scheme);
  if (serial && (serial === fold(serials.first) || serial === fold(serials.last))) {
    // The very serial stands in the bulletin: no second meaning of its year can matter.
    return verdict(found.length > 0);
  }
  const key = keyOf(reading);
  const inside = found.map(({ plant, first, last }) =>
    verdict(plant === reading.plant && inOrder(first, key) && inOrder(key, last)),
  );
  return inside.length ? agreed(inside) : "no";
}

/**
 * Judge a range without a serial: maybe, but no where dates or plant rule it out.
 * @param {SerialRange} serials
 * @param {Way} way
 */
function possible(serials, { ranges, built, plants }) {
  const open = ranges
    .of(serials)
    .filter(({ plant }) => plant === null || !plants || plants.includes(plant));
  return open.some(({ days }) => meet(days, built)) ? "maybe" : "no";
}

/**
 * The verdict of each condition, or null where the block does not give it. Where a fact is not
 * known it is yes if every possible one would do, no if none would, else maybe.
 * @type {Record<Condition, (block: Block, way: Way) => Verdict | null>}
 */
const CONDITIONS = {
  model: (block, { family, model }) => verdict(reaches(block, family, model)),
  revision({ revision: wanted }, { revision }) {
    if (!wanted) return null;
    if (!wanted.low && wanted.high === null) return "yes"; // no revision is below 0
    if (revision === null) return "maybe";
    return verdict(revision >= (wanted.low ?? 0) && revision <= (wanted.high ?? Infinity));
  },
  built({ built: wanted }, { built }) {
    if (!wanted) return null;
    return covers(wanted, built) ? "yes" : meet(wanted, built) ? "maybe" : "no";
  },
  plant(block, { plants }) {
    if (!block.plants.length) return null;
    if (!plants) return "maybe";
    const named = block.plants.map(fold);
    return agreed(plants.map((plant) => verdict(named.includes(plant))));
  },
  serials({ serials }, way) {
    const { reading } = way;
    if (!serials.length) return null;
    return some(
      serials.map((each) => (reading ? within(each, reading, way) : possible(each, way))),
    );
  },
};

/**
 * Return the verdict of each condition that the block gives, model always among them.
 * @param {Block} block
 * @param {Way} way
 */
export function findings(block, way) {
  /** @type {Map<Condition, Verdict>} */
  const found = new Map();
  for (const name of /** @type {Condition[]} */ (Object.keys(CONDITIONS))) {
    const verdict = CONDITIONS[name](block, way);
    if (verdict) found.set(name, verdict);
  }
  return found;
}

/**
 * Judge one block: all its conditions, and none of its exceptions.
 * @param {Block} block
 * @param {Way} way
 * @returns {Verdict}
 */
export function judgeBlock(block, way) {
  if (!reaches(block, way.family, way.model)) return "no";
  const own = every([...findings(block, way).values()]);
  if (own === "no" || !block.butNot.length) return own;
  return every([own, opposite(judgeBlocks(block.butNot, way))]);
}

/**
 * Judge alternatives: any one that holds is enough.
 * @param {Block[]} where
 * @param {Way} way
 */
export function judgeBlocks(where, way) {
  return some(where.map((block) => judgeBlock(block, way)));
}
