/** Kleene's strong three-valued logic over yes, no and maybe. */

/** @typedef {import("./records.js").Verdict} Verdict */

/**
 * The order in which answers are shown: the surest first.
 * @type {Record<Verdict, number>}
 */
export const RANK = { yes: 0, maybe: 1, no: 2 };

/**
 * And: no where any is no, yes where all are yes (and where there is none), else maybe.
 * @param {Verdict[]} verdicts
 * @returns {Verdict}
 */
export function every(verdicts) {
  if (verdicts.includes("no")) return "no";
  return verdicts.includes("maybe") ? "maybe" : "yes";
}

/**
 * Or: yes where any is yes, no where all are no (and where there is none), else maybe.
 * @param {Verdict[]} verdicts
 * @returns {Verdict}
 */
export function some(verdicts) {
  if (verdicts.includes("yes")) return "yes";
  return verdicts.includes("maybe") ? "maybe" : "no";
}

/**
 * Not: yes and no change places, maybe stays.
 * @param {Verdict} verdict
 * @returns {Verdict}
 */
export function opposite(verdict) {
  return verdict === "maybe" ? verdict : verdict === "yes" ? "no" : "yes";
}

/**
 * Over several possible readings: what all of them say, else maybe. There is at least one.
 * @param {Verdict[]} verdicts
 * @returns {Verdict}
 */
export function agreed(verdicts) {
  return verdicts.every((verdict) => verdict === verdicts[0]) ? verdicts[0] : "maybe";
}
