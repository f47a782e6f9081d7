/** One way to order what is wanted, put together from row to row. */

import { fold } from "./folding.js";
import { moves } from "./partlist.js";

/** @typedef {import("./records.js").PartRow} PartRow */

/**
 * One step from an older number to the next, as parts.csv tells it.
 * @typedef {{from: string, to: string, relation: string, since: string}} Step
 */

/**
 * A successor that cannot be ordered yet.
 * @typedef {{number: string, since: string}} Coming
 */

/**
 * A number to order and how many of it.
 * @typedef {{part: PartRow, quantity: number}} Line
 */

/**
 * One way to order what is wanted. `lines` is empty where nothing can be had. `choose` tells that
 * for a part of a dissolved kit there is more than one way; `opened` names the kits dissolved;
 * `waitsFor` is set on the branch of a number that cannot be ordered yet.
 * @typedef {object} Branch
 * @property {Line[]} lines
 * @property {Step[]} steps
 * @property {Coming[]} coming
 * @property {string[]} notes
 * @property {boolean} choose
 * @property {string[]} opened
 * @property {PartRow | null} waitsFor
 */

/**
 * Return a branch with what is given, and nothing else in it.
 * @param {Partial<Branch>} given
 * @returns {Branch}
 */
export function branchOf(given) {
  const plain = { lines: [], steps: [], coming: [], notes: [], choose: false, opened: [] };
  return { ...plain, waitsFor: null, ...given };
}

/**
 * Return what is ordered, as one text: folded numbers and how many of each.
 * @param {Branch} branch
 */
export function outcome(branch) {
  return branch.lines.map((line) => `${line.quantity} ${fold(line.part.number)}`).join("\n");
}

/**
 * Return the values of a list, those that say the same once.
 * @template Value
 * @param {Value[]} values
 * @returns {Value[]}
 */
export function unique(values) {
  const found = new Map();
  for (const value of values) {
    const key = JSON.stringify(value);
    if (!found.has(key)) found.set(key, value);
  }
  return [...found.values()];
}

/**
 * Tell whether there is more than one way to order what is wanted.
 * @param {Branch[]} branches
 */
export function differ(branches) {
  return new Set(branches.map(outcome)).size > 1 || branches.some((branch) => branch.choose);
}

/**
 * Return the branches with those in one that end alike. Otherwise forks that meet again would
 * double at every turn.
 * @param {Branch[]} branches
 */
export function merged(branches) {
  if (branches.length < 2) return branches;
  /** @type {Map<string, Branch>} */
  const found = new Map();
  for (const branch of branches) {
    const key = JSON.stringify([branch.lines, [...branch.opened].sort(), branch.waitsFor]);
    const held = found.get(key);
    found.set(key, held ? joined(held, branch) : branch);
  }
  return [...found.values()];
}

/**
 * @param {Branch} one
 * @param {Branch} other
 * @returns {Branch}
 */
function joined(one, other) {
  return {
    ...one,
    steps: unique([...one.steps, ...other.steps]),
    coming: unique([...one.coming, ...other.coming]),
    notes: unique([...one.notes, ...other.notes]),
    choose: one.choose || other.choose,
  };
}

/**
 * Return one branch of the branches of a kit's contents; equal numbers are added up.
 * @param {PartRow} kit
 * @param {Branch[]} found
 * @param {string[]} notes
 * @param {boolean} choose
 */
export function together(kit, found, notes, choose) {
  /** @type {Map<string, Line>} */
  const lines = new Map();
  for (const { part, quantity } of found.flatMap((branch) => branch.lines)) {
    const key = fold(part.number);
    lines.set(key, { part, quantity: quantity + (lines.get(key)?.quantity ?? 0) });
  }
  return branchOf({
    lines: [...lines.values()],
    steps: found.flatMap((branch) => branch.steps),
    coming: found.flatMap((branch) => branch.coming),
    notes: [...notes, ...found.flatMap((branch) => branch.notes)],
    choose,
    opened: [...new Set([fold(kit.number), ...found.flatMap((branch) => branch.opened)])],
  });
}

/**
 * Return the number's own branch with what is to come after it.
 * @param {Branch} mine
 * @param {PartRow} row
 * @param {Branch} after
 * @returns {Branch}
 */
export function waiting(mine, row, after) {
  const next = after.waitsFor;
  const first = next ? [{ number: next.number, since: row.since || next.since }] : [];
  return { ...mine, coming: [...first, ...after.coming, ...mine.coming] };
}

/**
 * Return the note of a row, if it has one, under its number.
 * @param {PartRow} row
 * @returns {string[]}
 */
export function remark(row) {
  return row.note ? [`${row.number}: ${row.note}`] : [];
}

/**
 * Say that a pending number cannot be ordered yet.
 * @param {PartRow} row
 */
export function notYet(row) {
  const since = row.since ? ` (from ${row.since})` : "";
  const later = moves(row) ? `; ${row.replacedBy} is to replace it` : "";
  return `${row.number} cannot be ordered yet${since}${later}`;
}
