/**
 * Reading one typed line: which part of it is a unit, a code, a part number, and what is left.
 *
 * Whatever the order and the typing: `td45a3 kp1400031 e-21 wont drain`. Nothing is thrown away:
 * what is understood as a number still counts, what is not becomes a word.
 */

import { Codes } from "./codes.js";
import { fold } from "./folding.js";
import { Line, dropBefore, dropWords, isUnfinished, placesOf, take } from "./line.js";
import { hasDigit, plain, rawTokens } from "./wording.js";

/** @typedef {import("./wording.js").Wording} Wording */

const QUOTED = /["\u201c\u201d\u201e]([^"\u201c\u201d\u201e]*)["\u201c\u201d\u201e]/g;
const PIECE = /[^\s\x1c-\x1f\x85,;!?()[\]]+/g;
const EDGES = /^[.:'\u2019]+|[.:'\u2019]+$/g;
const CODE_SHAPE = /^[A-Z]{1,2}\p{Nd}{1,3}$/u;
const DECIMAL = /^\p{Nd}+$/u;
const WINDOW = 5;
const LEAST_OF_A_PART = 6;

/**
 * What a house knows by number: see known.js, which answers for a house on one day.
 * @typedef {object} Known
 * @property {() => Map<string, string>} codes
 * @property {(folded: string) => string} bulletinNumber
 * @property {(folded: string) => string} partNumber
 * @property {(folded: string) => string[]} partsLike
 * @property {(folded: string) => [string, number | null] | null} modelDigit
 * @property {(folded: string, model: string) => boolean} isSerial
 * @property {(folded: string, model: string) => boolean} looksSerial
 * @property {(folded: string, model: string) => boolean} beginsSerial
 * @property {(text: string, growing: boolean) => boolean} isWord
 */

/**
 * A line as understood. `words` are the words left, as typed in lower case; `quotes` runs of words
 * that must stand so; `codes` as displayed (an unknown one in capitals, also in `unknownCodes`);
 * `begun` a serial as far as it is typed; `unfinished` tells that the last word may be growing.
 * @typedef {object} Asked
 * @property {string} text
 * @property {string[]} words
 * @property {string[][]} quotes
 * @property {string[]} codes
 * @property {string[]} unknownCodes
 * @property {string[]} parts
 * @property {string[]} numbers
 * @property {string} model
 * @property {number | null} revision
 * @property {string} serial
 * @property {string} begun
 * @property {boolean} unfinished
 */

/**
 * Return what a text asks for; a model and a serial given apart are not looked for in it.
 * @param {string} typed
 * @param {Known} known
 * @param {Wording} wording
 * @param {string} [model]
 * @param {string} [serial]
 * @returns {Asked}
 */
export function readLine(typed, known, wording, model = "", serial = "") {
  const text = shortened(typed, wording.thresholds.line);
  const quoted = [...text.matchAll(QUOTED)].map((match) => wording.words(match[1]));
  const rest = text.replace(QUOTED, " $1 ").match(PIECE) ?? [];
  const pieces = rest.map((piece) => piece.replace(EDGES, ""));
  const line = new Line(pieces.filter(fold)); // HR - 310: a lone hyphen is a joint
  const asked = {
    ...NOTHING, text, model, serial, quotes: quoted.filter((words) => words.length),
  };
  for (const step of STEPS) step(line, asked, known, wording);
  const left = line.pieces.filter((piece) => piece !== null);
  const last = line.pieces.at(-1);
  asked.words = left.flatMap((piece) => wording.words(piece));
  asked.unfinished = Boolean(last) && isUnfinished(text);
  if (last && asked.unfinished && !asked.words.length) { // "he" may become "heat"
    asked.words = [...rawTokens(plain(last))].slice(-1);
  }
  return asked;
}

/** @type {Asked} */
const NOTHING = {
  text: "", words: [], quotes: [], codes: [], unknownCodes: [], parts: [], numbers: [], model: "",
  revision: null, serial: "", begun: "", unfinished: false,
};

/**
 * Return a text cut to so many characters, none of them cut in two.
 * @param {string} text
 * @param {number} most
 */
function shortened(text, most) {
  return text.length > most ? [...text.slice(0, 2 * most)].slice(0, most).join("") : text;
}

/** @typedef {(line: Line, asked: Asked, known: Known, wording: Wording) => void} Step */

/** @type {Step} */
function takeNumbers(line, asked, known) {
  asked.numbers = take(line, 3, (folded) => one(known.bulletinNumber(folded)), 3);
}

/** @param {string} text */
function one(text) {
  return text ? [text] : [];
}

/** @type {Step} */
function takeParts(line, asked, known, wording) {
  const announced = placesOf(line, wording.data.part_words);
  asked.parts = take(line, 4, (folded) => one(known.partNumber(folded)), 4);
  dropBefore(line, announced);
}

/**
 * Take numbers typed without the maker's prefix, or not yet to their end.
 * @type {Step}
 */
function takePartsInPart(line, asked, known, wording) {
  const announced = placesOf(line, wording.data.part_words);
  const parts = take(line, 2, (folded) => known.partsLike(folded), LEAST_OF_A_PART);
  dropBefore(line, announced);
  asked.parts = [...new Set([...asked.parts, ...parts])];
}

/** @type {Step} */
function takeModel(line, asked, known, wording) {
  if (asked.model) return;
  for (const [start, end, folded] of line.windows(3)) {
    const found = hasDigit(folded) || end - start === 1 ? known.modelDigit(folded) : null;
    if (found) {
      line.use(start, end);
      asked.model = found[0];
      asked.revision = found[1] ?? digitBehind(line, end, wording);
      dropWords(line, wording.unitWords);
      return;
    }
  }
}

/**
 * Return the engineering digit said apart: `TD45A digit 3`, `TD45A /3`, `TD45A 3 KP…`.
 * @param {Line} line
 * @param {number} at
 * @param {Wording} wording
 */
function digitBehind(line, at, wording) {
  const here = line.pieces[at] ?? null;
  if (here === null) return null;
  const said = wording.unitWords.has(plain(here).replace(/^\/+|\/+$/g, ""));
  const place = said ? at + 1 : at;
  const text = line.pieces[place] ?? "";
  const bare = text.replace(/^\/+/, "");
  const after = line.pieces[place + 1] ?? null;
  const sure = said || text.startsWith("/") || after === null || hasDigit(after);
  if (!(DECIMAL.test(bare) && bare.length <= 2 && sure)) return null;
  line.use(at, place + 1);
  return Number(bare.normalize("NFKC"));
}

/** @type {Step} */
function takeSerial(line, asked, known, wording) {
  if (asked.serial) return;
  // What only looks like a serial counts beside a model alone.
  for (const test of asked.model ? [known.isSerial, known.looksSerial] : [known.isSerial]) {
    for (const [start, end, folded] of line.windows(WINDOW)) {
      if (folded.length > 3 && hasDigit(folded) && test.call(known, folded, asked.model)) {
        asked.serial = line.pieces.slice(start, end).join(" ");
        line.use(start, end);
        dropWords(line, wording.unitWords);
        return;
      }
    }
  }
  takeBegun(line, asked, known, wording);
}

/**
 * Take what is typed last behind a model as the serial that it may become. The unit stays in view
 * while its serial is typed, instead of a search for half a serial.
 * @type {Step}
 */
function takeBegun(line, asked, known, wording) {
  if (!(asked.model && isUnfinished(asked.text))) return;
  for (const [start, end, folded] of line.windows(WINDOW)) {
    if (end === line.pieces.length && known.beginsSerial(folded, asked.model)) {
      asked.begun = line.pieces.slice(start, end).join(" ");
      line.use(start, end);
      dropWords(line, wording.unitWords);
      return;
    }
  }
}

/** @type {Step} */
function takeCodes(line, asked, known, wording) {
  const reader = new Codes(known.codes(), wording);
  /** @type {[number, string][]} */
  const found = [];
  for (const [start, end, folded] of line.windows(3)) {
    const pieces = line.pieces.slice(start, end).filter((piece) => piece !== null);
    if (pieces.length < end - start) continue;
    const announced = start > 0 && reader.announces(line.pieces[start - 1]);
    const names = reader.read(pieces, folded, announced);
    if (names.length) {
      found.push(...names.map((name) => /** @type {[number, string]} */ ([start, name])));
      line.use(announced ? start - 1 : start, end);
    }
  }
  asked.unknownCodes = takeUnknownCodes(line, asked, known);
  if (found.length || asked.unknownCodes.length) dropWords(line, wording.data.code_words.words);
  found.sort((a, b) => a[0] - b[0] || (a[1] < b[1] ? -1 : 1));
  asked.codes = [...new Set(found.map(([, name]) => name)), ...asked.unknownCodes];
}

/**
 * @param {Line} line
 * @param {Asked} asked
 * @param {Known} known
 */
function takeUnknownCodes(line, asked, known) {
  /** @type {string[]} */
  const unknown = [];
  for (const [place, piece] of line.pieces.entries()) {
    const folded = fold(piece ?? "");
    if (!piece || !CODE_SHAPE.test(folded) || !hasDigit(piece)) continue;
    const growing = place + 1 === line.pieces.length && isUnfinished(asked.text);
    if (!known.isWord(folded.toLowerCase(), growing)) { // R290, the beginning of TD60B
      unknown.push(folded);
      line.use(place, place + 1);
    }
  }
  return unknown;
}

/** @type {Step[]} */
const STEPS = [takeNumbers, takeParts, takeModel, takeSerial, takePartsInPart, takeCodes];
