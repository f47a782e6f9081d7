/** The places of a serial layout: what each character may be, and which days they stand for. */

import {
  dayAt, EARLIEST, isoWeek, jan1Week, LATEST, longYear, monthDays, partsOf, yearDays,
} from "./dates.js";
import { fold } from "./folding.js";

/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Scheme} Scheme */

/**
 * The parts of one serial, each sound by itself; null where the layout has no such place. The year
 * is kept as typed, for it may stand for several years.
 * @typedef {object} Code
 * @property {string | null} plant
 * @property {string | null} year
 * @property {number | null} week
 * @property {number | null} month
 * @property {number | null} day
 * @property {number | null} yearday
 * @property {number | null} sequence
 */

/**
 * Why a serial does not fit a layout, and how many of its places are sound.
 * @typedef {{message: string, rightLength: boolean, sound: number}} Fault
 */

/** @type {Record<string, string>} */
export const NAMES = {
  P: "plant",
  Y: "year",
  W: "week",
  M: "month",
  D: "day",
  J: "day of the year",
  N: "number",
  X: "anything",
};
const ORDINALS = (
  "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth " +
  "fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth"
).split(" ");
/** @type {Record<string, string>} */
const LOOKALIKES = { O: "0", Q: "0", D: "0", I: "1", L: "1", Z: "2", S: "5", B: "8" };

/** A place holds what it cannot hold. No error with its costly trail: it is met at every turn. */
class Unsound {
  /** @param {string} message */
  constructor(message) {
    this.message = message;
  }
}

/**
 * Return each letter of a layout with its places, counted from 0, in order of appearance.
 * @param {string} layout
 */
export function places(layout) {
  /** @type {Map<string, number[]>} */
  const found = new Map();
  [...layout].forEach((letter, at) => found.set(letter, [...(found.get(letter) ?? []), at]));
  return found;
}

/**
 * Return `first`, `second`… for a place counted from 1.
 * @param {number} number
 */
export function ordinal(number) {
  return ORDINALS[number - 1] ?? `${number}${["", "st", "nd", "rd"][number % 10] || "th"}`;
}

/**
 * Return e.g. `the third and fourth place are the week`.
 * @param {string} letter
 * @param {number[]} at
 */
function where(letter, at) {
  const first = ordinal(at[0] + 1);
  if (at.length === 1) return `the ${first} place is the ${NAMES[letter]}`;
  const joint = at.length === 2 ? "and" : "to";
  return `the ${first} ${joint} ${ordinal(at[at.length - 1] + 1)} place are the ${NAMES[letter]}`;
}

/** @param {string} text */
function digits(text) {
  if (/^[0-9]+$/.test(text)) return Number(text);
  const wrong = /[OQDILZSB]/.exec(text)?.[0];
  const hint = wrong && ` (the letter ${wrong} where the digit ${LOOKALIKES[wrong]} belongs?)`;
  throw new Unsound(`${text} is no number${hint ?? ""}`);
}

/**
 * @param {string} text
 * @param {number} high
 */
function within(text, high) {
  const number = digits(text);
  if (!number || number > high) throw new Unsound(`${text} is none`);
  return number;
}

/**
 * @param {string} text
 * @param {Scheme} scheme
 */
function plantIn(text, { codes }) {
  if (codes.length && !codes.some((code) => fold(code) === text)) {
    throw new Unsound(`${text} is none of ${codes.join(", ")}`);
  }
  return text;
}

/**
 * Return where a text stands among the letters of a scheme.
 * @param {string} text
 * @param {string} letters
 */
function among(text, letters) {
  const at = letters.toUpperCase().indexOf(text);
  if (at < 0) throw new Unsound(`${text} is none of ${letters}`);
  return at;
}

/**
 * @param {string} text
 * @param {Scheme} scheme
 */
function yearIn(text, { yearLetters }) {
  yearLetters ? among(text, yearLetters) : digits(text);
  return text;
}

/** @type {Record<string, [string, (text: string, scheme: Scheme) => number | string]>} */
const READ = {
  P: ["plant", plantIn],
  Y: ["year", yearIn],
  W: ["week", (text, { week }) => within(text, week === "iso" ? 53 : 52)],
  M: ["month", (text, { monthLetters }) =>
    monthLetters ? among(text, monthLetters) + 1 : within(text, 12)],
  D: ["day", (text) => within(text, 31)],
  J: ["yearday", (text) => within(text, 366)],
  N: ["sequence", digits],
};

/**
 * Return the parts of a folded serial, or the first place that does not fit the scheme.
 * @param {string} serial
 * @param {Scheme} scheme
 * @returns {Code | Fault}
 */
export function takeApart(serial, scheme) {
  const signs = [...serial];
  /** @type {Record<string, number | string | null>} */
  const found = {
    plant: null, year: null, week: null, month: null, day: null, yearday: null, sequence: null,
  };
  let [message, sound] = ["", 0];
  for (const [letter, at] of places(scheme.layout)) {
    const held = at.filter((place) => place < signs.length).map((place) => signs[place]);
    try {
      if (READ[letter] && held.length === at.length) {
        const [name, read] = READ[letter];
        found[name] = read(held.join(""), scheme);
      }
      sound += held.length;
    } catch (unsound) {
      if (!(unsound instanceof Unsound)) throw unsound;
      message ||= `${where(letter, at)}; ${unsound.message}`;
    }
  }
  const rightLength = signs.length === scheme.layout.length;
  if (!rightLength) message = `it has ${signs.length} places instead of ${scheme.layout.length}`;
  return message ? { message, rightLength, sound } : /** @type {any} */ (found);
}

/**
 * Tell whether a folded serial is the beginning of one: shorter, each place sound so far.
 * @param {string} serial
 * @param {Scheme} scheme
 */
export function begins(serial, scheme) {
  const signs = [...serial];
  const fault = takeApart(serial, scheme);
  if (signs.length >= scheme.layout.length || !("sound" in fault)) return false;
  const inFigures = /** @param {string} letter */ (letter) => (
    /[WDJN]/.test(letter) || (letter === "Y" && !scheme.yearLetters)
      || (letter === "M" && !scheme.monthLetters)
  );
  return fault.sound === signs.length
    && signs.every((sign, at) => !inFigures(scheme.layout[at]) || /\p{Nd}/u.test(sign));
}

/**
 * Return the years that the year's places can stand for, in and next to a window of days.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {Days} window
 */
export function years(code, scheme, window) {
  let low = Math.max(partsOf(window.first ?? EARLIEST)[0] - 1, 1900);
  const high = Math.min(partsOf(window.last ?? LATEST)[0] + 1, 2199);
  if (code.year === null) return [];
  let [step, base] = [10 ** code.year.length, Number(code.year)];
  if (scheme.yearLetters) {
    step = scheme.yearLetters.length;
    base = scheme.yearFirst + among(code.year, scheme.yearLetters);
    low = Math.max(low, base);
  }
  const found = [];
  const past = (((base - low) % step) + step) % step;
  for (let year = low + past; year <= high; year += step) found.push(year);
  return found;
}

/**
 * Return the days of the finest place that is given: day of the year, week, month, year.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {number} year
 * @returns {Days | null}
 */
function stretch({ yearday, week, month }, scheme, year) {
  if (yearday !== null) {
    const day = dayAt(year, 1, yearday);
    return partsOf(day)[0] === year ? { first: day, last: day } : null;
  }
  if (week !== null) {
    if (scheme.week !== "iso") return jan1Week(year, week);
    return week < 53 || longYear(year) ? isoWeek(year, week) : null;
  }
  return month !== null ? monthDays(year, month) : yearDays(year);
}

/**
 * Return the days that a code stands for in a year, or null where that year has no such.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {number} year
 * @returns {Days | null}
 */
export function daysIn(code, scheme, year) {
  const days = stretch(code, scheme, year);
  const finer = code.week !== null || code.yearday !== null;
  if (!days || (code.day === null && (code.month === null || !finer))) return days;
  const { first, last } = /** @type {{first: Day, last: Day}} */ (days);
  const fitting = [];
  for (let day = first; day <= last; day++) {
    const [, month, date] = partsOf(day);
    if ((code.month ?? month) === month && (code.day ?? date) === date) fitting.push(day);
  }
  return fitting.length ? { first: fitting[0], last: fitting[fitting.length - 1] } : null;
}
