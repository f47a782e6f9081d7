/** What applies to one unit: yes before maybe before no, safety first, then the newest. */

import { answer, due } from "./applies.js";
import { dayText } from "./dates.js";
import { RANK } from "./kleene.js";

/** @typedef {import("./records.js").Answer} Answer */
/** @typedef {import("./records.js").Card} Card */
/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").ModelCard} ModelCard */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").Reference} Reference */
/** @typedef {import("./records.js").Unit} Unit */
/** @typedef {import("./records.js").Verdict} Verdict */

/**
 * One bulletin in the answer for a unit; `due` is null where it has no advice by age.
 * @typedef {{card: ModelCard, answer: Answer, due: Verdict | null}} Line
 */

/**
 * A unit and every bulletin in force that can concern its model, the surest first.
 * @typedef {{unit: Unit, lines: Line[]}} Plate
 */

/**
 * What of a house the answer for a plate needs; `cardOf` a bulletin's title.
 * @typedef {object} Cards
 * @property {(model: string) => ModelCard[]} cardsFor
 * @property {(docs: number[]) => void} needCards
 * @property {(doc: number) => {title: string}} cardOf
 */

/**
 * Return what applies to a unit.
 * @param {Reference & Pick<Cards, "cardsFor">} house
 * @param {Unit} unit
 * @param {Day} today
 * @returns {Plate}
 */
export function plateOf(house, unit, today) {
  const lines = house.cardsFor(unit.model).map((card) => ({
    card,
    answer: answer(card.where, unit, house, today),
    due: card.age && due(card.age, unit, today),
  }));
  return { unit, lines: lines.sort((one, other) => rank(one) - rank(other)) };
}

/** @param {Line} line */
function rank({ card, answer }) {
  return 2 * RANK[answer.applies] + (card.kind === "safety" ? 0 : 1);
}

/**
 * Return the answer as `kb plate --json` gives it; `everything` keeps what does not apply.
 * @param {Pick<Cards, "needCards" | "cardOf">} house
 * @param {Plate} plate
 * @param {boolean} [everything]
 */
export function plateJson(house, { unit, lines }, everything = false) {
  const shown = lines.filter(({ answer }) => everything || answer.applies !== "no");
  house.needCards(shown.map(({ card }) => card.doc));
  const { model, revision, serial, unreadable } = unit;
  return {
    model,
    revision,
    family: unit.family.name,
    serial,
    unreadable,
    readings: unit.readings.map(readingJson),
    bulletins: shown.map((line) => lineJson(line, house.cardOf(line.card.doc).title)),
  };
}

/**
 * @param {Line} line
 * @param {string} title
 */
function lineJson({ card, answer, due }, title) {
  const { number, kind } = card;
  const advice = card.age && { due, advice: card.age.advice };
  return { number, title, kind, ...answer, ...advice };
}

/**
 * Return one reading of a serial with its days as ISO text.
 * @param {Reading} reading
 */
export function readingJson({ scheme, plant, built, sequence }) {
  const from = built.first === null ? null : dayText(built.first);
  const to = built.last === null ? null : dayText(built.last);
  return { scheme, plant, built: { from, to }, sequence };
}
