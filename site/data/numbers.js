/** Numbers: models, bulletins, parts. */

import { fold, nearest } from "../core/folding.js";
import { Cards } from "./cards.js";
import { lines } from "./terms.js";

/**
 * Return the shape of a folded number: runs of letters (A) and figures (D) with their lengths.
 * @param {string} folded
 */
export function shape(folded) {
  const sorted = (/** @type {string} */ run) => (/[0-9]/.test(run) ? "D" : "A") + [...run].length;
  return folded.replace(/[0-9]+|[^0-9]+/g, sorted);
}

/** A house that knows its numbers. */
export class Numbers extends Cards {
  /** @type {Set<string> | undefined} */
  starts = undefined;

  /**
   * Tell whether a folded text has the shape of a number of a kind: if not, it is none.
   * @param {"models" | "numbers" | "parts"} kind
   * @param {string} folded
   */
  isShaped(kind, folded) {
    return this.facts.shapes[kind].split(" ").includes(shape(folded));
  }

  /**
   * Return a model's row: as written, its family's place, its own place in the family.
   * @param {string} folded
   * @returns {[string, number, number] | undefined}
   */
  modelRow(folded) {
    const [names, families, places] = this.layers.models.piece(folded)?.value ?? [[]];
    const at = names.findIndex((/** @type {string} */ name) => fold(name) === folded);
    return at < 0 ? undefined : [names[at], families[at], places[at]];
  }

  /**
   * Return a model as written, or nothing.
   * @param {string} folded
   */
  modelNamed(folded) {
    if (!this.modelStarts.has(folded.slice(0, 2)) || !this.isShaped("models", folded)) return "";
    return this.modelRow(folded)?.[0] ?? "";
  }

  /** The first two letters of all models. @returns {Set<string>} */
  get modelStarts() {
    this.starts ??= new Set(this.facts.starts.split(" "));
    return this.starts;
  }

  /**
   * Return the model most like a mistyped one, or nothing.
   * @param {string} folded
   */
  nearestModel(folded) {
    const pieces = this.layers.models.all();
    return nearest(folded, pieces.flatMap((piece) => piece.value[0].map(fold)));
  }

  /**
   * Return the models of a family, in the house's order.
   * @param {string} family
   * @returns {string[]}
   */
  modelsOf(family) {
    const place = this.facts.families.findIndex((/** @type {any} */ each) => each.name === family);
    const [first, last] = this.facts.families[place]?.models ?? [];
    /** @type {string[]} */
    const models = [];
    if (!last) return models;
    for (const { value: [names, families, places] } of this.layers.models.between(first, last)) {
      names.forEach((/** @type {string} */ name, /** @type {number} */ at) => {
        if (families[at] === place) models[places[at]] = name;
      });
    }
    return models.filter(Boolean);
  }

  /**
   * Return the name of a model's family, or nothing.
   * @param {string} model
   * @returns {string}
   */
  familyNamed(model) {
    const row = this.modelRow(fold(model));
    return row ? this.facts.families[row[1]].name : "";
  }

  /**
   * Return the bulletins in force that can mean a model, the newest first.
   * @param {string} model
   */
  cardsFor(model) {
    const row = this.modelRow(fold(model));
    return row ? this.cardsOfFamily(this.facts.families[row[1]].name, row[2]) : [];
  }

  /**
   * Return the place of a bulletin among the documents and its number; null for an unknown one.
   * @param {string} folded
   * @returns {{doc: number, number: string} | null}
   */
  document(folded) {
    const held = this.isShaped("numbers", folded) && this.layers.numbers.piece(folded);
    if (!held) return null;
    const [first, joined] = held.value;
    const numbers = lines(joined);
    const at = numbers.findIndex((number) => fold(number) === folded);
    return at < 0 ? null : { doc: first + at, number: numbers[at] };
  }

  /**
   * Return the bulletin number that a folded one stands for, or nothing.
   * @param {string} folded
   * @returns {string}
   */
  bulletinNumber(folded) {
    return this.document(folded)?.number ?? "";
  }

  /**
   * Return a bulletin's card by its number as typed, null for an unknown one.
   * @param {string} number
   */
  card(number) {
    const found = this.document(fold(number));
    return found && this.cardOf(found.doc);
  }
}
