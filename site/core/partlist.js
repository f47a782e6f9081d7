/** The parts and kits of a house by number, and the known numbers most like a mistyped one. */

import { fold, likeness } from "./folding.js";

/** @typedef {import("./records.js").PartRow} PartRow */
/** @typedef {import("./records.js").KitRow} KitRow */

const LIKELY = 100; // numbers that share most pairs of characters, looked at more closely
const LONGEST = 80; // characters of a typed number that are compared
const ALIKE = 0.6; // how alike two numbers are at least for one to be meant by the other

/** Rows of parts.csv and kits.csv, found by number however it is typed. */
export class Catalogue {
  /**
   * What differs by model is told for each of `models`; they are asked for only where rows are
   * limited to models.
   * @param {PartRow[]} parts
   * @param {KitRow[]} kits
   * @param {() => string[]} models  all models of the house
   */
  constructor(parts, kits = [], models = () => []) {
    this.models = models;
    this.rowsOf = grouped(parts, (row) => row.number);
    this.contentsOf = grouped(kits, (row) => row.kit);
  }

  /**
   * Return all rows of a number in the order of the file; none for an unknown one. A kit that only
   * kits.csv knows counts as gone: nothing says that it can be ordered.
   * @param {string} number
   * @returns {PartRow[]}
   */
  rows(number) {
    const rows = this.rowsOf.get(fold(number));
    const held = this.contents(number);
    return rows ?? (held.length ? [onlyKit(held[0].kit)] : []);
  }

  /**
   * Return the rows that an order for a number can lead through, each once, its own first.
   * @param {string} number
   */
  reached(number) {
    const keys = new Set([fold(number)]);
    const found = [];
    for (const key of keys) { // which grows as it is walked
      for (const row of this.rows(key)) {
        found.push(row);
        for (const next of [row.replacedBy, ...this.contents(key).map((held) => held.number)]) {
          if (fold(next)) keys.add(fold(next));
        }
      }
    }
    return found;
  }

  /**
   * Return the first row of a number, if there is one.
   * @param {string} number
   * @returns {PartRow | undefined}
   */
  find(number) {
    return this.rows(number)[0];
  }

  /**
   * Return what a kit holds; nothing for a number that is no kit.
   * @param {string} kit
   */
  contents(kit) {
    return this.contentsOf.get(fold(kit)) ?? [];
  }

  /**
   * Return how many of a number lie loose in a kit.
   * @param {string} kit
   * @param {string} number
   */
  held(kit, number) {
    return this.contents(kit)
      .filter((row) => fold(row.number) === fold(number))
      .reduce((sum, row) => sum + row.quantity, 0);
  }

  /**
   * Return the three known numbers most like a number, best first; none where none is near.
   * @param {string} number
   */
  nearest(number) {
    const known = [...this.rowsOf.keys(), ...this.contentsOf.keys()];
    return nearestNumbers(number, known).map((key) => this.find(key)?.number ?? key);
  }
}

/**
 * @template Row
 * @param {Row[]} rows
 * @param {(row: Row) => string} number
 * @returns {Map<string, Row[]>}
 */
function grouped(rows, number) {
  const groups = new Map();
  for (const row of rows) {
    const key = fold(number(row));
    if (!groups.get(key)?.push(row)) groups.set(key, [row]);
  }
  return groups;
}

/**
 * @param {string} number
 * @returns {PartRow}
 */
function onlyKit(number) {
  const note = "not in parts.csv, only in kits.csv";
  const unsaid = { name: "", component: "", replacedBy: "", since: "", models: [] };
  return { ...unsaid, number, status: "gone", relation: "", note };
}

/**
 * Tell whether a row leads to another number; a changed part may name its own.
 * @param {PartRow} row
 */
export function moves(row) {
  if (!row.replacedBy) return false;
  return row.relation !== "changed" || fold(row.replacedBy) !== fold(row.number);
}

/**
 * Return the numbers of `known` most like a number, best first. Close matching is slow, so only
 * those that share most pairs of characters, or the longest beginning and end, are looked at.
 * @param {string} number
 * @param {string[]} known
 * @param {number} [count]
 */
export function nearestNumbers(number, known, count = 3) {
  const asked = [...fold(number)].slice(0, LONGEST).join("");
  const wanted = pairs(asked);
  const written = new Map([...known].sort().map((name) => [fold(name), name]));
  const likely = [...written.keys()]
    .map((key) => ({ key, alike: sharedPairs(wanted, key) + sameEnds(asked, key) }))
    .sort((one, other) => other.alike - one.alike)
    .slice(0, LIKELY)
    .map(({ key }) => key);
  return mostAlike(asked, likely).slice(0, count).map((key) => written.get(key) ?? key);
}

/**
 * Return those of `known` that are like enough, best first; of equals the last by their letters.
 * @param {string} asked
 * @param {string[]} known
 */
function mostAlike(asked, known) {
  const signs = [...asked];
  return known.map((key) => ({ key, near: likeness([...key], signs) }))
    .filter(({ near }) => near >= ALIKE)
    .sort((one, other) => other.near - one.near || (one.key < other.key ? 1 : -1))
    .map(({ key }) => key);
}

/**
 * Return how far two words run alike from their beginnings, and from their ends; where one begins
 * or ends the other, as far as the first goes.
 * @param {string} one
 * @param {string} other
 */
function sameEnds(one, other) {
  const most = Math.min(one.length, other.length);
  let start = 0;
  while (start < most && one[start] === other[start]) start += 1;
  let end = 0;
  while (end < most && one.at(-1 - end) === other.at(-1 - end)) end += 1;
  return (start < most ? start : one.length) + (end < most ? end : one.length);
}

/** @param {string} key */
function pairs(key) {
  const found = new Set();
  for (let at = 0; at + 1 < key.length; at += 1) found.add(key.slice(at, at + 2));
  return found;
}

/**
 * @param {Set<string>} wanted
 * @param {string} key
 */
function sharedPairs(wanted, key) {
  let shared = 0;
  for (let at = 0; at + 1 < key.length; at += 1) {
    const pair = key.slice(at, at + 2);
    if (wanted.has(pair) && key.indexOf(pair) === at) shared += 1; // each pair counts once
  }
  return shared;
}
