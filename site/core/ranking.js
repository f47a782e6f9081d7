/**
 * How well each bulletin fits what was asked: BM25F over the index's weighted terms.
 *
 * For an asked word the best of its variants counts; the words add up. idf is ln(1 + (N - n + ½) /
 * (n + ½)), a term's weight w counts (k1 + 1) · w / (k1 + w). (Robertson and Zaragoza, "The
 * Probabilistic Relevance Framework: BM25 and Beyond", 2009; formulas from memory.)
 */

import { atOnce } from "./atonce.js";
import { CloserLook } from "./closer.js";
import { Hits, placeOf, sum } from "./hits.js";
import { addCodes, addParts, namedIn } from "./named.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./hits.js").Postings} Postings */
/** @typedef {import("./matching.js").Group} Group */
/** @typedef {import("./variants.js").Variant} Variant */
/** @typedef {import("./matching.js").Word} Word */
/** @typedef {import("./wording.js").Wording} Wording */

const CLOSER_LOOK = 60;
const MOST_TEXTS = 200; // texts that are read for the words in quotation marks
const MOST_FETCHED = 25; // and that are fetched for them

/**
 * The part of the house that ranking reads.
 * @typedef {object} Index
 * @property {number} count
 * @property {(terms: string[]) => void} needTerms
 * @property {(term: string) => number} frequency
 * @property {(term: string) => Postings} postings
 * @property {(folded: string) => [number, number][]} codePostings
 * @property {(folded: string) => [number, number][]} partPostings
 * @property {(docs: number[]) => void} needCards
 * @property {(doc: number) => {title: string}} cardOf
 * @property {(doc: number) => string} text
 * @property {(doc: number) => boolean} hasText
 */

/**
 * The variant of a word (or phrase) that counts most in each document: its score, 0 where none
 * stands there, and its place among the variants.
 * @typedef {{score: Float64Array, which: Uint16Array, docs: number[]}} Best
 */

/** Ranks the documents of one house. */
export class Ranking {
  /**
   * @param {Index} index
   * @param {Wording} wording
   */
  constructor(index, wording) {
    this.index = index;
    this.wording = wording;
    this._weights = wording.weights;
    /** @type {Map<string, number>} */
    this._idf = new Map();
    this.closer = new CloserLook(this);
  }

  /**
   * Return how telling a term is; that of an unknown one is the greatest.
   * @param {string} term
   */
  idf(term) {
    let idf = this._idf.get(term);
    if (idf === undefined) {
      const n = term ? this.index.frequency(term) : 0;
      idf = Math.log(1 + (this.index.count - n + 0.5) / (n + 0.5));
      this._idf.set(term, idf);
    }
    return idf;
  }

  /**
   * Return every document that holds anything asked. `parts` gives the folded part numbers asked
   * for and those that lead to or from them, with the factor (1 for the number itself) by which
   * they count.
   * @param {Asked} asked
   * @param {Group[]} groups
   * @param {Map<string, number>} parts
   */
  rank(asked, groups, parts) {
    const [codes, numbers] = namedIn(this.index, asked, parts);
    const hits = new Hits(this._size(groups, [...codes, ...numbers.map(([, held]) => held)]));
    for (const group of groups) this._addGroup(hits, group);
    addCodes(hits, codes, asked, this._weights);
    addParts(hits, numbers, asked, this._weights);
    const words = groups.flatMap((group) => group.words);
    const told = asked.codes.length - asked.unknownCodes.length + asked.parts.length;
    this._settle(hits, words.map((word) => this.askedWeight(word)), told);
    this._otherProducts(hits, asked);
    if (asked.quotes.length) this._keepQuoted(hits, asked.quotes);
    const close = hits.best(CLOSER_LOOK);
    this.closer.raise(hits, close, groups);
    this.closer.liftTitle(hits, close, asked, groups);
    this._liftNamed(hits);
    return hits;
  }

  /**
   * Return one more than the greatest document that anything leads to.
   * @param {Group[]} groups
   * @param {[number, number][][]} numbered
   */
  _size(groups, numbered) {
    const variants = groups.flatMap(({ words, phrase }) => [
      ...phrase, ...words.flatMap((word) => word.variants),
    ]);
    const lasts = variants.map(({ term }) => this.index.postings(term).docs.at(-1) ?? 0);
    return 1 + Math.max(0, ...lasts, ...numbered.map((held) => held.at(-1)?.[0] ?? 0));
  }

  /**
   * Return what finding a word is worth: light words nothing, unknown ones half the most. A word
   * that most bulletins hold still tells something, most of all in a small house.
   * @param {Word} word
   * @returns {number}
   */
  askedWeight(word) {
    if (word.light) return 0;
    const most = this.idf("");
    if (!word.variants.length) return most * this._weights.unknown;
    const telling = Math.max(...word.variants.map((variant) => this.idf(variant.term)));
    return Math.max(telling, most * this._weights.common);
  }

  /**
   * @param {Hits} hits
   * @param {Group} group
   */
  _addGroup(hits, group) {
    const size = hits.score.length;
    const own = group.words.map((word) => this._best(word.variants, size));
    const phrase = this._best(group.phrase, size);
    const worths = group.words.map((word) => this.askedWeight(word));
    const worth = sum(worths);
    const heavy = group.words.filter((word) => !word.light).length;
    for (const best of [phrase, ...own]) best.docs.forEach((doc) => hits.touch(doc));
    for (const doc of phrase.docs) {
      if (phrase.score[doc] < sum(own.map((best) => best.score[doc] ?? 0))) {
        phrase.score[doc] = 0; // the words by themselves count for more
        continue;
      }
      hits.score[doc] += phrase.score[doc];
      hits.weighed[doc] += worth * trust(group.phrase[phrase.which[doc]]);
      hits.found[doc] += heavy;
    }
    group.words.forEach((word, at) => {
      const trusts = word.variants.map(trust);
      const { score, which, docs } = own[at];
      for (const doc of docs) {
        if (phrase.score[doc]) continue;
        hits.score[doc] += score[doc];
        if (word.light) continue;
        hits.found[doc] += 1;
        hits.weighed[doc] += worths[at] * trusts[which[doc]];
      }
    });
  }

  /**
   * Return for each document the variant that counts most, with its score.
   * @param {Variant[]} variants
   * @param {number} size
   * @returns {Best}
   */
  _best(variants, size) {
    const few = variants.length ? size : 0;
    const best = { score: new Float64Array(few), which: new Uint16Array(few), docs: [] };
    const { score, which } = best;
    /** @type {number[]} */
    const found = best.docs;
    const { k1 } = this._weights;
    const scales = this.scales(variants);
    variants.forEach((variant, at) => {
      const scale = scales[at];
      const { docs, weights } = this.index.postings(variant.term);
      for (let place = 0; place < docs.length; place += 1) {
        const doc = docs[place];
        const counts = (scale * weights[place]) / (k1 + weights[place]);
        if (score[doc] === 0) found.push(doc);
        if (score[doc] < counts) {
          score[doc] = counts;
          which[doc] = at;
        }
      }
    });
    return best;
  }

  /**
   * Return for each variant of a word by what its weights are scaled. Of the words that a beginning
   * can grow into the rare ones tell no more than the common.
   * @param {Variant[]} variants
   */
  scales(variants) {
    const begun = variants.filter(({ through }) => through === "own" || through === "start");
    const least = Math.min(...begun.map(({ term }) => this.idf(term)));
    return variants.map(({ term, factor, through }) => (
      factor * (through === "start" ? least : this.idf(term)) * (this._weights.k1 + 1)
    ));
  }

  /**
   * @param {Hits} hits
   * @param {number[]} weights
   * @param {number} told
   */
  _settle(hits, weights, told) {
    const wanted = weights.filter(Boolean).length + told;
    const total = sum(weights);
    const power = this._weights.share_power;
    const shares = Array.from({ length: wanted + 1 }, (_, found) => (found / wanted) ** power);
    for (const doc of hits.docs) {
      hits.share[doc] = total ? hits.weighed[doc] / total : 1;
      if (wanted) hits.score[doc] *= shares[Math.min(hits.found[doc], wanted)];
    }
  }

  /**
   * Halve what fits bulletins of another product than the one that was named.
   * @param {Hits} hits
   * @param {Asked} asked
   */
  _otherProducts(hits, asked) {
    const named = this.wording.products(asked.words.map((word) => this.wording.stem(word)));
    const terms = [...named].map((product) => `=${product}`);
    this.index.needTerms(terms);
    const right = new Set(terms.flatMap((term) => [...this.index.postings(term).docs]));
    if (!right.size) return;
    for (const doc of hits.docs) {
      if (right.has(doc)) continue;
      hits.score[doc] *= this._weights.product_penalty;
      hits.share[doc] *= this._weights.product_penalty;
    }
  }

  /**
   * Keep what holds all quoted words in their order. Texts are read of the best alone, and only
   * where every quoted word stands somewhere in them.
   * @param {Hits} hits
   * @param {string[][]} quotes
   */
  _keepQuoted(hits, quotes) {
    const stems = [...new Set(quotes.flat().map((word) => this.wording.stem(word)))];
    this.index.needTerms(stems);
    const terms = stems.map((stem) => this.index.postings(stem));
    const docs = hits.best(MOST_TEXTS, (doc) => terms.every((term) => placeOf(term, doc) >= 0))
      .filter((doc, at) => at < MOST_FETCHED || this.index.hasText(doc));
    const texts = atOnce(docs, (doc) => ` ${this.index.text(doc)} `);
    hits.docs = docs.filter((_, at) => (
      quotes.every((quote) => texts[at].includes(` ${quote.join(" ")} `))
    ));
  }

  /**
   * Put what bears the code, number or title asked for above all that is only like it.
   * @param {Hits} hits
   */
  _liftNamed(hits) {
    let others = 0;
    for (const doc of hits.docs) {
      if (!hits.named[doc] && hits.score[doc] > others) others = hits.score[doc];
    }
    for (const doc of hits.docs) {
      if (hits.named[doc]) hits.score[doc] += others * (1 + this._weights.narrower);
    }
  }

}

/**
 * Return how far finding a variant counts as finding the asked word itself (0..1).
 * @param {Variant} variant
 */
function trust(variant) {
  return variant.through === "near" ? variant.factor : Math.sqrt(variant.factor);
}
