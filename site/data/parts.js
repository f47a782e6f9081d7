/** Parts: their numbers, their rows, and the bulletins that name them. */

import { atOnce } from "../core/atonce.js";
import { fold } from "../core/folding.js";
import { Numbers } from "./numbers.js";
import { LAST } from "./pieces.js";
import { lines } from "./terms.js";

/** @typedef {import("../core/records.js").PartRow} PartRow */
/** @typedef {import("../core/records.js").KitRow} KitRow */

const ALNUM = /^[\p{L}\p{N}]+$/u;

/** @param {string} text */
function backwards(text) {
  return [...text].reverse().join("");
}

/**
 * @param {any[]} row
 * @returns {PartRow}
 */
function partRow([, number, name = "", component = "", status = "current", replacedBy = "",
  relation = "", models = "", since = "", note = ""]) {
  const patterns = models ? models.split(" ") : [];
  return { number, name, component, status, replacedBy, relation, models: patterns, since, note };
}

/** @param {any[]} one @param {any[]} other */
function byPlace(one, other) {
  return one[0] - other[0];
}

/** A house that knows its parts. */
export class Parts extends Numbers {
  /**
   * Return the part or kit number that a folded one stands for, or nothing.
   * @param {string} folded
   */
  partNumber(folded) {
    if (!this.isShaped("parts", folded)) return "";
    const found = lines(this.layers.parts.piece(folded)?.value);
    return found.map(bare).find((number) => fold(number) === folded) ?? "";
  }

  /**
   * Return at most so many part numbers that begin or end with a folded text, in order.
   * @param {string} folded
   * @param {number} most
   * @returns {string[]}
   */
  numbersLike(folded, most) {
    if (!ALNUM.test(folded)) return [];
    const ending = backwards(folded);
    const { parts, ends } = this.layers;
    const begins = () => parts.between(folded, folded + LAST);
    const finishes = () => ends.between(ending, ending + LAST);
    atOnce([begins, finishes], (ask) => ask());
    const found = [
      ...begun(parts.between(folded, folded + LAST), (folds) => folds.startsWith(folded)),
      ...begun(ends.between(ending, ending + LAST), (folds) => folds.endsWith(folded)),
    ];
    return [...new Set(found)].sort().slice(0, most);
  }

  /** Return every part and kit number, as written. */
  partNumbers() {
    return this.layers.parts.all().flatMap((piece) => lines(piece.value).map(bare));
  }

  /**
   * Return the rows of parts with these folded numbers, in the order of the file.
   * @param {string[]} folded
   * @returns {PartRow[]}
   */
  partRows(folded) {
    this.layers.rows.need(folded);
    const rows = folded.flatMap((number) => this.layers.rows.value(number)?.[0] ?? []);
    return rows.sort(byPlace).map(partRow);
  }

  /**
   * Return what the kits with these folded numbers hold.
   * @param {string[]} folded
   * @returns {KitRow[]}
   */
  kitRows(folded) {
    this.layers.rows.need(folded);
    const rows = folded.flatMap((number) => this.layers.rows.value(number)?.[2] ?? []);
    return rows.sort(byPlace).map(([, kit, number, quantity]) => ({ kit, number, quantity }));
  }

  /**
   * Return the folded numbers that an order for a number can lead to, itself first.
   * @param {string} number
   * @returns {string[]}
   */
  newerNumbers(number) {
    const folded = fold(number);
    return [folded, ...(this.layers.rows.value(folded)?.[1] ?? [])];
  }

  /**
   * Return the folded numbers tied to a part, with their steps, that a bulletin in force names.
   * @param {string} folded
   * @returns {[string, number][]}
   */
  relatedNumbers(folded) {
    const [tied, docs] = this.layers.links.value(folded) ?? [[], []];
    return docs.length ? [[folded, 0], ...tied] : tied;
  }

  /**
   * Return the documents that name a part, with how much each naming counts.
   * @param {string} folded
   * @returns {[number, number][]}
   */
  partPostings(folded) {
    const [, docs, shares] = this.layers.links.value(folded) ?? [[], [], []];
    return docs.map((/** @type {number} */ doc, /** @type {number} */ at) => [
      doc, Math.abs(shares[at]),
    ]);
  }

  /**
   * Return the bulletins in force that order, check or keep any of these folded numbers.
   * @param {string[]} folded
   * @returns {string[]}
   */
  bulletinsNaming(folded) {
    this.layers.links.need(folded);
    /** @type {number[]} */
    const docs = folded.flatMap((number) => {
      const [, found, shares] = this.layers.links.value(number) ?? [[], [], []];
      return found.filter((/** @type {number} */ _, /** @type {number} */ at) => shares[at] > 0);
    });
    const unique = [...new Set(docs)].sort((one, other) => one - other);
    this.needCards(unique);
    return unique.map((doc) => this.cardOf(doc).number);
  }
}

/** @param {string} number  with a + where only kits know it */
function bare(number) {
  return number.replace("+", "");
}

/**
 * @param {import("./pieces.js").Piece[]} pieces
 * @param {(folded: string) => boolean} fits
 */
function begun(pieces, fits) {
  return pieces.flatMap((piece) => lines(piece.value))
    .filter((number) => number[0] !== "+" && fits(fold(number)));
}
