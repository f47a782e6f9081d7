/** Bulletins as answers show them, and those that can mean a model. */

import { blockOf } from "../core/wire.js";
import { Terms } from "./terms.js";

/** @typedef {import("../core/records.js").Card} Card */
/** @typedef {import("../core/records.js").ModelCard} ModelCard */

/** @param {[number, string] | undefined} given */
function ageOf(given) {
  return given?.length ? { years: given[0], advice: given[1] } : null;
}

/** A house that knows its bulletins. */
export class Cards extends Terms {
  /**
   * Throw one Missing with all cards of these documents that are not in memory.
   * @param {number[]} docs
   */
  needCards(docs) {
    this.layers.cards.need(docs);
  }

  /**
   * Tell whether a document's card is in memory.
   * @param {number} doc
   */
  hasCard(doc) {
    return this.layers.cards.isHeld(doc);
  }

  /**
   * Return a document's card.
   * @param {number} doc
   * @returns {Card}
   */
  cardOf(doc) {
    /** @type {any[]} */
    const row = this.layers.cards.row(doc);
    const [number, title, kind, issued, where, component = [], symptoms = [], first = "",
      codes = [], hazards = [], keep = [], summary = "", age = [], status = "",
      supersededBy = ""] = row;
    return {
      doc, number, title, kind, issued, where: where.map(blockOf), component, summary, symptoms,
      first, codes, hazards, keep, age: ageOf(age), status: status || "in-force", supersededBy,
    };
  }

  /**
   * Tell whether a document's words are in memory.
   * @param {number} doc
   */
  hasText(doc) {
    return this.layers.texts.isHeld(doc);
  }

  /**
   * Return the words of a document in order, as written.
   * @param {number} doc
   * @returns {string}
   */
  text(doc) {
    return this.layers.texts.row(doc) ?? "";
  }

  /**
   * Return the bulletins in force that can mean a family's model, the newest first.
   * @param {string} family
   * @param {number} place  of the model in its family
   * @returns {ModelCard[]}
   */
  cardsOfFamily(family, place) {
    /** @type {any[][]} */
    const every = this.layers.plates.value(family) ?? [];
    return every
      .filter(([, , , , , models = []]) => !models.length || models.includes(place))
      .map(([doc, number, kind, issued, where = [], , age = []]) => ({
        doc, number, kind, issued, where: where.map(blockOf), age: ageOf(age),
      }))
      .sort((one, other) => later(one, other) || (one.number < other.number ? -1 : 1));
  }
}

/**
 * @param {ModelCard} one
 * @param {ModelCard} other
 */
function later(one, other) {
  if (one.issued === other.issued) return 0;
  return one.issued > other.issued ? -1 : 1;
}
