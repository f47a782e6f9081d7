/** Bulletins that name the codes and part numbers of a line. */

import { atOnce } from "./atonce.js";
import { fold } from "./folding.js";
import { addNumber } from "./hits.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./hits.js").Hits} Hits */

/** @typedef {[number, number][]} Named  documents, each with how much the naming counts */

/**
 * The part of the house that is read here.
 * @typedef {object} Index
 * @property {(folded: string) => Named} codePostings
 * @property {(folded: string) => Named} partPostings
 */

/**
 * Return the postings of the codes asked, and of the part numbers with their factors.
 * @param {Index} index
 * @param {Asked} asked
 * @param {Map<string, number>} parts
 * @returns {[Named[], [number, Named][]]}
 */
export function namedIn(index, asked, parts) {
  const asks = [
    ...asked.codes.map((code) => () => index.codePostings(fold(code))),
    ...[...parts.keys()].map((part) => () => index.partPostings(part)),
  ];
  const found = atOnce(asks, (ask) => ask());
  const factors = [...parts.values()];
  const numbers = found.slice(asked.codes.length);
  return [found.slice(0, asked.codes.length), numbers.map((held, at) => [factors[at], held])];
}

/**
 * Raise what names the codes asked.
 * @param {Hits} hits
 * @param {Named[]} codes
 * @param {Asked} asked
 * @param {any} weights
 */
export function addCodes(hits, codes, asked, weights) {
  const { codes_front: inFront, codes_body: inBody } = weights;
  codes.forEach((held, at) => {
    for (const [doc, weight] of held) {
      const front = weight > 1;
      addNumber(hits, doc, front ? inFront : inBody, front, `code ${asked.codes[at]}`);
    }
  });
}

/**
 * Raise what names the parts asked, or those that lead to or from them.
 * @param {Hits} hits
 * @param {[number, Named][]} numbers
 * @param {Asked} asked
 * @param {any} weights
 */
export function addParts(hits, numbers, asked, weights) {
  /** @type {Map<number, [number, boolean]>} */
  const best = new Map();
  for (const [factor, held] of numbers) {
    for (const [doc, share] of held) {
      const [most, itself] = best.get(doc) ?? [0, false];
      best.set(doc, [Math.max(most, factor * share), itself || factor === 1]);
    }
  }
  const parts = asked.parts.join(" ");
  for (const [doc, [factor, itself]] of best) {
    const told = itself ? `part ${parts}` : `a part that ${parts} leads to or comes from`;
    addNumber(hits, doc, weights.part * factor, itself, told);
  }
}
