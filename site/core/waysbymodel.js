/**
 * What to order for a part number, model by model, and which models share the same answer.
 *
 * A row of parts.csv can be limited to models, and so can the rows it leads to. Instead of
 * reckoning with patterns, the number is followed once for each set of models that no row on the
 * way tells apart; what is said then holds for every model by itself.
 */

import { differ, outcome } from "./branches.js";
import { fold } from "./folding.js";
import { fits } from "./modelsets.js";
import { ANY_OTHER, follow } from "./substitution.js";

/** @typedef {import("./branches.js").Branch} Branch */
/** @typedef {import("./branches.js").Line} Line */
/** @typedef {import("./partlist.js").Catalogue} Catalogue */

/**
 * A number to order and how many of it, for some models.
 * @typedef {Line & {models: Set<string>}} Needed
 */

/**
 * What a number comes to for some models, all alike; branches are alternatives.
 * @typedef {{models: string[], branches: Branch[], concerned: boolean}} Way
 */

/** The ways of one number, for every model of the house. */
export class ByModel {
  /**
   * @param {Catalogue} catalogue
   * @param {string} number
   */
  constructor(catalogue, number) {
    this.catalogue = catalogue;
    this.number = number;
    this.patterns = limits(catalogue, number);
    // Where no row is limited, one model speaks for all.
    const models = this.patterns.length ? catalogue.models() : [];
    this.models = models.length ? models : [...new Set(this.patterns.flat()), ANY_OTHER];
    this.ways = this.everyWay();
  }

  /**
   * Return the ways that concern any model, in the order in which the rows name the models.
   * @returns {Way[]}
   */
  everyWay() {
    /** @type {Map<string, string[]>} */
    const alike = new Map();
    for (const model of this.models) {
      const key = this.patterns.map((each) => Number(fits(each, model))).join("");
      if (!alike.get(key)?.push(model)) alike.set(key, [model]);
    }
    const inOrder = [...alike].sort(([one], [other]) => (one < other ? 1 : -1));
    const ways = inOrder.map(([, models]) => this.way(models));
    const concerned = ways.filter((way) => way.concerned);
    return concerned.length ? concerned : ways;
  }

  /**
   * Return the way of models that are all alike; of one, known to the house or not, too.
   * @param {string[]} models
   * @returns {Way}
   */
  way(models) {
    const rows = this.catalogue.rows(this.number);
    const concerned = rows.some((row) => !row.models.length || fits(row.models, models[0]));
    return { models, branches: follow(this.catalogue, this.number, models[0]), concerned };
  }

  /**
   * Return all branches of all ways, those with something to order first.
   * @returns {Branch[]}
   */
  branches() {
    const every = this.ways.flatMap((way) => way.branches);
    const nothing = every.filter((branch) => !branch.lines.length);
    return [...every.filter((branch) => branch.lines.length), ...nothing];
  }

  /** Tell whether the model decides between numbers to order. */
  choose() {
    const ordered = this.branches().filter((branch) => branch.lines.length);
    const outcomes = new Set(ordered.map(outcome));
    return outcomes.size > 1 || this.ways.some((way) => differ(way.branches));
  }

  /**
   * Return what is ordered; with `only`, what concerns that way, for all its models.
   * @param {Way | null} [only]
   * @returns {Needed[]}
   */
  lines(only) {
    const every = linesOf(this.ways);
    if (!only) return [...every.values()];
    return [...linesOf([only])].map(([key, line]) => every.get(key) ?? line);
  }

  /**
   * Return models as they are listed: none for every model, else as a row names just them.
   * @param {Set<string>} models
   * @returns {string[]}
   */
  named(models) {
    if (models.has(ANY_OTHER) || this.models.every((model) => models.has(model))) return [];
    const plain = this.patterns.filter((each) => !each.some((pattern) => /[*?]/.test(pattern)));
    const found = plain.find((each) => this.models.every((m) => fits(each, m) === models.has(m)));
    const known = this.models.filter((model) => models.has(model));
    if (found && known.length === models.size) return found;
    return known.length ? known : [...models].sort();
  }
}

/**
 * Return the patterns of the rows that an order can lead through, each list of them once.
 * @param {Catalogue} catalogue
 * @param {string} number
 * @returns {string[][]}
 */
function limits(catalogue, number) {
  const limited = catalogue.reached(number).filter((row) => row.models.length);
  return [...new Map(limited.map((row) => [row.models.join(" "), row.models])).values()];
}

/**
 * Return what is ordered by number and quantity. Alternatives stand together, where the first of
 * them stood in its own way.
 * @param {Way[]} ways
 * @returns {Map<string, Needed>}
 */
function linesOf(ways) {
  /** @type {Map<string, Needed & {place: number}>} */
  const found = new Map();
  for (const { models, branches } of ways) {
    branches.flatMap(summed).forEach(({ part, quantity }, at) => {
      const key = `${quantity} ${fold(part.number)}`;
      const before = found.get(key);
      const all = new Set([...(before?.models ?? []), ...models]);
      found.set(key, { part, quantity, models: all, place: before?.place ?? at });
    });
  }
  return new Map([...found].sort(([, one], [, other]) => one.place - other.place));
}

/**
 * Return each number of a branch once, with all that is needed of it.
 * @param {Branch} branch
 * @returns {Line[]}
 */
function summed(branch) {
  const needed = new Map();
  for (const { part, quantity } of branch.lines) {
    const key = fold(part.number);
    const held = needed.get(key);
    needed.set(key, { part: held?.part ?? part, quantity: quantity + (held?.quantity ?? 0) });
  }
  return [...needed.values()];
}
