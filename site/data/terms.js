/** Terms of the search with their postings, and the codes of the house. */

import { fold } from "../core/folding.js";
import { Words } from "./words.js";

/**
 * Where a term stands: documents in order, how heavily, and in which lines (bit i for line i).
 * @typedef {{docs: Uint32Array, weights: Float64Array, masks: Uint32Array}} Postings
 */

const HAS_LINES = 32;

/** The postings of a piece's terms, read once. */
class TermPiece {
  /**
   * @param {import("./pieces.js").Piece} piece
   * @param {number[]} levels  of weights
   */
  constructor({ value: [terms, counts], bytes }, levels) {
    /** @type {Map<string, [number, number]>} for each term where its postings begin and end */
    this.places = new Map();
    let sum = 0;
    terms.split("\n").forEach((/** @type {string} */ term, /** @type {number} */ at) => {
      this.places.set(term, [sum, sum += counts[at]]);
    });
    this.docs = new Uint32Array(sum);
    let at = 0;
    for (const [first, end] of this.places.values()) {
      at = readSteps(bytes, at, this.docs.subarray(first, end));
    }
    const codes = bytes.subarray(at, at + sum);
    this.weights = Float64Array.from(codes, (code) => levels[code & 31]);
    this.masks = readMasks(bytes, at + sum, codes);
  }

  /**
   * @param {string} term
   * @returns {Postings | undefined}
   */
  postings(term) {
    const place = this.places.get(term);
    if (!place) return undefined;
    const [docs, weights] = [this.docs.subarray(...place), this.weights.subarray(...place)];
    return { docs, weights, masks: this.masks.subarray(...place) };
  }
}

/**
 * Read rising numbers written as Rice codes of what lies between them (kb/phone/terms.py) and
 * return where their bytes end.
 * @param {Uint8Array} bytes
 * @param {number} from
 * @param {Uint32Array} into
 */
export function readSteps(bytes, from, into) {
  let at = from * 8;
  const bit = () => (bytes[at >> 3] >> (7 - (at++ & 7))) & 1;
  const bits = (/** @type {number} */ count) => {
    let number = 0;
    for (; count; count -= 1) number = (number << 1) | bit();
    return number;
  };
  const low = bits(4);
  let last = -1;
  for (let each = 0; each < into.length; each += 1) {
    let high = 0;
    while (bit()) high += 1;
    last += 1 + ((high << low) | bits(low));
    into[each] = last;
  }
  return (at + 7) >> 3;
}

/**
 * Return the masks of lines of postings, noughts where their codes tell of none.
 * @param {Uint8Array} bytes
 * @param {number} at
 * @param {Uint8Array} codes
 */
export function readMasks(bytes, at, codes) {
  return Uint32Array.from(codes, (code) => {
    if (!(code & HAS_LINES)) return 0;
    let [mask, shift] = [bytes[at], 0];
    mask &= 127;
    while (bytes[at++] > 127) {
      shift += 7;
      mask |= (bytes[at] & 127) << shift;
    }
    return mask;
  });
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
    if (piece && !this.readTerms.has(piece)) {
      this.readTerms.set(piece, new TermPiece(piece, this.facts.levels));
    }
    return piece && this.readTerms.get(piece);
  }

  /**
   * Return how many bulletins in force hold a term.
   * @param {string} term
   */
  frequency(term) {
    const [first, end] = this.termPiece(term)?.places.get(term) ?? [0, 0];
    return end - first;
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
