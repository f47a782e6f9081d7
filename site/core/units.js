/** A unit from what stands on its rating plate: the model with its revision, and the serial. */

import { NotFound, SerialError } from "./errors.js";
import { fold, strip } from "./folding.js";
import { readSerial, usesOf } from "./serials.js";

/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Reference} Reference */
/** @typedef {import("./records.js").Unit} Unit */

// A revision has two digits at most: more of them are the beginning of something else.
const REVISION = /^\/?([0-9]{1,2})$/;

/**
 * Return the known model that a text names and the revision behind it, if any. An exact name wins;
 * else the longest known name that the text starts with. NotFound names the nearest model.
 * @param {Reference} house
 * @param {string} text
 * @returns {[string, number | null]}
 */
export function splitModel(house, text) {
  const asked = fold(text);
  const known = knownModel(house, asked);
  if (known) return known;
  const near = asked && nearestModel(asked, house);
  const remedy = near ? `did you mean ${near}?` : "check the model number on the rating plate";
  throw new NotFound(asked ? `no model ${strip(text)} is known` : "no model is given", remedy);
}

/**
 * Return the known model and revision that a folded text names, or null.
 * @param {Pick<Reference, "modelNamed">} house
 * @param {string} asked
 * @returns {[string, number | null] | null}
 */
export function knownModel(house, asked) {
  const exact = asked && house.modelNamed(asked);
  if (exact) return [exact, null];
  for (let end = asked.length - 1; end > 0 && end > asked.length - 4; end--) {
    const digits = REVISION.exec(asked.slice(end));
    const model = digits && house.modelNamed(asked.slice(0, end));
    if (model) return [model, Number(digits[1])];
  }
  return null;
}

/**
 * @param {string} asked
 * @param {Reference} house
 */
function nearestModel(asked, house) {
  const near = house.nearestModel(asked) || house.nearestModel(asked.replace(/[0-9/]+$/, ""));
  return near && house.modelNamed(fold(near));
}

/**
 * Return the unit that a rating plate names; NotFound where the model is not known. A serial that
 * cannot be read leaves `readings` empty and says why in `unreadable`.
 * @param {Reference} house
 * @param {string} model
 * @param {string} serial
 * @param {Day} today
 */
export function makeUnit(house, model, serial, today) {
  const [name, revision] = splitModel(house, model);
  const family = house.familyOf(name);
  const typed = strip(serial);
  /** @type {Unit} */
  const unit = { model: name, family, revision, serial: "", readings: [], unreadable: "" };
  if (!fold(typed)) return unit;
  unit.serial = typed;
  try {
    unit.readings = readSerial(typed, usesOf(family, house.schemes), today);
  } catch (error) {
    if (!(error instanceof SerialError)) throw error;
    unit.unreadable = `${error.message}; ${error.remedy}`;
  }
  return unit;
}
