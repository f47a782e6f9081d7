/** What of a typed line is a plate, and the line without one of the things understood in it. */

import { readLine } from "../core/asking.js";
import { KnownNumbers } from "../core/known.js";
import { splitModel } from "../core/units.js";
import { Wording } from "../core/wording.js";

/** @typedef {import("../core/asking.js").Asked} Asked */
/** @typedef {import("../data/house.js").House} House */
/** @typedef {{model: string, serial: string}} Plate */
/** @typedef {"model" | "serial" | "code" | "part" | "number"} Sort */

const PIECE = /[^\s,;]+/g;
const WIDEST = 6;
const NONE = { model: "", serial: "" };

/** Reads typed lines with what one house knows on one day. */
export class Lines {
  /**
   * @param {House} house
   * @param {number} today
   */
  constructor(house, today) {
    this.house = house;
    this.wording = new Wording(house);
    this.known = new KnownNumbers(house, today);
  }

  /**
   * @param {string} text
   * @param {Plate} [plate]  given apart
   */
  read(text, { model, serial } = NONE) {
    this.wording.need(text);
    return readLine(text, this.known, this.wording, model, serial);
  }

  /**
   * Return what is to be given apart of the plate at hand: nothing where the line names another
   * model, no serial where the line names one. NotFound where the plate's model is not known.
   * @param {string} text
   * @param {Plate} plate
   * @returns {Plate}
   */
  apart(text, plate) {
    const asked = this.read(text);
    if (!plate.model || asked.model) return { model: "", serial: "" };
    const [model] = splitModel(this.house, plate.model);
    const { serial } = this.read(text, { model, serial: "" });
    return serial ? { model: plate.model, serial: "" } : plate;
  }

  /**
   * Return the line to ask for a plate: one that only repeats the model of it goes without, so that
   * the digit and the serial at hand hold on.
   * @param {string} text
   * @param {Plate} plate
   */
  asking(text, plate) {
    const { model, revision, serial } = this.read(text);
    if (!model || !plate.model || revision !== null || serial) return text;
    const [known, digit] = splitModel(this.house, plate.model);
    const more = digit !== null || plate.serial; // than the line says
    return model === known && more ? this.without(text, "model", model, NONE) : text;
  }

  /**
   * Return the line without its plate, which goes into the chips.
   * @param {string} text
   * @param {Plate} plate  at hand
   */
  lifted(text, plate) {
    const { model, serial } = this.apart(text, plate);
    const read = this.read(text, { model, serial });
    if (!read.model) return text; // a serial alone is no plate
    const bare = serial || !read.serial ? text : this.without(text, "serial", read.serial, plate);
    return model || !read.model ? bare : this.without(bare, "model", read.model, plate);
  }

  /**
   * Return the line without one thing understood in it, with the words that only announce it
   * ("err 21", "model no TD45A"): what is left is understood as before.
   * @param {string} text
   * @param {Sort} sort
   * @param {string} value
   * @param {Plate} plate  at hand
   */
  without(text, sort, value, plate) {
    const given = this.apart(text, plate);
    const before = this.read(text, given);
    if ((sort === "model" || sort === "serial") && given[sort]) return text;
    if (!holds(before, sort, value)) return text;
    const wanted = JSON.stringify(rest(before, sort, value));
    const all = 1 + before.codes.length - (sort === "code" ? 1 : 0);
    let [best, most] = [text, 0];
    for (const shorter of shortened(text)) {
      const after = this.read(shorter, given);
      if (holds(after, sort, value)) continue;
      const same = JSON.stringify(rest(after, sort, value)) === wanted;
      const left = same ? 1 + after.codes.length : 0; // one piece can be read as several codes
      if (left > most || !most) [best, most] = [shorter, left];
      if (left === all) break;
    }
    return best;
  }
}

/**
 * Yield a text without each run of its pieces, the longest runs first.
 * @param {string} text
 */
function* shortened(text) {
  const pieces = [...text.matchAll(PIECE)];
  for (let width = Math.min(WIDEST, pieces.length); width > 0; width -= 1) {
    for (let at = 0; at + width <= pieces.length; at += 1) {
      const last = pieces[at + width - 1];
      const head = text.slice(0, pieces[at].index);
      const tail = text.slice(last.index + last[0].length);
      yield `${head.trimEnd()} ${tail.trimStart()}`.replace(/^[\s,;]+|[\s,;]+$/g, "");
    }
  }
}

/** @param {Asked} asked @param {Sort} sort @param {string} value */
function holds(asked, sort, value) {
  if (sort === "model" || sort === "serial") return asked[sort] === value;
  return listOf(asked, sort).includes(value);
}

/** @param {Asked} asked @param {"code" | "part" | "number"} sort */
function listOf({ codes, parts, numbers }, sort) {
  return { code: codes, part: parts, number: numbers }[sort];
}

/**
 * Return everything that was understood but codes and the one thing. Without its model a serial
 * may read otherwise, so it is left aside with it.
 * @param {Asked} asked
 * @param {Sort} sort
 * @param {string} value
 */
function rest({ words, parts, numbers, model, revision, serial, quotes }, sort, value) {
  const others = [parts, numbers].map((list) => list.filter((each) => each !== value));
  const unit = { model: [], serial: [model, revision] }[/** @type {string} */ (sort)];
  return [words, quotes, others, unit ?? [model, revision, serial]];
}
