/** Words: the word table by the first letters of its words, and the house's own vocabulary. */

import { atOnce } from "../core/atonce.js";
import { Facts } from "./facts.js";
import { LAST } from "./pieces.js";

/**
 * Return the beginning by which a word's rows of the table are found.
 * @param {string} word
 */
function startOf(word) {
  if (/^[a-z]{2}/.test(word)) return word.slice(0, 2);
  return [...word.replaceAll("'", "")].slice(0, 2).join("");
}

/**
 * @param {import("./pieces.js").Piece[]} pieces
 * @returns {string[]}
 */
function listed(pieces) {
  return pieces.flatMap(listOf);
}

/** @type {WeakMap<object, string[]>} */
const LISTS = new WeakMap();

/** @param {import("./pieces.js").Piece} piece */
function listOf(piece) {
  let list = LISTS.get(piece);
  if (!list) {
    list = /** @type {string} */ (piece.value).split(" ");
    LISTS.set(piece, list);
  }
  return list;
}

const MEANT = /^\p{L}{3,}$/u;

/** A house that knows its words. */
export class Words extends Facts {
  /**
   * Throw one Missing with all of the word table for these words that is not in memory.
   * @param {string[]} words
   */
  needWords(words) {
    this.layers.words.need(words.map(startOf));
  }

  /**
   * Tell whether the rows of a word are in memory.
   * @param {string} word
   */
  hasWord(word) {
    return this.layers.words.isHeld(startOf(word));
  }

  /**
   * @param {"spelled" | "phrases" | "near"} kind
   * @param {string} word
   * @returns {string | undefined}
   */
  row(kind, word) {
    const rows = this.layers.words.value(startOf(word))?.[kind];
    return rows && Object.hasOwn(rows, word) ? rows[word] : undefined;
  }

  /**
   * Return a word as it is rightly spelled; undefined where the table does not say.
   * @param {string} word
   */
  spelled(word) {
    return this.row("spelled", word);
  }

  /**
   * Return the ring phrases that begin with a stem: "p q=3,4|…".
   * @param {string} stem
   */
  phrasesFrom(stem) {
    return this.row("phrases", stem) ?? "";
  }

  /**
   * Return the stems near an everyday stem, each with how near it is.
   * @param {string} stem
   */
  near(stem) {
    return this.row("near", stem) ?? "";
  }

  /**
   * Tell whether a stem is an everyday English word.
   * @param {string} stem
   */
  isCommon(stem) {
    const piece = this.layers.common.piece(stem);
    return piece !== undefined && listOf(piece).includes(stem);
  }

  /**
   * Return the words of the rings that begin with a letter.
   * @param {string} letter
   */
  ringWordsOf(letter) {
    return this.begun("rings", letter);
  }

  /**
   * Return the words of bulletins that begin so, in order.
   * @param {string} prefix
   */
  wordsStarting(prefix) {
    return this.begun("spoken", prefix);
  }

  /**
   * @param {"rings" | "spoken"} kind
   * @param {string} prefix
   */
  begun(kind, prefix) {
    const found = listed(this.layers[kind].between(prefix, prefix + LAST));
    return found.filter((word) => word.startsWith(prefix));
  }

  /**
   * Return the words with a letter that a slip can have been meant for, in order.
   * @param {string} letter  the first; all words where it is empty
   */
  vocabularyOf(letter) {
    atOnce([() => this.ringWordsOf(letter), () => this.wordsStarting(letter)], (ask) => ask());
    const house = this.wordsStarting(letter).filter((word) => MEANT.test(word));
    return [...new Set([...house, ...this.ringWordsOf(letter)])].sort();
  }

  /** Return every word that a slip can have been meant for, in order. */
  vocabulary() {
    return this.vocabularyOf("");
  }

  /**
   * Return the words that sound so, in order.
   * @param {string} sound
   * @returns {string[]}
   */
  soundsLike(sound) {
    return this.layers.sounds.value(sound)?.split(" ") ?? [];
  }

  /**
   * Return the phrases of a ring as word forms, the longest first, as far as bulletins hold them.
   * @param {number} ring
   * @returns {string[]}
   */
  ringPhrases(ring) {
    return this.layers.alike.value(String(ring))?.split("|") ?? [];
  }
}
