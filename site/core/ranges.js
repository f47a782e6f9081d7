/** Ranges of whole serials, read with the schemes that a family uses. */

import { addMonths, meet, sameDays } from "./dates.js";
import { fold } from "./folding.js";
import { takeApart } from "./places.js";
import { readingsWithin } from "./serials.js";

/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").SerialRange} SerialRange */
/** @typedef {import("./records.js").Scheme} Scheme */
/** @typedef {import("./serials.js").Use} Use */
/** @typedef {[number, number]} Key */

/**
 * One meaning of a serial range under a scheme: its plant, and the first and last (day, number) in
 * it. The days are those that the date places of the two ends span.
 * @typedef {{scheme: string, plant: string | null, first: Key, last: Key, days: Days}} Ends
 */

const AHEAD = 24; // months that production is announced ahead

/**
 * Return what serials of one plant and scheme are ordered by: date, then number.
 * @param {Reading} reading
 * @returns {Key}
 */
export function keyOf(reading) {
  return [reading.codeDays.first ?? -Infinity, reading.sequence ?? 0];
}

/**
 * Tell whether two keys stand in order.
 * @param {Key} one
 * @param {Key} other
 */
export function inOrder(one, other) {
  return one[0] < other[0] || (one[0] === other[0] && one[1] <= other[1]);
}

/**
 * Return the meanings of a range's end under a scheme; none where it does not fit. An end is looked
 * for in the days of the family's use up to today, then in those planned soon (a range may be
 * announced ahead), then in the scheme's own days up to today (a range may begin before the family
 * did); one that means no such day was written for the far future, and the nearest day counts.
 * @param {string} text
 * @param {Use} use
 * @param {Day} today
 */
export function readEnd(text, { scheme, days }, today) {
  const code = takeApart(fold(text), scheme);
  if ("message" in code) return [];
  const soon = addMonths(today, AHEAD);
  /** @type {[Days, Day][]} */
  const windows = [[days, today], [days, soon], [scheme.used, today]];
  for (const [window, last] of windows) {
    const cut = meet(window, { first: null, last });
    const found = cut ? readingsWithin(code, scheme, cut) : [];
    if (found.length) return found;
  }
  const planned = readingsWithin(code, scheme, days);
  return (planned.length ? planned : readingsWithin(code, scheme, scheme.used)).slice(0, 1);
}

/**
 * Return every meaning of a range whose ends share a plant and stand in order. A single serial is a
 * range of one: where its year can mean two, each stands for itself.
 * @param {SerialRange} serials
 * @param {Use} use
 * @param {Day} today
 */
export function meanings(serials, use, today) {
  const single = fold(serials.first) === fold(serials.last);
  const firsts = readEnd(serials.first, use, today);
  const lasts = single ? firsts : readEnd(serials.last, use, today);
  /** @type {Ends[]} */
  const found = [];
  for (const one of firsts) {
    for (const other of lasts) {
      if (single && !sameDays(one.codeDays, other.codeDays)) continue;
      const [first, last] = [keyOf(one), keyOf(other)];
      if (one.plant !== other.plant || !inOrder(first, last)) continue;
      const days = { first: one.codeDays.first, last: other.codeDays.last };
      found.push({ scheme: use.scheme.name, plant: one.plant, first, last, days });
    }
  }
  return found;
}

/** The serial ranges met while one family is judged, each read once. */
export class Ranges {
  /**
   * @param {Use[]} uses
   * @param {Day} today
   */
  constructor(uses, today) {
    this.uses = uses;
    this.today = today;
    /** @type {Map<SerialRange, Ends[]>} */
    this.read = new Map();
  }

  /**
   * Tell whether the scheme of that name, or any scheme in use, tells the ISO week.
   * @param {string} name
   */
  byWeek(name) {
    return this.uses.some(
      ({ scheme }) =>
        (!name || name === scheme.name) && scheme.week === "iso" && scheme.layout.includes("W"),
    );
  }

  /**
   * Return the meanings under the scheme of that name, or under every scheme in use.
   * @param {SerialRange} serials
   * @param {string} [name]
   */
  of(serials, name) {
    let known = this.read.get(serials);
    if (!known) {
      known = this.uses.flatMap((use) => meanings(serials, use, this.today));
      this.read.set(serials, known);
    }
    return name ? known.filter((ends) => ends.scheme === name) : known;
  }
}
