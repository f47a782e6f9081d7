/** What each asked word can match in the index, and how much such a match counts. */

import { atOnce } from "./atonce.js";
import { compare } from "./spelling.js";
import { UnknownWords } from "./unknown.js";
import { phraseRings, sure, variant } from "./variants.js";
import { NOT } from "./wording.js";

/** @typedef {import("./variants.js").Variant} Variant */
/** @typedef {import("./wording.js").Wording} Wording */

const MOST_WORDS = 40;

/**
 * The part of the house that matching looks at.
 * @typedef {object} Index
 * @property {(terms: string[]) => void} needTerms
 * @property {(term: string) => number} frequency
 * @property {(prefix: string) => string[]} wordsStarting
 * @property {(letter: string) => string[]} vocabularyOf
 * @property {() => string[]} vocabulary
 * @property {(sound: string) => string[]} soundsLike
 */

/**
 * An asked word with its variants; a light one (product, "machine") need not be found.
 * @typedef {{text: string, variants: Variant[], light: boolean}} Word
 */

/**
 * Words that count as one: a phrase of the rings, or a word by itself.
 * @typedef {{words: Word[], phrase: Variant[]}} Group
 */

/** @typedef {Map<string, Variant>} Variants */

/** Turns asked words into groups of variants, for one house. */
export class Matcher {
  /**
   * @param {Wording} wording
   * @param {Index} index
   */
  constructor(wording, index) {
    this._wording = wording;
    this._index = index;
    this._weights = wording.weights;
    this._unknown = new UnknownWords(wording, index);
  }

  /**
   * Return the groups of words (lower case, as typed); the last may be unfinished.
   * @param {string[]} asked
   * @param {boolean} unfinished
   * @returns {Group[]}
   */
  groups(asked, unfinished) {
    const words = asked.slice(0, MOST_WORDS);
    const stems = words.map((word) => this._wording.stem(word));
    const starts = this._phrases(stems);
    const last = words.length - 1;
    this._need(words, stems, starts, unfinished);
    const made = atOnce(words.keys(), (at) => (
      this._word(words[at], stems[at], unfinished && at === last)
    ));
    /** @type {Group[]} */
    const groups = [];
    for (let place = 0; place < words.length;) {
      const end = starts.get(place) ?? place + 1;
      const phrase = end > place + 1 ? phraseRings(this._wording, stems.slice(place, end)) : [];
      groups.push({ words: made.slice(place, end), phrase });
      place = end;
    }
    return this._join(groups);
  }

  /**
   * Ask at once for every term that the words as typed, and words that the last of them begins,
   * stand for.
   * @param {string[]} words
   * @param {string[]} stems
   * @param {Map<number, number>} starts
   * @param {boolean} unfinished
   */
  _need(words, stems, starts, unfinished) {
    const wording = this._wording;
    const likely = words.flatMap((word, at) => sure(wording, word, stems[at]));
    const phrases = [...starts].flatMap(([from, to]) => (
      phraseRings(wording, stems.slice(from, to))
    ));
    const last = words.length - 1;
    const begun = unfinished && last >= 0 ? this._starting(words[last], stems[last]) : [];
    const joined = words.slice(1).map((word, at) => words[at] + word);
    wording.source.needWords(joined);
    const terms = [...likely, ...phrases, ...begun].map(({ term }) => term);
    const products = [...wording.products(stems)].map((product) => "=" + product);
    const whole = joined.map((word) => wording.stem(word));
    this._index.needTerms([...terms, ...products, ...whole]);
  }

  /**
   * Return the ring phrases of two words and more, the longest first, none overlapping: from where
   * to where.
   * @param {string[]} stems
   */
  _phrases(stems) {
    /** @type {Map<number, number>} */
    const starts = new Map();
    const taken = new Set();
    const several = this._wording.phrases(stems).filter(({ start, end }) => end - start > 1);
    several.sort((a, b) => (a.start - a.end) - (b.start - b.end) || a.start - b.start);
    for (const { start, end } of several) {
      const places = Array.from({ length: end - start }, (_, at) => start + at);
      if (places.some((place) => taken.has(place))) continue;
      places.forEach((place) => taken.add(place));
      starts.set(start, end);
    }
    return starts;
  }

  /**
   * @param {string} text
   * @param {string} stem
   * @param {boolean} growing
   * @returns {Word}
   */
  _word(text, stem, growing) {
    const wording = this._wording;
    const light = wording.generic.has(stem) || wording.products([stem]).size > 0
      || (growing && [...text].length === 1); // no word yet: nothing is lost for want of it
    /** @type {Variants} */
    const variants = new Map(sure(this._wording, text, stem).map((each) => [each.term, each]));
    const known = [...variants.keys()].some((term) => this._index.frequency(term));
    const unknown = !known && stem !== NOT && !wording.isStop(text);
    const more = atOnce([
      () => (growing || !known ? this._starting(text, stem) : []),
      () => (unknown ? this._unknown.misspelled(text) : []),
      () => (unknown ? this._unknown.parted(text) : []),
    ], (ask) => ask());
    for (const each of more.flat()) {
      const held = variants.get(each.term);
      if (!held || held.factor < each.factor) variants.set(each.term, each);
    }
    this._index.needTerms([...variants.keys()]);
    const kept = [...variants.values()].filter(({ term }) => this._index.frequency(term));
    kept.sort((a, b) => b.factor - a.factor || compare(a.term, b.term));
    return { text, variants: kept, light };
  }

  /**
   * @param {string} text
   * @param {string} stem
   * @returns {Variant[]}
   */
  _starting(text, stem) {
    if ([...text].length < this._wording.thresholds.prefix) return [];
    const words = this._index.wordsStarting(text);
    this._wording.source.needWords(words);
    return words.map((word) => {
      const share = text.length / word.length;
      return variant(
        this._wording.stem(word), this._weights.prefix * (0.5 + share / 2), "start", word,
      );
    }).filter(({ term }) => term !== stem);
  }

  /**
   * Let two neighbouring words that the house writes as one stand for it as a phrase.
   * @param {Group[]} groups
   * @returns {Group[]}
   */
  _join(groups) {
    /** @type {Group[]} */
    const joined = [];
    for (const group of groups) {
      const before = joined.at(-1);
      const whole = before ? this._joined(before, group) : [];
      if (before && whole.length) {
        joined[joined.length - 1] = { words: [...before.words, ...group.words], phrase: whole };
      } else {
        joined.push(group);
      }
    }
    return joined;
  }

  /**
   * @param {Group} one
   * @param {Group} other
   * @returns {Variant[]}
   */
  _joined(one, other) {
    if (one.words.length > 1 || other.words.length > 1) return [];
    const text = one.words[0].text + other.words[0].text;
    const stem = this._wording.stem(text);
    if (/^\p{Nd}+$/u.test(text) || !/^[\p{L}\p{N}]+$/u.test(text)) return [];
    if (!this._index.frequency(stem)) return [];
    return sure(this._wording, text, stem)
      .map(({ term, factor }) => variant(term, factor, "joined", text));
  }
}
