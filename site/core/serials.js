/** Serials read as sets of possible units. */

import { EARLIEST, LATEST, meet, showDays, two, yearDays } from "./dates.js";
import { SerialError } from "./errors.js";
import { fold, strip } from "./folding.js";
import { daysIn, NAMES, places, takeApart, years } from "./places.js";
import { ALWAYS } from "./records.js";

/** @typedef {import("./places.js").Code} Code */
/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Family} Family */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").Scheme} Scheme */

/**
 * A scheme with the days on which a unit can bear it.
 * @typedef {{scheme: Scheme, days: Days}} Use
 */

/**
 * Return the schemes of a family, each with the days on which a unit can bear it: the scheme's own,
 * cut to the family's use of it and to the production.
 * @param {Family} family
 * @param {Map<string, Scheme>} schemes
 */
export function usesOf(family, schemes) {
  /** @type {Use[]} */
  const found = [];
  for (const use of family.schemes) {
    const scheme = schemes.get(use.name);
    const cut = scheme && meet(scheme.used, use.used);
    const days = cut && meet(cut, family.produced);
    if (scheme && days) found.push({ scheme, days });
  }
  return found;
}

/** @param {Days} days */
function bounded(days) {
  return { first: days.first ?? EARLIEST, last: days.last ?? LATEST };
}

/**
 * Return the stretches of days that a code can stand for, year by year.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {Days} window
 */
function coded(code, scheme, window) {
  if (code.year === null) return [bounded(scheme.used)];
  return years(code, scheme, window).flatMap((year) => daysIn(code, scheme, year) ?? []);
}

/**
 * Return the readings of a taken-apart serial that have a day in the window, oldest first.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {Days} within
 */
export function readingsWithin(code, scheme, within) {
  const window = bounded(within);
  const { plant, sequence } = code;
  /** @type {Reading[]} */
  const found = [];
  for (const codeDays of coded(code, scheme, window)) {
    const built = meet(codeDays, window);
    if (built) found.push({ scheme: scheme.name, plant, built, sequence, codeDays });
  }
  return found;
}

/**
 * Return every way to read a serial; SerialError where there is none. No reading reaches beyond
 * today.
 * @param {string} text
 * @param {Use[]} uses
 * @param {Day} today
 */
export function readSerial(text, uses, today) {
  if (!uses.length) {
    throw new SerialError("no serial scheme is known for this model", "leave the serial out");
  }
  const serial = fold(text);
  /** @type {Map<string, Reading>} */
  const found = new Map();
  for (const { scheme, days } of uses) {
    const code = takeApart(serial, scheme);
    const window = meet(days, { first: null, last: today });
    if ("message" in code || !window) continue;
    for (const each of readingsWithin(code, scheme, window)) found.set(JSON.stringify(each), each);
  }
  if (!found.size) throw refusal(text, serial, uses, today);
  return [...found.values()].sort((one, other) => inOrder(one.built, other.built));
}

/**
 * @param {Days} one
 * @param {Days} other
 */
function inOrder(one, other) {
  return Number(one.first) - Number(other.first) || Number(one.last) - Number(other.last);
}

/**
 * Return what a sound serial of a scheme looks like, with its places named.
 * @param {Scheme} scheme
 */
export function looksLike(scheme) {
  const names = [...places(scheme.layout).keys()].map((letter) => NAMES[letter]);
  return `a sound one looks like ${scheme.sample}: ${names.join(", ")}`;
}

/**
 * Return the error for the scheme that fits best: by length, then by sound places.
 * @param {string} text
 * @param {string} serial
 * @param {Use[]} uses
 * @param {Day} today
 */
function refusal(text, serial, uses, today) {
  let [best, fit, told] = [uses[0].scheme, -1, ""];
  for (const { scheme, days } of uses) {
    const code = takeApart(serial, scheme);
    if (!("message" in code)) {
      [best, told] = [scheme, cutAway(code, scheme, days, today)];
      break;
    }
    const near = code.sound + (code.rightLength ? 1000 : 0);
    if (near > fit) [best, fit, told] = [scheme, near, code.message];
  }
  return new SerialError(`serial ${strip(text)}: ${told}`, looksLike(best));
}

/**
 * Say why a serial with sound places has no day left: no such day, too early or too late.
 * @param {Code} code
 * @param {Scheme} scheme
 * @param {Days} days
 * @param {Day} today
 */
function cutAway(code, scheme, days, today) {
  const window = meet(days, { first: null, last: today }) ?? days;
  const near = years(code, scheme, window).filter((year) => meet(window, yearDays(year)));
  if (near.length && !near.some((year) => daysIn(code, scheme, year))) {
    return `${near.join(" or ")} has no ${dayNamed(code)}`;
  }
  const all = coded(code, scheme, ALWAYS);
  const coming = all.filter((each) => meet(each, days));
  const early = all.filter((each) => Number(each.last) < (days.first ?? -Infinity));
  const late = all.filter((each) => Number(each.first) > (days.last ?? Infinity));
  const told = [...early.slice(-1), ...(coming.length ? coming : late).slice(0, 1)];
  const words = told.map((each) => toldOf(each, days, today));
  return `a unit with this serial would have been built in ${words.join(", or ")}`;
}

/** @param {Code} code */
function dayNamed({ yearday, day, month, week }) {
  if (yearday !== null) return `day ${yearday}`;
  return day !== null && month !== null ? `day ${two(month)}-${two(day)}` : `week ${week}`;
}

/**
 * @param {Days} stretch
 * @param {Days} days
 * @param {Day} today
 */
function toldOf(stretch, days, today) {
  const shown = showDays(stretch);
  if (Number(stretch.first) > today) return `${shown}, after today`;
  return `${shown}, outside the production of this model (${showDays(days)})`;
}
