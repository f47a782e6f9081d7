/**
 * The plain records that pass between the modules of the phone: shapes only, nothing runs here.
 * They are the records of the same name in kb/records.py. A module names them with
 * `@typedef {import("./records.js").Days} Days`.
 */

/** @typedef {number} Day A day as the whole number of days since 1970-01-01. */

/**
 * A stretch of days, both ends included; null leaves an end open.
 * @typedef {{first: Day | null, last: Day | null}} Days
 */

/**
 * A range of whole numbers, both ends included; null leaves an end open.
 * @typedef {{low: number | null, high: number | null}} Count
 */

/**
 * Whole serials from first to last as typed; a single serial has both the same.
 * @typedef {{first: string, last: string}} SerialRange
 */

/**
 * One way in which a bulletin applies: every condition given must hold, none of `butNot`. Empty
 * lists and null mean "not given".
 * @typedef {object} Block
 * @property {string[]} families
 * @property {string[]} models  patterns as typed
 * @property {Count | null} revision
 * @property {Days | null} built
 * @property {string[]} plants
 * @property {SerialRange[]} serials
 * @property {Block[]} butNot
 */

/**
 * A serial scheme: a layout of fixed places and what the characters in them mean. `yearLetters` is
 * empty where years are digits; `codes` are the plants' codes in the house's order; `sample` is a
 * sound serial.
 * @typedef {object} Scheme
 * @property {string} name
 * @property {string} layout  one letter a character, blanks removed
 * @property {Record<string, string>} plants
 * @property {string[]} codes
 * @property {string} yearLetters
 * @property {number} yearFirst
 * @property {string} monthLetters
 * @property {"iso" | "jan-1"} week
 * @property {Days} used
 * @property {string} sample
 */

/**
 * A scheme as one family uses it, cut to `used`.
 * @typedef {{name: string, used: Days}} SchemeUse
 */

/**
 * A product line that shares its construction. Its models are asked of the house.
 * @typedef {{name: string, product: string, produced: Days, schemes: SchemeUse[]}} Family
 */

/** @typedef {"yes" | "no" | "maybe"} Verdict */

/**
 * One way to read a serial: `built` has both ends set; `codeDays` is before any cut.
 * @typedef {object} Reading
 * @property {string} scheme
 * @property {string | null} plant
 * @property {Days} built
 * @property {number | null} sequence
 * @property {Days} codeDays
 */

/**
 * One machine as far as it is known. `readings` is empty where no serial was given or none could be
 * read; `unreadable` then says why.
 * @typedef {object} Unit
 * @property {string} model
 * @property {Family} family
 * @property {number | null} revision
 * @property {string} serial
 * @property {Reading[]} readings
 * @property {string} unreadable
 */

/**
 * Whether a bulletin applies to a unit, why in words, and what would settle a maybe.
 * @typedef {{applies: Verdict, why: string, settle: string}} Answer
 */

/**
 * Advice that falls due when a unit is so many years old.
 * @typedef {{years: number, advice: string}} Age
 */

/**
 * What the answer for a rating plate needs of a bulletin. `doc` is its number among the documents,
 * `issued` an ISO date.
 * @typedef {object} ModelCard
 * @property {number} doc
 * @property {string} number
 * @property {string} kind
 * @property {string} issued
 * @property {Block[]} where
 * @property {Age | null} age
 */

/**
 * A bulletin as the answers show it. `first` is the first check of the best order: its test, else
 * its cause; `keep` names what must be left in.
 * @typedef {object} Card
 * @property {number} doc
 * @property {string} number
 * @property {string} title
 * @property {string} kind
 * @property {string} status
 * @property {string} issued
 * @property {string} supersededBy
 * @property {Block[]} where
 * @property {Age | null} age
 * @property {string} summary
 * @property {string[]} hazards
 * @property {string[]} symptoms
 * @property {string[]} codes
 * @property {string} first
 * @property {string[]} keep
 * @property {string[]} component
 */

/**
 * One row of parts.csv; `relation` is empty where nothing is said.
 * @typedef {object} PartRow
 * @property {string} number
 * @property {string} name
 * @property {string} component
 * @property {"current" | "running-out" | "pending" | "gone"} status
 * @property {string} replacedBy
 * @property {"" | "same" | "forward" | "kit" | "changed"} relation
 * @property {string[]} models
 * @property {string} since  as typed
 * @property {string} note
 */

/**
 * One row of kits.csv: so many of part `number` lie in `kit`.
 * @typedef {{kit: string, number: string, quantity: number}} KitRow
 */

/**
 * What of a house is needed to read rating plates. Names are folded: `modelNamed` gives the model
 * as written or nothing, `nearestModel` the one most like a mistyped name or nothing.
 * @typedef {object} Reference
 * @property {Map<string, Scheme>} schemes
 * @property {(folded: string) => string} modelNamed
 * @property {(model: string) => Family} familyOf
 * @property {(folded: string) => string} nearestModel
 */

/**
 * Any time at all.
 * @type {Readonly<Days>}
 */
export const ALWAYS = Object.freeze({ first: null, last: null });
