/** The pieces of a typed line, used up one after another as they are understood. */

import { fold } from "./folding.js";
import { hasDigit, plain } from "./wording.js";

/** The pieces of a line that nothing has been made of yet; a used piece is null. */
export class Line {
  /** @param {string[]} pieces */
  constructor(pieces) {
    /** @type {(string | null)[]} */
    this.pieces = pieces;
  }

  /**
   * Yield [start, end, folded text] of every run of unused pieces, the widest first.
   * @param {number} widest
   * @returns {Generator<[number, number, string]>}
   */
  * windows(widest) {
    for (let width = Math.min(widest, this.pieces.length); width > 0; width -= 1) {
      for (let start = 0; start + width <= this.pieces.length; start += 1) {
        const run = this.pieces.slice(start, start + width);
        if (!run.includes(null)) yield [start, start + width, fold(run.join(""))];
      }
    }
  }

  /**
   * Mark a run of pieces as understood.
   * @param {number} start
   * @param {number} end
   */
  use(start, end) {
    this.pieces.fill(null, start, end);
  }
}

/**
 * Tell whether the last word of a text may still be growing.
 * @param {string} text
 */
export function isUnfinished(text) {
  return /[\p{L}\p{N}]$/u.test(text);
}

/**
 * Use up every window that `find` makes something of and return what it made, in order.
 * @param {Line} line
 * @param {number} widest
 * @param {(folded: string) => string[]} find
 * @param {number} shortest
 */
export function take(line, widest, find, shortest) {
  /** @type {[number, string[]][]} */
  const found = [];
  for (const [start, end, folded] of line.windows(widest)) {
    if (folded.length < shortest || !hasDigit(folded)) continue;
    if (line.pieces.slice(start, end).includes(null)) continue;
    const made = find(folded);
    if (made.length) {
      found.push([start, made]);
      line.use(start, end);
    }
  }
  return [...new Set(found.sort((a, b) => a[0] - b[0]).flatMap(([, made]) => made))];
}

/**
 * Return a piece without accents, case, dots and colons at its ends: as announcing words are held.
 * @param {string} piece
 */
function bareWord(piece) {
  return plain(piece).replace(/^[.:]+|[.:]+$/g, "");
}

/**
 * Return the places, the last first, of words that may announce a number.
 * @param {Line} line
 * @param {Iterable<string>} words
 */
export function placesOf(line, words) {
  const announcing = new Set(words);
  return [...line.pieces.keys()].reverse().filter((at) => {
    const piece = line.pieces[at];
    return piece !== null && announcing.has(bareWord(piece));
  });
}

/**
 * Use up the announcing words that stand before what has been understood ("part no. …").
 * @param {Line} line
 * @param {number[]} announced
 */
export function dropBefore(line, announced) {
  for (const place of announced) {
    if (line.pieces[place + 1] === null) line.use(place, place + 1);
  }
}

/**
 * Use up words that only announce a number ("serial", "part no.").
 * @param {Line} line
 * @param {Iterable<string>} words
 */
export function dropWords(line, words) {
  for (const place of placesOf(line, words)) line.use(place, place + 1);
}
