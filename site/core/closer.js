/** A closer look at the best bulletins: which line of them holds how much of what was asked. */

import { placeOf, sum } from "./hits.js";
import { plain, rawTokens } from "./wording.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./hits.js").Hits} Hits */
/** @typedef {import("./matching.js").Group} Group */
/** @typedef {import("./variants.js").Variant} Variant */
/** @typedef {import("./ranking.js").Ranking} Ranking */

/** Looks at documents one by one, with the weights of one ranking. */
export class CloserLook {
  /** @param {Ranking} ranking */
  constructor(ranking) {
    this._ranking = ranking;
    this._index = ranking.index;
    this._wording = ranking.wording;
    this._weights = ranking.wording.weights;
  }

  /**
   * Raise bulletins of which one line (title or a symptom) holds much of what was asked.
   * @param {Hits} hits
   * @param {number[]} docs
   * @param {Group[]} groups
   */
  raise(hits, docs, groups) {
    const words = groups.flatMap((group) => group.words);
    const whole = sum(words.map((word) => this._ranking.askedWeight(word)));
    if (!whole) return;
    for (const doc of docs) {
      const best = this.bestLine(doc, groups).held / whole;
      hits.score[doc] *= 1 + this._weights.line_bonus * best * best;
    }
  }

  /**
   * Return the line of a document, from line `first` on, that holds most of what was asked; -1 with
   * 0 where none holds any.
   * @param {number} doc
   * @param {Group[]} groups
   * @param {number} [first]
   * @returns {{line: number, held: number}}
   */
  bestLine(doc, groups, first = 0) {
    const placed = groups.map((group) => ({
      phrase: this._lines(doc, group.phrase),
      words: group.words.map((word) => this._lines(doc, word.variants)),
      weights: group.words.map((word) => this._ranking.askedWeight(word)),
    }));
    let lines = 0;
    for (const { phrase, words } of placed) {
      for (const { masks } of [phrase, ...words]) masks.forEach((mask) => { lines |= mask; });
    }
    let best = { line: -1, held: 0 };
    for (let line = first; line < 31; line += 1) {
      const bit = 1 << line;
      if (!(lines & bit)) continue;
      let held = 0;
      for (const { phrase, words, weights } of placed) {
        const whole = factorAt(phrase, bit);
        for (let at = 0; at < words.length; at += 1) {
          held += weights[at] * Math.max(factorAt(words[at], bit), whole);
        }
      }
      if (held > best.held) best = { line, held };
    }
    return best;
  }

  /**
   * Return the variants of the asked words that stand in a line of a document, for each word the
   * one that counts most.
   * @param {number} doc
   * @param {Group[]} groups
   * @param {number} line
   * @returns {Variant[]}
   */
  inLine(doc, groups, line) {
    const every = groups.flatMap(({ words, phrase }) => [
      phrase, ...words.map((word) => word.variants),
    ]);
    return every.flatMap((variants) => (
      variants.filter(({ term }) => {
        const postings = this._index.postings(term);
        return (postings.masks[placeOf(postings, doc)] ?? 0) & (1 << line);
      }).slice(0, 1)
    ));
  }

  /**
   * Return the lines of a document in which variants stand, with their factors.
   * @param {number} doc
   * @param {Variant[]} variants
   */
  _lines(doc, variants) {
    /** @type {{factors: number[], masks: number[]}} */
    const found = { factors: [], masks: [] };
    for (const { term, factor } of variants) {
      const postings = this._index.postings(term);
      const place = placeOf(postings, doc);
      if (place >= 0 && postings.masks[place]) {
        found.factors.push(factor);
        found.masks.push(postings.masks[place]);
      }
    }
    return found;
  }

  /**
   * Raise the bulletin whose title was typed word for word. Titles are read only where every asked
   * word stands in them.
   * @param {Hits} hits
   * @param {number[]} close
   * @param {Asked} asked
   * @param {Group[]} groups
   */
  liftTitle(hits, close, asked, groups) {
    const stems = this._wording.stems(asked.text);
    const words = groups.flatMap((group) => group.words);
    if (stems.length < 2 || !words.length) return;
    const terms = words.map((word) => this._index.postings(this._wording.stem(word.text)));
    const docs = close.filter((doc) => terms.every((term) => term.masks[placeOf(term, doc)] & 1));
    this._index.needCards(docs);
    for (const doc of docs) {
      const { title } = this._index.cardOf(doc);
      const written = [...rawTokens(plain(title))].filter((word) => !this._wording.isStop(word));
      if (Math.abs(written.length - stems.length) > 3) continue;
      this._wording.need(title);
      if (this._wording.stems(title).join(" ") === stems.join(" ")) {
        hits.score[doc] += this._weights.exact_title;
        hits.exact[doc] = 1;
        hits.named[doc] = 1;
      }
    }
  }

  /**
   * Return the asked words that a document holds, each with the variant that counts most there: a
   * phrase where it counts for more than its words.
   * @param {number} doc
   * @param {Group[]} groups
   * @returns {[string, Variant][]}
   */
  through(doc, groups) {
    return groups.flatMap(({ words, phrase }) => {
      const whole = this._bestIn(doc, phrase);
      const own = words.map((word) => this._bestIn(doc, word.variants));
      if (whole.variant && whole.score >= sum(own.map((best) => best.score))) {
        return [/** @type {[string, Variant]} */ (
          [words.map((word) => word.text).join(" "), whole.variant]
        )];
      }
      return own.flatMap(({ variant }, at) => (
        variant ? [/** @type {[string, Variant]} */ ([words[at].text, variant])] : []
      ));
    });
  }

  /**
   * @param {number} doc
   * @param {Variant[]} variants
   */
  _bestIn(doc, variants) {
    /** @type {{score: number, variant: Variant | null}} */
    let best = { score: 0, variant: null };
    const scales = this._ranking.scales(variants);
    for (const [at, variant] of variants.entries()) {
      const postings = this._index.postings(variant.term);
      const place = placeOf(postings, doc);
      if (place < 0) continue;
      const weight = postings.weights[place];
      const score = (scales[at] * weight) / (this._weights.k1 + weight);
      if (!best.variant || score > best.score) best = { score, variant };
    }
    return best;
  }
}

/**
 * @param {{factors: number[], masks: number[]}} placed
 * @param {number} bit
 */
function factorAt({ factors, masks }, bit) {
  let most = 0;
  for (let at = 0; at < masks.length; at += 1) {
    if (masks[at] & bit && factors[at] > most) most = factors[at];
  }
  return most;
}
