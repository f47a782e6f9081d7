/** What each asked word can match in the index, and how much such a match counts. */

import { atOnce } from "./atonce.js";
import { compare, distance, slips, sound } from "./spelling.js";
import { NOT, hasDigit } from "./wording.js";

/** @typedef {import("./wording.js").Wording} Wording */

const MOST_WORDS = 40;
const MOST_SLIPS = 4;

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
 * A term that stands for an asked word, with the factor by which a match of it counts. `through`
 * says how: `own`, `ring`, `spelling`, `start` (the beginning of a word), `near`, `joined` or
 * `split`; `shown` is the word found.
 * @typedef {{term: string, factor: number, through: string, shown: string}} Variant
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

/**
 * @param {string} term
 * @param {number} factor
 * @param {string} through
 * @param {string} [shown]
 * @returns {Variant}
 */
function variant(term, factor, through, shown = "") {
  return { term, factor, through, shown };
}

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
    this._need(words, stems, starts);
    const made = atOnce(words.keys(), (at) => (
      this._word(words[at], stems[at], unfinished && at === last)
    ));
    /** @type {Group[]} */
    const groups = [];
    for (let place = 0; place < words.length;) {
      const end = starts.get(place) ?? place + 1;
      const phrase = end > place + 1 ? this._phraseRings(stems.slice(place, end)) : [];
      groups.push({ words: made.slice(place, end), phrase });
      place = end;
    }
    return this._join(groups);
  }

  /**
   * Ask at once for every term that the words as typed stand for.
   * @param {string[]} words
   * @param {string[]} stems
   * @param {Map<number, number>} starts
   */
  _need(words, stems, starts) {
    const sure = words.flatMap((word, at) => this._sure(word, stems[at]));
    const phrases = [...starts].flatMap(([from, to]) => this._phraseRings(stems.slice(from, to)));
    const joined = words.slice(1).map((word, at) => words[at] + word);
    this._wording.source.needWords(joined);
    const whole = joined.map((word) => this._wording.stem(word));
    this._index.needTerms([...sure.map((each) => each.term), ...whole,
      ...phrases.map((each) => each.term)]);
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
   * @param {string[]} stems
   * @returns {Variant[]}
   */
  _phraseRings(stems) {
    return this._wording.phrases(stems)
      .filter(({ start, end }) => end - start === stems.length)
      .flatMap(({ rings }) => rings.map((ring) => (
        variant(`~${ring}`, this._weights.ring, "ring")
      )));
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
    const variants = new Map(this._sure(text, stem).map((each) => [each.term, each]));
    const known = [...variants.keys()].some((term) => this._index.frequency(term));
    const unknown = !known && stem !== NOT && !wording.isStop(text);
    const more = atOnce([
      () => (growing || !known ? this._starting(text, stem) : []),
      () => (unknown ? this._misspelled(text) : []),
      () => (unknown ? this._parted(text) : []),
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
   * Return what a rightly spelled word stands for: itself, its rings, words near it.
   * @param {string} text
   * @param {string} stem
   * @param {number} [factor]
   * @returns {Variant[]}
   */
  _sure(text, stem, factor = 1) {
    return [
      variant(stem, factor * this._weights.own, factor === 1 ? "own" : "", text),
      ...this._wording.phrases([stem]).flatMap(({ rings }) => rings.map((ring) => (
        variant(`~${ring}`, factor * this._weights.ring, "ring")
      ))),
      ...this._wording.near(stem).map(([other, weight]) => (
        variant(other, factor * weight, "near", other)
      )),
    ];
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
   * @param {string} text
   * @returns {Variant[]}
   */
  _misspelled(text) {
    const most = Math.max(0, ...this._wording.thresholds.distance
      .filter((/** @type {any} */ step) => text.length >= step.letters)
      .map((/** @type {any} */ step) => step.at_most));
    if (!most || hasDigit(text)) return [];
    const doubt = this._wording.isCommon(this._wording.stem(text)) ? this._weights.english : 1;
    const alike = this._alike(text, most);
    this._wording.source.needWords(alike.map(([word]) => word));
    return alike.flatMap(([word, likeness]) => (
      this._sure(word, this._wording.stem(word), doubt * likeness)
        .map(({ term, factor }) => variant(term, factor, "spelling", word))
    ));
  }

  /**
   * Return known words like a text with how like they are, the likest first.
   * @param {string} text
   * @param {number} most
   * @returns {[string, number][]}
   */
  _alike(text, most) {
    const heard = sound(text);
    const ask = heard.length > 1 ? heard : "";
    /** @type {() => [number, string][]} */
    const typed = () => this._slips(text, most);
    /** @type {() => [number, string][]} */
    const spoken = () => (ask ? this._index.soundsLike(ask).map((word) => [0, word]) : []);
    const [near, alike] = atOnce([typed, spoken], (find) => find());
    const half = Math.floor(text.length / 2); // heard alike, but not a jumble of other letters
    const sounding = alike.filter(([, word]) => distance(text, word, half) <= half);
    const { spelling, sound: heardAlike } = this._weights;
    return [
      ...near.slice(0, MOST_SLIPS).map(([apart, word]) => /** @type {[string, number]} */ (
        [word, spelling * (1 - apart / Math.max(text.length, word.length))]
      )),
      ...sounding.slice(0, MOST_SLIPS)
        .map(([, word]) => /** @type {[string, number]} */ ([word, heardAlike])),
    ];
  }

  /**
   * Return the words that a slip can have been meant for, with the edits between: those that begin
   * with the first or the second letter of the text, for a slip hardly ever changes the first; any
   * word where none of them is like it.
   * @param {string} text
   * @param {number} most
   */
  _slips(text, most) {
    const letters = [...new Set([...text].slice(0, 2))];
    const words = atOnce(letters, (letter) => this._index.vocabularyOf(letter)).flat();
    const near = slips(text, words, most);
    return near.length ? near : slips(text, this._index.vocabulary(), most);
  }

  /**
   * Return both halves of a word that is two known words written as one; and the rings in which the
   * two stand as a phrase. A second half is looked up only behind a first that leads somewhere.
   * @param {string} text
   * @returns {Variant[]}
   */
  _parted(text) {
    const cuts = Array.from({ length: Math.max(0, text.length - 5) }, (_, at) => at + 3);
    const whole = cuts.map((cut) => [text.slice(0, cut), text.slice(cut)]);
    const heads = this._read(whole.map(([head]) => head));
    const leading = whole.filter((_, at) => (
      this._index.frequency(heads[at]) || this._wording.begins(heads[at])
    ));
    const tails = this._read(leading.map(([, tail]) => tail));
    return leading.flatMap(([head, tail], at) => {
      const halves = [this._wording.stem(head), tails[at]];
      const known = halves.every((half) => this._index.frequency(half));
      const split = halves.map((half, side) => (
        variant(half, this._weights.spelling, "split", side ? tail : head)
      ));
      return [...(known ? split : []), ...this._phraseRings(halves)];
    });
  }

  /**
   * Return the word forms of words, having asked at once for all that is known of them.
   * @param {string[]} words
   */
  _read(words) {
    this._wording.source.needWords(words);
    const stems = words.map((word) => this._wording.stem(word));
    this._index.needTerms(stems);
    return stems;
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
    return this._sure(text, stem).map(({ term, factor }) => variant(term, factor, "joined", text));
  }
}
