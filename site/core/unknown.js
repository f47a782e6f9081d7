/** What a word that the house does not know may have been meant for. */

import { atOnce } from "./atonce.js";
import { distance, slips, sound } from "./spelling.js";
import { phraseRings, sure, variant } from "./variants.js";
import { hasDigit } from "./wording.js";

/** @typedef {import("./matching.js").Index} Index */
/** @typedef {import("./variants.js").Variant} Variant */
/** @typedef {import("./wording.js").Wording} Wording */

const MOST_SLIPS = 4;

/** Reads words that are misspelled, or written as one. */
export class UnknownWords {
  /**
   * @param {Wording} wording
   * @param {Index} index
   */
  constructor(wording, index) {
    this._wording = wording;
    this._index = index;
    this._weights = wording.weights;
    /** @type {Map<string, string[]>} */
    this._vocabulary = new Map();
  }

  /**
   * Return what words like a misspelled one stand for.
   * @param {string} text
   * @returns {Variant[]}
   */
  misspelled(text) {
    const most = Math.max(0, ...this._wording.thresholds.distance
      .filter((/** @type {any} */ step) => text.length >= step.letters)
      .map((/** @type {any} */ step) => step.at_most));
    if (!most || hasDigit(text)) return [];
    const doubt = this._wording.isCommon(this._wording.stem(text)) ? this._weights.english : 1;
    const alike = this._alike(text, most);
    this._wording.source.needWords(alike.map(([word]) => word));
    return alike.flatMap(([word, likeness]) => (
      sure(this._wording, word, this._wording.stem(word), doubt * likeness)
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
    const near = slips(text, atOnce(letters, (letter) => this._known(letter)).flat(), most);
    return near.length ? near : slips(text, this._known(""), most);
  }

  /**
   * Return the words with a first letter, all of them where it is empty, made ready once.
   * @param {string} letter
   * @returns {string[]}
   */
  _known(letter) {
    let words = this._vocabulary.get(letter);
    if (!words) {
      words = letter ? this._index.vocabularyOf(letter) : this._index.vocabulary();
      this._vocabulary.set(letter, words);
    }
    return words;
  }

  /**
   * Return both halves of a word that is two known words written as one; and the rings in which the
   * two stand as a phrase. A second half is looked up only behind a first that leads somewhere.
   * @param {string} text
   * @returns {Variant[]}
   */
  parted(text) {
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
      return [...(known ? split : []), ...phraseRings(this._wording, halves)];
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
}
