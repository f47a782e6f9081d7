/** Houses for tests: from the shared cases in tests/cases, and from what publishing writes. */

import { readFileSync } from "node:fs";

import { fold, nearest } from "../../site/core/folding.js";
import { parseDays } from "../../site/core/typeddates.js";
import { dayOf, daysOf, schemeOf } from "../../site/core/wire.js";

/** @typedef {import("../../site/core/records.js").Block} Block */

/**
 * Return what stands in tests/cases/NAME.
 * @param {string} name
 */
export function load(name) {
  return JSON.parse(readFileSync(new URL(`../cases/${name}`, import.meta.url), "utf8"));
}

/**
 * Return a range as written in a case; blank is any time.
 * @param {string} [text]
 */
export function days(text) {
  return text ? parseDays(text) : { first: null, last: null };
}

/**
 * Return a day of ISO text.
 * @param {string} text
 */
export function day(text) {
  return Number(dayOf(text));
}

/**
 * Return a scheme as written in a case.
 * @param {string} name
 * @param {any} entry
 */
export function scheme(name, entry) {
  const plants = entry.plants ?? {};
  return {
    ...schemeOf(name, { layout: entry.layout, plants, codes: Object.keys(plants), used: [] }),
    used: days(entry.used),
    yearLetters: entry.year_letters ?? "",
    yearFirst: entry.year_first ?? 0,
    monthLetters: entry.month_letters ?? "",
    week: entry.week ?? "iso",
    sample: "some serial",
  };
}

/**
 * Return the house of a file of cases.
 * @param {any} entry
 */
export function caseHouse(entry) {
  const families = Object.entries(entry.families ?? {}).map(([name, family]) => ({
    name,
    product: "machine",
    produced: days(family.produced),
    schemes: Object.entries(family.schemes).map(([of, used]) => ({ name: of, used: days(used) })),
    models: family.models,
  }));
  const schemes = Object.entries(entry.schemes).map(([name, given]) => scheme(name, given));
  return reference(families, schemes);
}

/**
 * Return the house of families and schemes as JSON from the desk.
 * @param {any} entry
 */
export function wiredHouse({ families, schemes }) {
  return reference(
    families.map(({ produced, schemes: uses, ...family }) => ({
      ...family,
      produced: daysOf(produced),
      schemes: uses.map(([name, used]) => ({ name, used: daysOf(used) })),
    })),
    Object.entries(schemes).map(([name, given]) => schemeOf(name, given)),
  );
}

/**
 * Return what rating plates are read with.
 * @param {any[]} families
 * @param {any[]} schemes
 */
function reference(families, schemes) {
  const models = new Map();
  for (const family of families) {
    for (const model of family.models) models.set(fold(model), { model, family });
  }
  return {
    schemes: new Map(schemes.map((each) => [each.name, each])),
    families: new Map(families.map((each) => [each.name, each])),
    modelNamed: (folded) => models.get(folded)?.model ?? "",
    familyOf: (model) => models.get(fold(model)).family,
    nearestModel: (folded) => nearest(folded, models.keys()),
  };
}

/**
 * Return a block as written in a case.
 * @param {any} entry
 * @returns {Block}
 */
export function block(entry) {
  return {
    families: entry.family ?? [],
    models: entry.models ?? [],
    revision: entry.revision ? count(entry.revision) : null,
    built: entry.built ? days(entry.built) : null,
    plants: entry.plant ?? [],
    serials: (entry.serials ?? []).map((text) => {
      const [first, last = first] = text.split("..");
      return { first, last };
    }),
    butNot: (entry.except ?? []).map(block),
  };
}

/** @param {string} text */
function count(text) {
  const [low, high = low] = text.split("..");
  return { low: low ? Number(low) : null, high: high ? Number(high) : null };
}

/**
 * Return what a function gives, or the message and remedy of its error.
 * @param {() => any} ask
 */
export function outcome(ask) {
  try {
    return ask();
  } catch (error) {
    if (error.remedy === undefined) throw error;
    return { message: error.message, remedy: error.remedy };
  }
}
