/** What to order when a part number is asked for. */

import { differ, unique } from "./branches.js";
import { NotFound } from "./errors.js";
import { strip } from "./folding.js";
import { ByModel } from "./waysbymodel.js";

/** @typedef {import("./branches.js").Coming} Coming */
/** @typedef {import("./branches.js").Step} Step */
/** @typedef {import("./partlist.js").Catalogue} Catalogue */

/**
 * A number to order. `models` are those it is for; none for every model.
 * @typedef {{number: string, quantity: number, name: string, status: string, models: string[]}}
 *   Ordered
 */

/**
 * What to order for the number `asked` (as typed), and how that was found: the fields of
 * `kb part --json`, but for the bulletins. `choose` tells that `order` depends on the model.
 * `chain` holds the steps that lead to what is ordered; opening a kit that is gone is none.
 * `interchange` tells how what is ordered stands to what was asked: both may stand in for each
 * other, forward (only the new for the old), none (no other number takes its place). `coming` are
 * successors not to be had yet.
 * @typedef {object} Order
 * @property {string} asked
 * @property {Ordered[]} order
 * @property {boolean} choose
 * @property {Step[]} chain
 * @property {"both" | "forward" | "none"} interchange
 * @property {Coming[]} coming
 * @property {string[]} notes
 */

/**
 * Return what to order for a number, for one model (without its revision) or for each that makes a
 * difference. Throws NotFound, with the nearest numbers in its remedy, for a number that neither
 * parts.csv nor kits.csv knows.
 * @param {Catalogue} catalogue
 * @param {string} number
 * @param {string} [model]
 * @returns {Order}
 */
export function order(catalogue, number, model) {
  if (!catalogue.find(number)) {
    throw notFound(`there is no part ${strip(number)}`, catalogue.nearest(number),
      "look the number up in parts.csv");
  }
  const ways = new ByModel(catalogue, number);
  const asked = model ? ways.way([model]) : null;
  const branches = asked ? asked.branches : ways.branches();
  const chain = unique(branches.flatMap((branch) => branch.steps));
  return {
    asked: number,
    order: ways.lines(asked).map((line) => ordered(line, ways)),
    choose: asked ? differ(branches) : ways.choose(),
    chain,
    interchange: interchange(chain),
    coming: unique(branches.flatMap((branch) => branch.coming)),
    notes: unique(branches.flatMap((branch) => branch.notes)),
  };
}

/**
 * Return the error for a number that is not known: the numbers most like it, or what else to do.
 * @param {string} message
 * @param {string[]} near
 * @param {string} otherwise
 */
export function notFound(message, near, otherwise) {
  return new NotFound(message, near.length ? `did you mean ${near.join(" or ")}?` : otherwise);
}

/**
 * @param {import("./waysbymodel.js").Needed} line
 * @param {ByModel} ways
 * @returns {Ordered}
 */
function ordered({ part, quantity, models }, ways) {
  const { number, name, status } = part;
  return { number, quantity, name, status, models: ways.named(models) };
}

/**
 * @param {Step[]} chain
 * @returns {Order["interchange"]}
 */
function interchange(chain) {
  const relations = new Set(chain.map((step) => step.relation));
  if (relations.has("forward") || relations.has("kit")) return "forward";
  return relations.size === 1 && relations.has("same") ? "both" : "none";
}
