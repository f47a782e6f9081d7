/** What the house knows by number, as the reading of a typed line asks for it. */

import { SerialError } from "./errors.js";
import { fold } from "./folding.js";
import { begins } from "./places.js";
import { readSerial, usesOf } from "./serials.js";
import { knownModel, splitModel } from "./units.js";

/** @typedef {import("./records.js").Family} Family */
/** @typedef {import("./records.js").Reading} Reading */

const FEW = 4; // part numbers that a beginning or an end may stand for

/**
 * What of the house is asked here.
 * @typedef {object} Numbers
 * @property {Map<string, Family>} families
 * @property {Set<string>} modelStarts
 * @property {() => Map<string, string>} codes
 * @property {(folded: string) => string} bulletinNumber
 * @property {(folded: string) => string} partNumber
 * @property {(folded: string, most: number) => string[]} numbersLike
 * @property {(prefix: string) => string[]} wordsStarting
 */

/** @typedef {Numbers & import("./records.js").Reference} House */

/** Answers for one house on one day. */
export class KnownNumbers {
  /**
   * @param {House} house
   * @param {number} today
   */
  constructor(house, today) {
    this._house = house;
    this._today = today;
  }

  /** Return every fault code: folded, and as displayed. */
  codes() {
    return this._house.codes();
  }

  /**
   * Return the bulletin number that `folded` stands for, or nothing.
   * @param {string} folded
   */
  bulletinNumber(folded) {
    return this._house.bulletinNumber(folded);
  }

  /**
   * Return the part number that `folded` stands for, or nothing.
   * @param {string} folded
   */
  partNumber(folded) {
    return this._house.partNumber(folded);
  }

  /**
   * Return the part numbers that begin or end with `folded`, if only a few do.
   * @param {string} folded
   */
  partsLike(folded) {
    const found = this._house.numbersLike(folded, FEW + 1);
    return found.length <= FEW ? found : [];
  }

  /**
   * Return the model, and its digit, that `folded` stands for.
   * @param {string} folded
   * @returns {[string, number | null] | null}
   */
  modelDigit(folded) {
    if (!this._house.modelStarts.has(folded.slice(0, 2))) return null;
    return knownModel(this._house, folded);
  }

  /**
   * Tell whether `folded` reads as a serial (of the model, where one is known).
   * @param {string} folded
   * @param {string} model
   */
  isSerial(folded, model) {
    const length = [...folded].length;
    return this._uses(model).some((use) => (
      use.scheme.layout.length === length && this._reads(folded, [use]).length > 0
    ));
  }

  /**
   * @param {string} folded
   * @param {ReturnType<typeof usesOf>} uses
   * @returns {Reading[]}
   */
  _reads(folded, uses) {
    try {
      return readSerial(folded, uses, this._today);
    } catch (error) {
      if (error instanceof SerialError) return [];
      throw error;
    }
  }

  /**
   * Tell whether `folded` has the length of a serial and is mostly figures.
   * @param {string} folded
   * @param {string} model
   */
  looksSerial(folded, model) {
    const figures = folded.match(/\p{Nd}/gu)?.length ?? 0;
    const near = this._uses(model).some(({ scheme }) => (
      Math.abs(scheme.layout.length - folded.length) <= 1
    ));
    return near && figures * 2 > folded.length && figures > 3;
  }

  /**
   * Tell whether `folded` can grow into a serial of the model, and into no word or code.
   * @param {string} folded
   * @param {string} model
   */
  beginsSerial(folded, model) {
    if (!this._uses(model).some(({ scheme }) => begins(folded, scheme))) return false;
    if ([...this.codes().keys()].some((code) => code.startsWith(folded))) return false;
    const words = this._house.wordsStarting(folded.toLowerCase());
    return !words.some((word) => /^\p{L}+$/u.test(word));
  }

  /**
   * Return the families of which `folded` reads as a serial, with how it reads.
   * @param {string} folded
   * @returns {[Family, Reading[]][]}
   */
  familiesOfSerial(folded) {
    return [...this._house.families.values()]
      .map((family) => /** @type {[Family, Reading[]]} */ (
        [family, this._reads(folded, usesOf(family, this._house.schemes))]
      ))
      .filter(([, readings]) => readings.length);
  }

  /**
   * Tell whether a text is a word of a bulletin or, growing, the beginning of one. The beginning of
   * a code is none: another code than the one typed is no answer to it.
   * @param {string} text
   * @param {boolean} growing
   */
  isWord(text, growing) {
    const codes = this.codes();
    const found = this._house.wordsStarting(text);
    return found.some((word) => word === text || (growing && !codes.has(fold(word))));
  }

  /** @param {string} model */
  _uses(model) {
    const { families, schemes } = this._house;
    const named = model ? [this._house.familyOf(splitModel(this._house, model)[0])] : null;
    return [...(named ?? families.values())].flatMap((family) => usesOf(family, schemes));
  }
}
