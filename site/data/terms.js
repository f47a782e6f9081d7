/** Terms of the search with their postings, and the codes of the house. */

import { fold } from "../core/folding.js";
import { Words } from "./words.js";

/**
 * Where a term stands: documents in order, how heavily, and in which lines (bit i for line i).
 * @typedef {{docs: Uint32Array, weights: Float64Array, masks: Uint32Array}} Postings
 */

/** Reads a piece of terms; streams are read from their starts, a term at a time. */
class TermPiece {
  /** @param {import("./pieces.js").Piece} piece */
  constructor({ value: [terms, counts], bytes }) {
    this.bytes = bytes;
    /** @type {Map<string, [number, number]>} for each term its place and its count */
    this.places = new Map();
    let sum = 0;
    terms.split("\n").forEach((/** @type {string} */ term, /** @type {number} */ at) => {
      this.places.set(term, [sum, counts[at]]);
      sum += counts[at];
    });
    const [steps, next] = numbersOf(bytes, 0, sum);
    this.steps = steps;
    this.weights = next;
    this.masks = numbersOf(bytes, next + sum, sum)[0];
  }

  /**
   * @param {string} term
   * @returns {Postings | undefined}
   */
  postings(term) {
    const place = this.places.get(term);
    if (!place) return undefined;
    const [first, count] = place;
    const docs = this.steps.slice(first, first + count);
    for (let at = 1; at < count; at += 1) docs[at] += docs[at - 1];
    const from = this.weights + first;
    const weights = Float64Array.from(this.bytes.subarray(from, from + count), (w) => w / 16);
    return { docs, weights, masks: this.masks.slice(first, first + count) };
  }
}

/**
 * Return so many numbers, seven bits a byte, and where they end.
 * @param {Uint8Array} bytes
 * @param {number} at
 * @param {number} count
 * @returns {[Uint32Array, number]}
 */
export function numbersOf(bytes, at, count) {
  const found = new Uint32Array(count);
  for (let each = 0; each < count; each += 1) {
    let [number, shift] = [0, 0];
    while (bytes[at] > 127) {
      number |= (bytes[at] & 127) << shift;
      shift += 7;
      at += 1;
    }
    found[each] = number | (bytes[at] << shift);
    at += 1;
  }
  return [found, at];
}

/** @returns {Postings} */
function nowhere() {
  return { docs: new Uint32Array(0), weights: new Float64Array(0), masks: new Uint32Array(0) };
}

/** A house that knows its terms and codes. */
export class Terms extends Words {
  /** @type {Map<import("./pieces.js").Piece, TermPiece>} */
  readTerms = new Map();

  /** @type {Map<string, string> | undefined} */
  shownCodes = undefined;

  /** @type {Map<string, Postings>} */
  readPostings = new Map();

  /**
   * Throw one Missing with all pieces for these terms that are not in memory.
   * @param {string[]} terms
   */
  needTerms(terms) {
    this.layers.terms.need(terms);
  }

  /**
   * @param {string} term
   * @returns {TermPiece | undefined}
   */
  termPiece(term) {
    const piece = this.layers.terms.piece(term);
    if (piece && !this.readTerms.has(piece)) this.readTerms.set(piece, new TermPiece(piece));
    return piece && this.readTerms.get(piece);
  }

  /**
   * Return how many bulletins in force hold a term.
   * @param {string} term
   */
  frequency(term) {
    return this.termPiece(term)?.places.get(term)?.[1] ?? 0;
  }

  /**
   * Return where a term stands.
   * @param {string} term
   * @returns {Postings}
   */
  postings(term) {
    const held = this.readPostings.get(term) ?? this.termPiece(term)?.postings(term);
    if (held) this.readPostings.set(term, held);
    return held ?? nowhere();
  }

  /**
   * Return every fault code of a bulletin in force: folded, and as displayed.
   * @returns {Map<string, string>}
   */
  codes() {
    this.shownCodes ??= new Map(lines(this.facts.codes).map((code) => [fold(code), code]));
    return this.shownCodes;
  }

  /**
   * Return the documents that name a code: 2 where it stands in the front, 1 in the text alone.
   * @param {string} folded
   * @returns {[number, number][]}
   */
  codePostings(folded) {
    let document = 0;
    /** @type {number[]} */
    const written = this.layers.codes.value(folded) ?? [];
    return written.map((number) => [(document += number >> 1), 1 + (number & 1)]);
  }
}

/**
 * @param {string} joined
 * @returns {string[]}
 */
export function lines(joined) {
  return joined ? joined.split("\n") : [];
}
