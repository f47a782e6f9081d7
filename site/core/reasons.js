/** Why a bulletin was found, in words, and which words of its best line are to be marked. */

import { atOnce } from "./atonce.js";
import { Wording } from "./wording.js";

/** @typedef {import("./variants.js").Variant} Variant */

const WRITTEN = /[\p{L}\p{N}]+(?:['\u2019./-]+[\p{L}\p{N}]+)*/gu;

/** @type {Record<string, string>} */
const HOW = {
  own: "word form", spelling: "spelling", start: "beginning", near: "near word",
  joined: "written as one", split: "written apart",
};

/**
 * What of the house is read here; `ringPhrases` gives the phrases of a ring as word forms, the
 * longest first, `hasWord` tells whether a word's rows of the table are in memory.
 * @typedef {object} Told
 * @property {(ring: number) => string[]} ringPhrases
 * @property {(word: string) => boolean} hasWord
 */

/** @typedef {import("./wording.js").WordTable & Told} Texts */

/** A line of a bulletin: its words as written, and their word forms. */
class TextLine {
  /**
   * @param {string} text
   * @param {Wording} wording
   */
  constructor(text, wording) {
    this.words = wording.words(text);
    this.stems = this.words.map((word) => wording.stem(word));
  }
}

/** Tells the reasons of hits in one house. */
export class Reasons {
  /** @param {Texts} house */
  constructor(house) {
    this._house = house;
    this._wording = new AtHand(house);
  }

  /**
   * Ask at once for the phrases of all rings among variants.
   * @param {Variant[]} variants
   */
  need(variants) {
    const rings = new Set(variants.map(({ term }) => term).filter((term) => term.startsWith("~")));
    atOnce(rings, (term) => this._phrases(Number(term.slice(1))));
  }

  /**
   * Return a line such as `"drain"; "puddle" as "leak" (like word)`, looked up in a bulletin's
   * title and symptoms; `told` goes before it.
   * @param {string[]} told
   * @param {[string, Variant][]} through
   * @param {string[]} lines
   */
  why(told, through, lines) {
    const read = lines.map((line) => new TextLine(line, this._wording));
    const reasons = atOnce(through, ([asked, variant]) => this._reason(asked, variant, read));
    return [...new Set([...told, ...reasons])].join("; ");
  }

  /**
   * @param {string} asked
   * @param {Variant} variant
   * @param {TextLine[]} lines
   */
  _reason(asked, variant, lines) {
    const { term, through, shown } = variant;
    if (term.startsWith("~")) {
      const held = this._ringWord(Number(term.slice(1)), lines);
      const how = through === "spelling" ? "spelling, like word" : "like word";
      return held && held !== asked ? `"${asked}" as "${held}" (${how})` : `"${asked}"`;
    }
    const held = inLines(lines, term) || shown;
    const how = HOW[through] ?? "word form";
    return held === asked ? `"${asked}"` : `"${asked}" as "${held}" (${how})`;
  }

  /**
   * Return the first phrase of a ring that stands in the lines, as written there.
   * @param {number} ring
   * @param {TextLine[]} lines
   */
  _ringWord(ring, lines) {
    const phrases = this._phrases(ring);
    for (const { words, stems } of lines) {
      for (const start of stems.keys()) {
        const phrase = phrases.find((each) => standsAt(each, stems, start));
        if (phrase) return words.slice(start, start + phrase.length).join(" ");
      }
    }
    return "";
  }

  /** @param {number} ring */
  _phrases(ring) {
    return this._house.ringPhrases(ring).map((phrase) => phrase.split(" "));
  }

  /**
   * Return the words of a line, as written, through which variants stand there.
   * @param {string} line
   * @param {Variant[]} variants
   * @returns {string[]}
   */
  marks(line, variants) {
    const terms = variants.map((variant) => variant.term);
    const rings = terms.filter((term) => term.startsWith("~"));
    const phrases = atOnce(rings, (term) => this._phrases(Number(term.slice(1)))).flat();
    phrases.push(...terms.map((term) => [term]));
    const written = line.match(WRITTEN) ?? [];
    const owners = written.flatMap((_, at) => this._wording.stems(written[at]).map(() => at));
    const stems = written.flatMap((word) => this._wording.stems(word));
    /** @type {Set<number>} */
    const marked = new Set();
    for (const start of stems.keys()) {
      for (const phrase of phrases.filter((each) => standsAt(each, stems, start))) {
        phrase.forEach((_, at) => marked.add(owners[start + at]));
      }
    }
    return [...new Set([...marked].sort((a, b) => a - b).map((at) => written[at]))];
  }
}

/**
 * @param {TextLine[]} lines
 * @param {string} stem
 */
function inLines(lines, stem) {
  for (const { words, stems } of lines) {
    const at = stems.indexOf(stem);
    if (at >= 0) return words[at];
  }
  return "";
}

/**
 * Tell whether a phrase of word forms stands at a place.
 * @param {string[]} phrase
 * @param {string[]} stems
 * @param {number} start
 */
function standsAt(phrase, stems, start) {
  return phrase.every((each, at) => stems[start + at] === each);
}

/** The wording as far as its table is in memory: what is only told is worth no journey. */
class AtHand extends Wording {
  /** @param {Texts} house */
  constructor(house) {
    super({
      table: house.table,
      needWords: () => {},
      spelled: (word) => (house.hasWord(word) ? house.spelled(word) : undefined),
      phrasesFrom: () => "",
      near: () => "",
      isCommon: () => false,
    });
    this._house = house;
  }

  /**
   * Return the word form; one that the table may yet change is not kept.
   * @param {string} word
   */
  stem(word) {
    return this._house.hasWord(word) ? super.stem(word) : this._findStem(word);
  }
}
