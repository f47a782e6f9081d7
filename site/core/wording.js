/**
 * Words as the search compares them: tokens, word forms, rings of like words, spellings.
 *
 * Everything here is decided by one table, prepared at the desk from kb/data/words.json and the
 * house's words.yaml. Word forms are Snowball's English (stemmer.js).
 */

import { fold } from "./folding.js";
import { stemWord } from "./stemmer.js";

/** The word form of every word that says no. */
export const NOT = "not";
const FRACTION = /(\p{Nd})([\u00bc-\u00be\u2150-\u215e])/gu;
const TOKEN = new RegExp(
  "[\\p{L}\\p{N}]+(?:['\u2019][\\p{L}\\p{Nl}\\p{No}]+)*"
    + "(?:[-./]+[\\p{L}\\p{N}]+(?:['\u2019][\\p{L}\\p{Nl}\\p{No}]+)*)*",
  "gu",
);
const SIMPLE = /^[a-z]+$/;
const JOINT = /[-./]+/;
const DIGIT = /\p{Nd}/u;
const LETTERS = /^\p{L}+$/u;

/**
 * A run of tokens, `start` to `end` (not included), that stands in the rings `rings`.
 * @typedef {{start: number, end: number, rings: number[]}} Phrase
 */

/**
 * The table's words by their first letter, and its small rest whole.
 * @typedef {object} WordTable
 * @property {any} table
 * @property {(words: string[]) => void} needWords
 * @property {(word: string) => string | undefined} spelled
 * @property {(stem: string) => string} phrasesFrom
 * @property {(stem: string) => string} near
 * @property {(stem: string) => boolean} isCommon
 */

/**
 * Return a text normalised (NFKC, fractions kept apart), in lower case, without accents.
 * @param {string} text
 * @returns {string}
 */
export function plain(text) {
  if (/^[\x00-\x7f]*$/.test(text)) return text.toLowerCase();
  const spaced = text.replace(FRACTION, "$1 $2");
  // A fraction typed as one character is the same as one typed with a slash.
  const composed = spaced.normalize("NFKC").replaceAll("\u2044", "/");
  const bare = composed.normalize("NFKD").replace(/\p{Mn}/gu, "");
  const level = bare.replace(/[^\u0131]+/g, folded);
  return level.replace(/\u03c2/g, "\u03c3");
}

/** @param {string} text */
function folded(text) {
  return text.toLowerCase().toUpperCase().toLowerCase(); // as case folding: straße, STRASSE
}

/**
 * Yield the words of a `plain` text; a word with a digit keeps its joints, folded. Single letters
 * joined (`a/c`, `d.c.`) are one word, as if written without their joints.
 * @param {string} text
 * @returns {Generator<string>}
 */
export function* rawTokens(text) {
  for (const [match] of text.matchAll(TOKEN)) {
    const whole = match.replaceAll("\u2019", "'");
    if (SIMPLE.test(whole)) {
      yield whole;
      continue;
    }
    const pieces = whole.split(JOINT);
    if (pieces.length > 1 && DIGIT.test(whole)) {
      yield fold(whole).toLowerCase();
      yield* pieces.filter((piece) => [...piece].length > 2 && LETTERS.test(piece));
    } else if ([...whole].length === 2 * pieces.length - 1) {
      yield pieces.join("");
    } else {
      yield* pieces;
    }
  }
}

/**
 * Tell whether a digit stands in a text.
 * @param {string} text
 * @returns {boolean}
 */
export function hasDigit(text) {
  return DIGIT.test(text);
}

/** The words of the trade and of one house, ready to compare. */
export class Wording {
  /** @param {WordTable} words */
  constructor(words) {
    this.source = words;
    this.data = words.table;
    this.weights = words.table.weights;
    this.thresholds = words.table.thresholds;
    this.generic = new Set(words.table.generic);
    /** Words that only announce a model, a serial or a digit. @type {Set<string>} */
    this.unitWords = new Set(Object.values(words.table.unit_words).flat());
    this._stop = new Set(words.table.stop);
    this._not = new Set(words.table.not_words);
    this._notPhrase = notPhrase(words.table.not_phrases);
    /** @type {Map<string, string>} */
    this._stems = new Map();
    /** @type {Map<string, {stems: string[], rings: number[]}[]>} */
    this._starting = new Map();
    this._products = pairs(words.table.products);
    this._elsewhere = pairs(words.table.elsewhere);
  }

  /**
   * Ask at once for what the table says of every word in a text.
   * @param {string} text
   */
  need(text) {
    const words = [...rawTokens(plain(text))];
    this.source.needWords(words);
    this.source.needWords(words.map((word) => this.stem(word)));
  }

  /**
   * Return the word form that stands for a word; words with digits stay as they are.
   * @param {string} word
   * @returns {string}
   */
  stem(word) {
    let stem = this._stems.get(word);
    if (stem === undefined) {
      stem = this._findStem(word);
      this._stems.set(word, stem);
    }
    return stem;
  }

  /** @param {string} word */
  _findStem(word) {
    const bare = bareOf(word);
    if (this._not.has(bare)) return NOT;
    if (hasDigit(word)) return word;
    const right = this.source.spelled(bare) ?? this.source.spelled(word) ?? word;
    return stemWord((right.endsWith("'s") ? right.slice(0, -2) : right).replaceAll("'", ""));
  }

  /**
   * Tell whether a word counts for nothing in a search.
   * @param {string} word
   */
  isStop(word) {
    return this._stop.has(bareOf(word));
  }

  /**
   * Return the words of a text as written (lower case) that count in a search.
   * @param {string} text
   * @returns {string[]}
   */
  words(text) {
    /** @type {string[]} */
    const kept = [];
    for (const word of rawTokens(plain(text).replace(this._notPhrase, NOT))) {
      const right = this.source.spelled(word) ?? "";
      kept.push(...(right.includes(" ") ? right.split(" ") : [word]));
    }
    return kept.filter((word) => !this.isStop(word));
  }

  /**
   * Return the word forms of a text that count in a search, in order.
   * @param {string} text
   * @returns {string[]}
   */
  stems(text) {
    return this.words(text).map((word) => this.stem(word));
  }

  /**
   * Return every ring phrase that stands in `stems`, one word or more, overlaps included.
   * @param {readonly string[]} stems
   * @returns {Phrase[]}
   */
  phrases(stems) {
    /** @type {Phrase[]} */
    const found = [];
    for (const [start, stem] of stems.entries()) {
      for (const phrase of this._phrasesFrom(stem)) {
        if (phrase.stems.every((each, at) => stems[start + at] === each)) {
          found.push({ start, end: start + phrase.stems.length, rings: phrase.rings });
        }
      }
    }
    return found;
  }

  /**
   * Tell whether a ring phrase of two words and more begins with a stem.
   * @param {string} stem
   */
  begins(stem) {
    return this._phrasesFrom(stem).some((phrase) => phrase.stems.length > 1);
  }

  /**
   * Return the phrases that begin with a stem, taken apart when first asked for.
   * @param {string} stem
   */
  _phrasesFrom(stem) {
    let phrases = this._starting.get(stem);
    if (!phrases) {
      const written = this.source.phrasesFrom(stem).split("|").filter(Boolean);
      phrases = written.map((each) => {
        const [phrase, rings] = each.split("=");
        return { stems: phrase.split(" "), rings: rings.split(",").map(Number) };
      });
      this._starting.set(stem, phrases);
    }
    return phrases;
  }

  /**
   * Return the trade stems near an everyday stem, with how near they are (0..1).
   * @param {string} stem
   * @returns {[string, number][]}
   */
  near(stem) {
    const written = this.source.near(stem).split(" ");
    /** @type {[string, number][]} */
    const found = [];
    for (let at = 0; at + 1 < written.length; at += 2) {
      found.push([written[at], Number(written[at + 1])]);
    }
    return found;
  }

  /**
   * Tell whether a stem is of an everyday English word: such a word is hardly a slip.
   * @param {string} stem
   */
  isCommon(stem) {
    return this.source.isCommon(stem);
  }

  /**
   * Return the product sorts named in `stems` (`washer` …). A name inside a longer one does
   * not count (the range in a range hood), unless the longer one only says more exactly what it is
   * (the hob in a gas hob).
   * @param {readonly string[]} stems
   * @returns {Set<string>}
   */
  products(stems) {
    const text = ` ${stems.join(" ")} `;
    const hits = this._products.filter(([name]) => text.includes(name));
    const inLonger = hits.filter(([name]) => hits.some(([other, of]) => (
      other !== name && other.includes(name) && !hits.some(([n, sort]) => n === name && sort === of)
    )));
    return new Set(hits.filter((hit) => !inLonger.includes(hit)).map(([, sort]) => sort));
  }

  /**
   * Return the thing named in `stems` that no house of this trade makes, or nothing.
   * @param {readonly string[]} stems
   * @returns {string}
   */
  elsewhere(stems) {
    const text = ` ${stems.join(" ")} `;
    const named = this._elsewhere.filter(([phrase]) => text.includes(phrase));
    return named.reduce((best, [, name]) => (name.length > best.length ? name : best), "");
  }
}

/** @param {string} word */
function bareOf(word) {
  return word.includes("'") ? word.replaceAll("'", "") : word;
}

/**
 * Return a list of the table that is kept as lines: a phrase of stems (blanks round it) and a name.
 * @param {string} written
 */
function pairs(written) {
  return written.split("\n").map((line) => {
    const [phrase, name] = line.split("|");
    return /** @type {[string, string]} */ ([` ${phrase} `, name]);
  });
}

/** @param {string[]} phrases */
function notPhrase(phrases) {
  const longestFirst = [...phrases].sort((a, b) => b.length - a.length);
  const any = longestFirst.map((phrase) => phrase.replace(/[^\p{L}\p{N} ]/gu, "\\$&")).join("|");
  return new RegExp(`(?<![\\p{L}\\p{N}_])(?:${any || "(?!)"})(?![\\p{L}\\p{N}_])`, "gu");
}
