/** The answer to a typed line as the page shows it: results with their cards, reasons and marks. */

import { atOnce } from "./atonce.js";
import { showDays } from "./dates.js";
import { readingJson } from "./plate.js";

/** @typedef {import("./matching.js").Group} Group */
/** @typedef {import("./plate.js").Line} Line */
/** @typedef {import("./closer.js").CloserLook} CloserLook */
/** @typedef {import("./reasons.js").Reasons} Reasons */
/** @typedef {import("./records.js").Answer} Answer */
/** @typedef {import("./records.js").Card} Card */
/** @typedef {import("./records.js").Family} Family */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").Unit} Unit */
/** @typedef {import("../data/house.js").House} House */

/**
 * One bulletin of the answer before its card is read: `told` and `groups` say why it is there.
 * @typedef {object} Pick
 * @property {number} doc
 * @property {number} score
 * @property {Answer | null} answer
 * @property {string[]} told
 * @property {Group[]} groups
 */

/**
 * One bulletin of the answer. `why` tells why it was found; where a unit was named, `applies` and
 * `reason` tell whether it applies and why, `settle` what would turn a maybe into yes or no. In
 * `marked` stand the symptom that fits best (-1: none does) and the words of it that do.
 * @typedef {object} Result
 * @property {string} number
 * @property {string} title
 * @property {string} kind
 * @property {number} score
 * @property {import("./records.js").Verdict | null} applies
 * @property {string} why
 * @property {string} reason
 * @property {string} settle
 * @property {string} supersededBy
 * @property {Card} card
 * @property {{line: number, words: string[]}} marked
 */

/**
 * Return the results for what was picked.
 * @param {House} house
 * @param {CloserLook} closer
 * @param {Reasons} reasons
 * @param {Pick[]} picks
 * @returns {Result[]}
 */
export function resultsOf(house, closer, reasons, picks) {
  const variants = picks.flatMap(({ doc, groups }) => [
    ...closer.through(doc, groups).map(([, variant]) => variant),
    ...closer.inLine(doc, groups, closer.bestLine(doc, groups, 1).line),
  ]);
  /** @type {(() => void)[]} */
  const needs = [
    () => house.needCards(picks.map(({ doc }) => doc)), () => reasons.need(variants),
  ];
  atOnce(needs, (need) => need());
  return atOnce(picks, (pick) => resultOf(house.cardOf(pick.doc), pick, reasons, closer));
}

/**
 * @param {Card} card
 * @param {Pick} pick
 * @param {Reasons} reasons
 * @param {CloserLook} closer
 * @returns {Result}
 */
function resultOf(card, { doc, score, answer, told, groups }, reasons, closer) {
  const { line } = closer.bestLine(doc, groups, 1);
  const symptom = card.symptoms[line - 1] ?? "";
  const [[why], words] = atOnce([
    () => [reasons.why(told, closer.through(doc, groups), [card.title, ...card.symptoms])],
    () => (symptom ? reasons.marks(symptom, closer.inLine(doc, groups, line)) : []),
  ], (ask) => ask());
  const { number, title, kind, supersededBy } = card;
  const { applies, why: reason, settle } = answer ?? { applies: null, why: "", settle: "" };
  const marked = { line: symptom ? line - 1 : -1, words };
  return { number, title, kind, score, applies, why, reason, settle, supersededBy, card, marked };
}

/**
 * Return a further bulletin of the unit, with its title where that is in memory.
 * @param {House} house
 * @param {Line} line
 */
export function otherOf(house, { card: { doc, number, kind }, answer: { applies } }) {
  const title = house.hasCard(doc) ? house.cardOf(doc).title : "";
  return { number, title, kind, applies };
}

/**
 * Return a unit as the page shows it.
 * @param {Unit} unit
 * @param {House} house
 */
export function unitJson({ model, revision, serial, family, unreadable, readings }, house) {
  return {
    model, revision, serial, unreadable, family: family.name, product: family.product,
    readings: readings.map((reading) => {
      const { built: { from, to }, ...rest } = readingJson(reading);
      const plants = house.schemes.get(reading.scheme)?.plants ?? {};
      const plantName = reading.plant === null ? "" : plants[reading.plant] ?? "";
      return { ...rest, plantName, from, to, shown: showDays(reading.built) };
    }),
  };
}

/**
 * Say of a serial without a model what it can be of, and that the model is wanting.
 * @param {string} serial
 * @param {[Family, Reading[]][]} found
 */
export function serialAlone(serial, found) {
  if (found.length !== 1) {
    const names = found.map(([family]) => family.name).join(", ");
    return `the serial ${serial} alone can be of ${names}: add the model`;
  }
  const [[family, readings]] = found;
  const built = [...new Set(readings.map((reading) => showDays(reading.built)))].join(" or ");
  return `the serial ${serial} alone is that of a ${family.product} (${family.name}) `
    + `built ${built}: add the model`;
}

/**
 * Say why a bulletin stands there that was asked for by its number.
 * @param {Card} card
 */
export function standing({ supersededBy, status }) {
  if (supersededBy) return `its number; superseded by ${supersededBy}`;
  return status === "in-force" ? "its number" : `its number; ${status}`;
}

/**
 * Say that nothing was found.
 * @param {import("./asking.js").Asked} asked
 */
export function nothing({ unknownCodes, parts, words }) {
  if (unknownCodes.length && !words.length) {
    return `no bulletin knows the code ${unknownCodes.join(", ")}`;
  }
  if (parts.length && !words.length) return `no bulletin names ${parts.join(", ")}`;
  return "no bulletin answers this";
}
