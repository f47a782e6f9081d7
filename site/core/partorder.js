/** What to order for a part number, and who speaks of it: the answer of `kb part`. */

import { answer } from "./applies.js";
import { atOnce } from "./atonce.js";
import { notFound, order } from "./catalogue.js";
import { fold, strip } from "./folding.js";
import { Catalogue, nearestNumbers } from "./partlist.js";
import { canApply } from "./scope.js";
import { makeUnit } from "./units.js";

/** @typedef {import("./records.js").Family} Family */
/** @typedef {import("./records.js").KitRow} KitRow */
/** @typedef {import("./records.js").PartRow} PartRow */
/** @typedef {import("./records.js").Unit} Unit */

/**
 * What of a house the answer needs.
 * @typedef {object} PartsHouse
 * @property {Map<string, Family>} families
 * @property {(family: string) => string[]} modelsOf
 * @property {(folded: string) => string} partNumber
 * @property {() => string[]} partNumbers
 * @property {(number: string) => string[]} newerNumbers
 * @property {(folded: string[]) => PartRow[]} partRows
 * @property {(folded: string[]) => KitRow[]} kitRows
 * @property {(folded: string[]) => string[]} bulletinsNaming
 * @property {(number: string) => {where: import("./records.js").Block[]} | null} card
 */

/** @typedef {PartsHouse & import("./records.js").Reference} House */

/**
 * Return the answer of `kb part --json`; NotFound for an unknown number or model. With a model or a
 * serial only the bulletins that can apply to that unit are named. A serial without a model is read
 * by the scheme of every family that it fits.
 * @param {House} house
 * @param {string} asked
 * @param {string} model
 * @param {string} serial
 * @param {number} today
 */
export function orderFor(house, asked, model, serial, today) {
  const unit = begun(house, asked, model, serial, today);
  if (!house.partNumber(fold(asked))) {
    throw notFound(`no part ${strip(asked)} is known`, nearestNumbers(asked, house.partNumbers()),
      "look at the number once more");
  }
  const reached = house.newerNumbers(asked);
  const models = () => everyModel(house);
  const catalogue = new Catalogue(house.partRows(reached), house.kitRows(reached), models);
  const found = order(catalogue, asked, unit?.model);
  const units = unit ? [unit] : unitsOf(house, serial, today);
  const steps = found.chain.flatMap((step) => [step.from, step.to]);
  const numbers = new Set([asked, ...found.order.map((line) => line.number), ...steps].map(fold));
  const bulletins = house.bulletinsNaming([...numbers].sort());
  return {
    ...found,
    notes: [...found.notes, ...unread(serial, units)],
    bulletins: concerned(house, bulletins, units, today),
  };
}

/**
 * Return the unit, if a model is given. What every answer needs is asked for at once with it.
 * @param {House} house
 * @param {string} asked
 * @param {string} model
 * @param {string} serial
 * @param {number} today
 */
function begun(house, asked, model, serial, today) {
  /** @type {Unit | null} */
  let unit = null;
  const needs = [
    () => { if (fold(model)) unit = makeUnit(house, model, serial, today); },
    () => house.partNumber(fold(asked)),
    () => house.partRows(house.newerNumbers(asked)),
    () => house.bulletinsNaming([fold(asked)]),
  ];
  atOnce(needs, (need) => need());
  return /** @type {Unit | null} */ (unit);
}

/**
 * Return every model of the house, in its order.
 * @param {House} house
 */
function everyModel(house) {
  return atOnce(house.families.keys(), (family) => house.modelsOf(family)).flat();
}

/**
 * Return what a serial by itself can mean: a unit of every model whose family reads it.
 * @param {House} house
 * @param {string} serial
 * @param {number} today
 * @returns {Unit[]}
 */
function unitsOf(house, serial, today) {
  if (!fold(serial)) return [];
  return atOnce(house.families.keys(), (family) => house.modelsOf(family)).flatMap((models) => {
    const unit = models.length ? makeUnit(house, models[0], serial, today) : null;
    // What one model's family does not read, none of its models does.
    return unit && !unit.unreadable ? models.map((model) => ({ ...unit, model })) : [];
  });
}

/**
 * Say that a serial was of no use; with what a sound one looks like, where a model is known.
 * @param {string} serial
 * @param {Unit[]} units
 */
function unread(serial, units) {
  if (fold(serial) && !units.length) {
    return [`the serial ${strip(serial)} fits no family, so it narrows nothing down`];
  }
  return units.filter((unit) => unit.unreadable)
    .map((unit) => `the serial is left aside: ${unit.unreadable}`);
}

/**
 * Return the bulletins that can apply to any of the units; all of them without a unit.
 * @param {House} house
 * @param {string[]} numbers
 * @param {Unit[]} units
 * @param {number} today
 */
function concerned(house, numbers, units, today) {
  if (!units.length) return numbers;
  const cards = atOnce(numbers, (number) => house.card(number));
  return numbers.filter((_, at) => {
    const where = cards[at]?.where ?? [];
    return units.some((unit) => canApply(where, unit.family.name, unit.model)
      && answer(where, unit, house, today).applies !== "no");
  });
}
