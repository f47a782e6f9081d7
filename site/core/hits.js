/** The fits of documents to what was asked, and what is read of the places of a term. */

/**
 * Where a term stands: documents in order, how heavily, and in which lines (bit 0 the title, bit i
 * symptom i).
 * @typedef {{docs: Uint32Array, weights: Float64Array, masks: Uint32Array}} Postings
 */

/** The fits of all documents, each in its place of lists as long as there are documents. */
export class Hits {
  /** @param {number} size */
  constructor(size) {
    this.score = new Float64Array(size);
    this.weighed = new Float64Array(size);
    this.share = new Float64Array(size);
    this.found = new Uint16Array(size);
    /** It bears or mentions the code, part or title asked for. */
    this.exact = new Uint8Array(size);
    /** It bears it itself. */
    this.named = new Uint8Array(size);
    this._held = new Uint8Array(size);
    /**
     * Codes and parts that documents name, in words, the last asked first.
     * @type {Map<number, string[]>}
     */
    this.told = new Map();
    /** Documents that hold anything asked. @type {number[]} */
    this.docs = [];
  }

  /**
   * Note that a document holds something.
   * @param {number} doc
   */
  touch(doc) {
    if (!this._held[doc]) {
      this._held[doc] = 1;
      this.docs.push(doc);
    }
  }

  /**
   * Return the best documents, the best first, of those that `fits` lets pass.
   * @param {number} most
   * @param {(doc: number) => boolean} [fits]
   * @returns {number[]}
   */
  best(most, fits) {
    const { score } = this;
    /** @param {number} one @param {number} other */
    const order = (one, other) => score[other] - score[one] || one - other;
    let floor = -Infinity;
    /** @type {number[]} */
    let kept = [];
    for (const doc of this.docs) {
      if (score[doc] < floor || (fits && !fits(doc))) continue;
      kept.push(doc);
      if (kept.length >= 4 * most + 100) {
        kept = kept.sort(order).slice(0, most);
        floor = score[kept[most - 1]];
      }
    }
    return kept.sort(order).slice(0, most);
  }
}

/**
 * Note that a document names a code or part that was asked for.
 * @param {Hits} hits
 * @param {number} doc
 * @param {number} bonus
 * @param {boolean} named  itself, not in passing
 * @param {string} told
 */
export function addNumber(hits, doc, bonus, named, told) {
  hits.touch(doc);
  hits.score[doc] += bonus;
  hits.found[doc] += 1;
  hits.exact[doc] = 1;
  if (named) hits.named[doc] = 1;
  hits.told.set(doc, [told, ...(hits.told.get(doc) ?? [])]);
}

/**
 * Return where a document stands in postings, -1 where it does not.
 * @param {Postings} postings
 * @param {number} doc
 * @returns {number}
 */
export function placeOf({ docs }, doc) {
  let [low, high] = [0, docs.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (docs[middle] < doc) low = middle + 1;
    else high = middle;
  }
  return docs[low] === doc ? low : -1;
}

/**
 * Return the sum of numbers, added in their order.
 * @param {number[]} numbers
 */
export function sum(numbers) {
  let total = 0;
  for (const number of numbers) total += number;
  return total;
}
