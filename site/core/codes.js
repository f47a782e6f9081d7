/** The fault codes of a house in the ways in which people type and say them. */

import { fold } from "./folding.js";
import { compare } from "./spelling.js";
import { hasDigit, plain } from "./wording.js";

/** @typedef {import("./wording.js").Wording} Wording */

const ZEROS = /(?<!\p{Nd})0+(?=\p{Nd})/gu;
const DASHES = /[\s\-\u2010-\u2015]+/;
const DECIMAL = /^\p{Nd}+$/u;
const BESIDE = /[/+&]/;

/** Reads codes for one house. */
export class Codes {
  /**
   * @param {Map<string, string>} codes  folded, and as displayed
   * @param {Wording} wording
   */
  constructor(codes, wording) {
    const words = wording.data.code_words;
    this._said = new Set(words.words);
    /** @type {Record<string, string>} */
    this._letters = words.letters;
    /** @type {Record<string, string>} */
    this._figures = words.digits;
    /** @type {Map<string, string>} */
    this._alike = new Map(
      Object.entries(words.look_alikes)
        .filter(([letter]) => !hasDigit(letter))
        .map(([letter, figures]) => [letter.toUpperCase(), figures[0]]),
    );
    this._exact = codes;
    /** @type {Map<string, string[]>} */
    this._loose = new Map();
    /** @type {Map<string, string[]>} */
    this._digits = new Map();
    for (const [folded, shown] of [...codes].sort((a, b) => compare(a[0], b[0]))) {
      add(this._loose, this._loosen(folded), shown);
      add(this._digits, onlyDigits(folded), shown);
    }
  }

  /**
   * Return a code with look-alikes levelled and leading zeros gone: `F-0S` as `F5`.
   * @param {string} folded
   */
  _loosen(folded) {
    const level = [...folded.slice(1)].map((sign) => this._alike.get(sign) ?? sign).join("");
    return folded.slice(0, 1) + level.replace(ZEROS, "");
  }

  /**
   * Tell whether a piece says that a code follows ("error", "shows").
   * @param {string | null} piece
   */
  announces(piece) {
    return piece !== null && this._said.has(plain(piece).replace(/^[.:]+|[.:]+$/g, ""));
  }

  /**
   * Return the codes, as displayed, that the pieces stand for.
   * @param {string[]} pieces
   * @param {string} folded
   * @param {boolean} announced
   * @returns {string[]}
   */
  read(pieces, folded, announced) {
    const several = pieces.length === 1 ? pieces[0].split(BESIDE) : [];
    if (several.length > 1) { // E21/E24
      const each = several.map((piece) => this.read([piece], fold(piece), announced));
      return each.every((codes) => codes.length) ? each.flat() : [];
    }
    const spoken = this._spellOut(pieces);
    const exact = this._readExact(pieces, folded, announced) ?? this._spoken(spoken);
    if (exact !== undefined) return [exact];
    if (/^\p{L}\p{Nd}+$/u.test(spoken)) return this._loose.get(this._loosen(spoken)) ?? [];
    if (hasDigit(folded) && !DECIMAL.test(folded)) {
      return this._loose.get(this._loosen(folded)) ?? [];
    }
    return announced && DECIMAL.test(spoken) ? this._digits.get(onlyDigits(spoken)) ?? [] : [];
  }

  /**
   * @param {string[]} pieces
   * @param {string} folded
   * @param {boolean} announced
   */
  _readExact(pieces, folded, announced) {
    const dotted = pieces.length === 1 && (pieces[0].includes(".") || isUpper(pieces[0]));
    const telling = hasDigit(folded) || announced || dotted;
    return telling && (announced || !DECIMAL.test(folded)) ? this._exact.get(folded) : undefined;
  }

  /** @param {string} spoken */
  _spoken(spoken) {
    return DECIMAL.test(spoken) ? undefined : this._exact.get(spoken);
  }

  /**
   * Return pieces said in words as a folded code: `e twenty one` as `E21`.
   * @param {string[]} pieces
   */
  _spellOut(pieces) {
    let spoken = "";
    let tens = false;
    for (const piece of plain(pieces.join(" ")).split(DASHES)) {
      const figures = own(this._figures, piece);
      if (tens && figures.length === 1) {
        spoken = spoken.slice(0, -1) + figures; // twenty one
      } else {
        spoken += figures || own(this._letters, piece) || fold(piece);
      }
      tens = figures.length === 2 && figures[1] === "0";
    }
    return spoken.toUpperCase();
  }
}

/**
 * @param {Record<string, string>} table
 * @param {string} key
 */
function own(table, key) {
  return Object.hasOwn(table, key) ? table[key] : "";
}

/**
 * Tell whether a text has letters and all of them are capitals.
 * @param {string} text
 */
function isUpper(text) {
  return text === text.toUpperCase() && text !== text.toLowerCase();
}

/**
 * @param {Map<string, string[]>} table
 * @param {string} key
 * @param {string} shown
 */
function add(table, key, shown) {
  const held = table.get(key);
  if (held) held.push(shown);
  else table.set(key, [shown]);
}

/** @param {string} text */
function onlyDigits(text) {
  return (text.match(/\p{Nd}+/gu) ?? []).join("").replace(/^0+/, "");
}
