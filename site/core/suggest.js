/** When nothing is found: words or lines near what was asked that would find something. */

import { atOnce } from "./atonce.js";
import { fold } from "./folding.js";
import { distance, slips } from "./spelling.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./matching.js").Group} Group */
/** @typedef {import("./matching.js").Index} Index */
/** @typedef {import("./wording.js").Wording} Wording */

const MOST = 3; // lines that are offered
const MOST_TRIED = 8;
const FARTHEST = 3; // edits

/**
 * What is needed to try a line.
 * @typedef {object} Trial
 * @property {Wording} wording
 * @property {Index & {codes: () => Map<string, string>}} house
 * @property {(words: string[], unfinished: boolean) => Group[]} groups
 * @property {(line: string) => number} count  bulletins that a line would find
 */

/**
 * Return at most three lines that would find something: with a code or a word near the one that
 * nobody knows, without the words that nobody knows, or without the one word that stands in the
 * way.
 * @param {Trial} trial
 * @param {Asked} asked
 * @returns {string[]}
 */
export function nearestLines(trial, asked) {
  if ([...asked.words.join("")].length < 3 && !asked.unknownCodes.length) return [];
  const lines = [...new Set([
    ...otherCodes(trial, asked), ...otherWords(trial, asked), ...fewerWords(trial, asked),
  ])].filter((line) => line && line !== asked.text).slice(0, MOST_TRIED);
  const counts = atOnce(lines, trial.count);
  return lines.filter((_, at) => counts[at] > 0).slice(0, MOST);
}

/**
 * Return the line with a known code in the place of each unknown one: the likest codes.
 * @param {Trial} trial
 * @param {Asked} asked
 */
function otherCodes({ house }, { unknownCodes, text }) {
  const codes = [...house.codes()];
  return unknownCodes.flatMap((unknown) => (
    codes.map(([folded, shown]) => ({ shown, apart: distance(unknown, folded, 1) }))
      .filter(({ apart }) => apart < 2)
      .slice(0, MOST)
      .map(({ shown }) => swapped(text, (piece) => fold(piece) === unknown, shown))
  ));
}

/**
 * Return the line with a known word in the place of each that leads nowhere: the likest words.
 * @param {Trial} trial
 * @param {Asked} asked
 */
function otherWords(trial, asked) {
  return atOnce(lost(trial, asked), (word) => {
    if (word.length < 4) return [];
    const letters = [...new Set([...word].slice(0, 2))];
    const known = atOnce(letters, (letter) => trial.house.vocabularyOf(letter)).flat();
    return slips(word, known, FARTHEST).slice(0, MOST)
      .map(([, near]) => swapped(asked.text, (piece) => holds(trial, piece, word), near));
  }).flat();
}

/**
 * Return the line without all words that lead nowhere, then without one word at a time.
 * @param {Trial} trial
 * @param {Asked} asked
 */
function fewerWords(trial, asked) {
  const away = lost(trial, asked);
  const without = (/** @type {string[]} */ words) => (
    swapped(asked.text, (piece) => words.some((word) => holds(trial, piece, word)), "")
  );
  const found = away.length && away.length < asked.words.length ? [without(away)] : [];
  return asked.words.length > 1 ? [...found, ...asked.words.map((word) => without([word]))] : found;
}

/**
 * Return the asked words that no bulletin holds in any way.
 * @param {Trial} trial
 * @param {Asked} asked
 */
function lost(trial, { words, unfinished }) {
  return trial.groups(words, unfinished)
    .filter((group) => !group.phrase.length)
    .flatMap((group) => group.words)
    .filter((word) => !word.variants.length)
    .map((word) => word.text);
}

/**
 * @param {Trial} trial
 * @param {string} piece
 * @param {string} word
 */
function holds({ wording }, piece, word) {
  return wording.words(piece).includes(word);
}

/**
 * Return a line with another text in the place of the pieces that are meant.
 * @param {string} line
 * @param {(piece: string) => boolean} isMeant
 * @param {string} instead
 */
function swapped(line, isMeant, instead) {
  const pieces = line.split(/\s+/).map((piece) => (isMeant(piece) ? instead : piece));
  return pieces.filter(Boolean).join(" ");
}
