/**
 * What was ticked on the sheet of one bulletin: read back from what the phone keeps, matched to the
 * checks of today's edition by their causes, and told in one line. Pure: no page, no clock.
 */

/** @typedef {"" | "done" | "no" | "found"} State "done" is ticked without saying what was found. */

/**
 * A check as the page shows it: `said` is all of it but cause and minutes.
 * @typedef {{cause: string, said: string, minutes: number}} Check
 */

/** @typedef {{cause: string, mark: string, state: State}} Kept A check as it was kept. */

/**
 * The ticks of one bulletin. `at` is when the last one was made, `unit` for which plate; `hand`
 * names what was ticked in the lists of parts and tools.
 * @typedef {{edition: string, at: string, unit: string, checks: Kept[], hand: string[]}} Job
 */

/**
 * Ticks laid on today's checks. A mark is that of the check's words when they were last seen, ""
 * for a check that came in after the job was begun; `gone` are causes that were ticked and are no
 * longer in the bulletin.
 * @typedef {{states: State[], marks: string[], gone: string[]}} Laid
 */

/** @typedef {{done: number, total: number, soFar: number, left: number, found: number}} Tally */

const STATES = ["", "done", "no", "found"];

/** @returns {Job} a job in which nothing is ticked */
export function noJob() {
  return { edition: "", at: "", unit: "", checks: [], hand: [] };
}

/**
 * Return a check's cause in the form in which two editions are compared.
 * @param {string} cause
 */
export function keyOf(cause) {
  const words = cause.normalize("NFKC").toLowerCase().replace(/[^\p{L}\p{M}\p{N}]+/gu, " ").trim();
  return words || cause.trim();
}

/**
 * Return a short mark of what a check says (FNV-1a, 32 bits), so that a change is noticed.
 * @param {string} said
 */
export function markOf(said) {
  let hash = 0x811c9dc5;
  for (const letter of said.normalize("NFC").replace(/\s+/g, " ").trim()) {
    hash = Math.imul(hash ^ (letter.codePointAt(0) ?? 0), 0x01000193);
  }
  return (hash >>> 0).toString(36);
}

/**
 * Read what the phone kept; whatever is not sound counts as not ticked.
 * @param {string | null} text
 * @returns {Job}
 */
export function readJob(text) {
  const kept = parsed(text);
  return {
    edition: word(kept.edition),
    at: Number.isNaN(Date.parse(word(kept.at))) ? "" : word(kept.at),
    unit: word(kept.unit),
    checks: list(kept.checks).map(keptOf).filter((each) => each.cause !== ""),
    hand: list(kept.hand).map(word).filter(Boolean),
  };
}

/** @param {string | null} text @returns {Record<string, unknown>} */
function parsed(text) {
  try {
    return Object(JSON.parse(text ?? ""));
  } catch {
    return {};
  }
}

/** @param {unknown} value */
const word = (value) => (typeof value === "string" ? value : "");

/** @param {unknown} value @returns {unknown[]} */
const list = (value) => (Array.isArray(value) ? value : []);

/** @param {unknown} value @returns {Kept} */
function keptOf(value) {
  const { cause, mark, state } = Object(value);
  const known = STATES.includes(state) ? state : "";
  return { cause: word(cause), mark: word(mark), state: known };
}

/**
 * Return the job to keep for checks as they are ticked.
 * @param {Check[]} checks
 * @param {Laid} laid
 * @param {string[]} hand
 * @param {{edition: string, at: string, unit: string}} about
 * @returns {Job}
 */
export function jobOf(checks, { states, marks }, hand, about) {
  const kept = checks.map(({ cause }, at) => ({ cause, mark: marks[at], state: states[at] }));
  return { ...about, checks: kept, hand };
}

/** Tell whether nothing at all is ticked. @param {Job} job */
export function isBlank(job) {
  return job.hand.length === 0 && job.checks.every((each) => each.state === "");
}

/**
 * Lay a kept job on the checks of today: by cause, wherever the check stands now. Of two with the
 * same cause the first kept goes to the first shown.
 * @param {Job} job
 * @param {Check[]} checks
 * @returns {Laid}
 */
export function lay(job, checks) {
  const left = [...job.checks];
  const begun = left.some((each) => each.state !== "");
  const found = checks.map((check) => {
    const at = left.findIndex((each) => keyOf(each.cause) === keyOf(check.cause));
    return at < 0 ? null : left.splice(at, 1)[0];
  });
  return {
    states: found.map((each) => each?.state ?? ""),
    marks: found.map((each, at) => (begun ? (each?.mark ?? "") : markOf(checks[at].said))),
    gone: left.filter((each) => each.state !== "").map((each) => each.cause),
  };
}

/**
 * Say how a check differs from what was there when the job was begun; "" for not at all.
 * @param {Check} check
 * @param {State} state
 * @param {string} mark
 */
export function difference(check, state, mark) {
  if (!mark) return "New since you began.";
  const changed = state !== "" && mark !== markOf(check.said);
  return changed ? "Changed since you ticked it: read it again." : "";
}

/**
 * Count checks and minutes. `left` is what the open checks take if none of them finds it; `found`
 * is the place of the check that found the cause, -1 for none.
 * @param {Check[]} checks
 * @param {State[]} states
 * @returns {Tally}
 */
export function tally(checks, states) {
  const found = states.indexOf("found");
  const tally = { done: 0, total: checks.length, soFar: 0, left: 0, found };
  checks.forEach((check, at) => {
    tally.done += states[at] ? 1 : 0;
    tally[states[at] ? "soFar" : "left"] += check.minutes;
  });
  return tally;
}

/** Return minutes with one decimal at most. @param {number} minutes */
export function figure(minutes) {
  return String(Math.round(minutes * 10) / 10);
}

/**
 * Say in one line how far the job is.
 * @param {Tally} tally
 * @param {State[]} states
 */
export function tallyLine({ done, total, soFar, left, found }, states) {
  const all = total === 1 ? "1 check" : `${total} checks`;
  if (!done) return `${all}, ${figure(left)} min in all`;
  const spent = `${done} of ${all}, ${figure(soFar)} min so far`;
  if (found >= 0) return `${spent}: found`;
  if (done < total) return `${spent}, ${figure(left)} min left`;
  return states.includes("done") ? spent : `${spent}: not found`;
}

/**
 * Return the place of the check to do next, -1 where there is none.
 * @param {State[]} states
 */
export function nextCheck(states) {
  return states.includes("found") ? -1 : states.indexOf("");
}

/**
 * Say what a finding means for the way on.
 * @param {State[]} states
 * @param {number} at  place of the check
 * @param {Check[]} checks
 * @param {boolean} hasFix
 */
export function meaning(states, at, checks, hasFix) {
  if (states[at] === "found") {
    return hasFix ? "That is it. Put it right as said:" : "That is it. What to do stands below.";
  }
  if (states[at] !== "no" || states.includes("found")) return "";
  const next = nextCheck(states);
  if (next >= 0) return `Go on: ${next + 1}. ${checks[next].cause}`;
  return states.includes("done") ? "" : "None of the checks found it.";
}

/**
 * Say where older ticks come from: another unit, another day. Nothing to say of today's own.
 * @param {Job} job
 * @param {string} unit  the plate the page stands for now, "" for none
 * @param {string} today  ISO day
 * @param {(at: string) => string} day  the ISO day on this phone of an instant
 */
export function origin(job, unit, today, day) {
  if (isBlank(job)) return "";
  const when = job.at && day(job.at) !== today ? ` on ${day(job.at)}` : "";
  if (job.unit && unit && job.unit !== unit) {
    return `Ticked${when} for another unit: ${job.unit}.`;
  }
  const whose = job.unit ? ` for ${job.unit}` : "";
  return when ? `Ticked${when}${whose}.` : "";
}
