/** What was understood of a line, as chips that can be taken off one by one. */

import { button, make } from "./elements.js";
import { builtWords } from "./words.js";

/** @typedef {import("./lines.js").Sort} Sort */

/**
 * One thing understood: `name` and `words` are shown, `note` says what is wrong with it, `value` is
 * what to take off.
 * @typedef {{sort: Sort, name: string, words: string, note: string, value: string}} Chip
 */

/**
 * What of an answer the chips tell; `trouble` is what is wrong with a unit given apart.
 * @typedef {object} Understood
 * @property {{codes: string[], unknownCodes: string[], parts: string[], numbers: string[],
 *   model: string, serial: string}} asked
 * @property {{model: string, revision: number | null, serial: string, unreadable: string,
 *   readings: {shown: string, plantName: string}[]} | null} unit
 * @property {string} [trouble]
 * @property {string} [given]  the model that the trouble is about
 */

/**
 * Return the chips of an answer, the unit first.
 * @param {Understood} found
 * @returns {Chip[]}
 */
export function chipsOf(found) {
  const { codes, unknownCodes, parts, numbers } = found.asked;
  const unknown = "no bulletin knows it";
  return [
    ...unitChips(found),
    ...codes.map((code) => chip("code", "code", code, unknownCodes.includes(code) ? unknown : "")),
    ...parts.map((part) => chip("part", "part", part)),
    ...numbers.map((number) => chip("number", "bulletin", number)),
  ];
}

/** @param {Understood} found @returns {Chip[]} */
function unitChips({ asked, unit, trouble = "", given = "" }) {
  if (trouble) return [chip("model", "model", given, trouble)];
  if (!unit) return asked.serial ? [chip("serial", "serial", asked.serial)] : [];
  const digit = unit.revision === null ? "" : `, digit ${unit.revision}`;
  const model = { ...chip("model", "model", `${unit.model}${digit}`), value: unit.model };
  if (!unit.serial) return [model];
  const { serial, readings, unreadable } = unit;
  const plate = readings.length
    ? { ...chip("serial", "built", builtWords(readings)), value: serial }
    : chip("serial", "serial", serial, unreadWords(serial, unreadable));
  return [model, plate];
}

/**
 * @param {Sort} sort
 * @param {string} name
 * @param {string} words
 * @param {string} [note]
 * @returns {Chip}
 */
function chip(sort, name, words, note = "") {
  return { sort, name, words, note, value: words };
}

/**
 * Say why a serial cannot be read; the chip itself names it.
 * @param {string} serial
 * @param {string} unreadable
 */
function unreadWords(serial, unreadable) {
  const named = `serial ${serial}: `;
  const why = unreadable.startsWith(named) ? unreadable.slice(named.length) : unreadable;
  return `cannot be read: ${why}`;
}

/**
 * Return the list of chips; `remove` is told which one is taken off.
 * @param {Chip[]} chips
 * @param {(chip: Chip) => void} remove
 */
export function chipList(chips, remove) {
  return make("ul", { "aria-label": "Understood" }, ...chips.map((each) => {
    const said = make("span", { class: "said", dir: "auto" });
    const [first, ...more] = each.words.split(/(?=, )/);
    said.append(`${each.name} `, make("b", {}, first), ...more);
    const name = `Remove ${each.name} ${each.words}`;
    const off = button("✕", () => remove(each), { "aria-label": name });
    const note = each.note ? make("span", { class: "wrong" }, each.note) : null;
    return make("li", { class: each.note ? "chip noted" : "chip" }, said, off, note);
  }));
}
