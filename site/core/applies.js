/** Whether a bulletin applies to a unit: yes, no or maybe, why, and what would settle a maybe. */

import { addMonths, meet, showDays } from "./dates.js";
import { fold } from "./folding.js";
import { judgeBlocks, plantsOf, reaches } from "./judge.js";
import { agreed } from "./kleene.js";
import { Ranges } from "./ranges.js";
import { usesOf } from "./serials.js";
import { settleWay, whyWay } from "./settle.js";

/** @typedef {import("./judge.js").Way} Way */
/** @typedef {import("./records.js").Age} Age */
/** @typedef {import("./records.js").Answer} Answer */
/** @typedef {import("./records.js").Block} Block */
/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Family} Family */
/** @typedef {import("./records.js").Reading} Reading */
/** @typedef {import("./records.js").Reference} Reference */
/** @typedef {import("./records.js").Unit} Unit */
/** @typedef {import("./records.js").Verdict} Verdict */

/**
 * Return the days on which a unit without a serial can have been built. Where production has not
 * begun yet, the planned days stand for it.
 * @param {Family} family
 * @param {Day} today
 */
export function possibleDays({ produced }, today) {
  return meet(produced, { first: null, last: today }) ?? produced;
}

/** @type {WeakMap<Unit, {today: Day, ways: Way[]}>} */
const KNOWN = new WeakMap();

/**
 * Return every way the unit can be: one for each reading, or one for all of production.
 * @param {Unit} unit
 * @param {Reference} house
 * @param {Day} today
 */
export function waysOf(unit, house, today) {
  const known = KNOWN.get(unit);
  if (known?.today === today) return known.ways;
  const uses = usesOf(unit.family, house.schemes);
  const { model, family, revision } = unit;
  const ranges = new Ranges(uses, today);
  const common = { model, family: family.name, revision, ranges, serial: fold(unit.serial) };
  /** @type {Way[]} */
  const ways = unit.readings.map((reading) => {
    return { ...common, built: reading.built, plants: plantsIn(reading, house), reading };
  });
  if (!ways.length) {
    const built = possibleDays(family, today);
    ways.push({ ...common, built, plants: plantsOf(uses), reading: null });
  }
  KNOWN.set(unit, { today, ways });
  return ways;
}

/**
 * @param {Reading} reading
 * @param {Reference} house
 */
function plantsIn(reading, house) {
  if (reading.plant !== null) return [reading.plant];
  const codes = house.schemes.get(reading.scheme)?.codes ?? [];
  return codes.length ? codes.map(fold) : null;
}

/**
 * Return whether the blocks hold for a unit, why, and what would settle a maybe.
 * @param {Block[]} where
 * @param {Unit} unit
 * @param {Reference} house
 * @param {Day} today
 * @returns {Answer}
 */
export function answer(where, unit, house, today) {
  const ways = waysOf(unit, house, today);
  const verdicts = ways.map((way) => judgeBlocks(where, way));
  const applies = agreed(verdicts);
  if (applies === "maybe" && ways.length > 1) return undecided(where, ways, verdicts);
  const told = new Set(ways.map((way) => whyWay(where, way, applies)));
  const settle = applies === "maybe" ? settleWay(where, ways[0]) : "";
  return { applies, why: [...told].join("; or "), settle };
}

/** @param {Way} way */
function readingNamed({ built, reading }) {
  const plant = reading?.plant ? `, plant ${reading.plant}` : "";
  return `built ${showDays(built)}${plant}`;
}

/**
 * Return the maybe of a serial with several readings that do not all say the same.
 * @param {Block[]} where
 * @param {Way[]} ways
 * @param {Verdict[]} verdicts
 * @returns {Answer}
 */
function undecided(where, ways, verdicts) {
  const why = ways.map((way, at) => {
    const told = whyWay(where, way, verdicts[at]);
    const built = `built ${showDays(way.built)}, `;
    const rest = told.startsWith(built) ? told.slice(built.length) : told;
    return `if ${readingNamed(way)}: ${verdicts[at]}, ${rest}`;
  });
  const settle = ways
    .filter((_, at) => verdicts[at] === "maybe")
    .map((way) => `if ${readingNamed(way)}: ${settleWay(where, way)}`);
  if (new Set(verdicts).size > 1) {
    const named = ways.map((way, at) => `${readingNamed(way)} (${verdicts[at]})`);
    settle.unshift(`which of these the serial means: ${named.join(" or ")}`);
  }
  return { applies: "maybe", why: why.join("; "), settle: settle.join("; ") };
}

/**
 * Return whether the unit has come of an age, reckoned from the days it can have been built.
 * Fractions of a year count by whole months.
 * @param {Age} age
 * @param {Unit} unit
 * @param {Day} today
 */
export function due(age, unit, today) {
  const months = evenly(age.years * 12);
  const built = unit.readings.map((reading) => reading.built);
  const days = built.length ? built : [possibleDays(unit.family, today)];
  return agreed(days.map((each) => dueFor(each, months, today)));
}

/**
 * Return the nearest whole number, of two as near the even one.
 * @param {number} number
 */
function evenly(number) {
  return number % 1 === 0.5 ? 2 * Math.round(number / 2) : Math.round(number);
}

/**
 * @param {Days} built
 * @param {number} months
 * @param {Day} today
 * @returns {Verdict}
 */
function dueFor({ first, last }, months, today) {
  if (last !== null && addMonths(last, months) <= today) return "yes";
  return first !== null && addMonths(first, months) > today ? "no" : "maybe";
}

/**
 * Tell whether any block is open to that family and model, whatever the unit.
 * @param {Block[]} where
 * @param {string} family
 * @param {string} model
 */
export function canApply(where, family, model) {
  return where.some((block) => reaches(block, family, model));
}
