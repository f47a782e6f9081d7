/** What is known of a house from its start piece alone; the kinds of data are built on it. */

import { layersOf } from "./pieces.js";

/** A house with its facts and its layers of data. */
export class Facts {
  /**
   * @param {import("./pieces.js").Pieces} pieces  with the start piece in memory
   * @param {string} start  its name
   */
  constructor(pieces, start) {
    const held = pieces.get(start);
    this.pieces = pieces;
    this.facts = held.value;
    this.layers = layersOf(pieces, held);
    pieces.shared = held.bytes.slice(held.bytes.length - this.facts.shared);
    /** @type {string} */
    this.edition = this.facts.edition;
    /** @type {string} the day that the data was made on */
    this.madeOn = this.facts.made;
    /** @type {number} bulletins in force */
    this.count = this.facts.count;
    /** @type {{name: string, language: string, units: string, site: string, contact: string}} */
    this.house = this.facts.house;
    this.table = this.facts.table;
  }

  /**
   * Bring pieces into memory.
   * @param {string[]} names
   */
  load(names) {
    return this.pieces.load(names);
  }
}
