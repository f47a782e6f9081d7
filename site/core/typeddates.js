/** Ranges of days as they are typed: 2024, 2024-03, 2024-W10, 2024-03-04, FROM..TO. */

import { dayText, isoWeek, longYear, monthDays, two, yearDays } from "./dates.js";
import { DateError } from "./errors.js";
import { strip } from "./folding.js";

/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */

const REMEDY = "write 2024, 2024-03, 2024-W10 or 2024-03-04, and a range as 2024-W10..2025-W22";
const SHORT_PLACES = /^([0-9]{4})-([Ww]?)([0-9]{1,2})(?:-([0-9]{1,2}))?$/;
const DATE = "([0-9]{4}(?:-[Ww]?[0-9]{2}){0,2})";
const DASHED_RANGE = new RegExp(`^${DATE}\\s*(?:[-\\u2013\\u2014]|to)\\s*${DATE}$`);

/**
 * @param {number} year
 * @param {number} month
 */
function monthOf(year, month) {
  if (month < 1 || month > 12) {
    throw new DateError(`there is no month ${two(month)}`, "months run from 01 to 12");
  }
  return monthDays(year, month);
}

/**
 * @param {number} year
 * @param {number} week
 */
function weekOf(year, week) {
  const weeks = longYear(year) ? 53 : 52;
  if (week >= 1 && week <= weeks) return isoWeek(year, week);
  throw new DateError(
    `${year} has ${weeks} weeks: there is no ${year}-W${two(week)}`,
    `the last week of ${year} is ${year}-W${weeks}, the week after it ${year + 1}-W01`,
  );
}

/**
 * @param {number} year
 * @param {number} month
 * @param {number} day
 * @returns {Days}
 */
function dayOfMonth(year, month, day) {
  const { first, last } = /** @type {{first: Day, last: Day}} */ (monthOf(year, month));
  const only = first + day - 1;
  if (only < first || only > last) {
    const remedy = `that month ends with ${dayText(last)}`;
    throw new DateError(`there is no ${year}-${two(month)}-${two(day)}`, remedy);
  }
  return { first: only, last: only };
}

/** @type {[RegExp, (...numbers: number[]) => Days][]} */
const FORMS = [
  [/^([0-9]{4})$/, yearDays],
  [/^([0-9]{4})-([0-9]{2})$/, monthOf],
  [/^([0-9]{4})-?[Ww]([0-9]{2})$/, weekOf],
  [/^([0-9]{4})-([0-9]{2})-([0-9]{2})$/, dayOfMonth],
];

/**
 * Return the error for text that is no date, with the nearest right way to write it.
 * @param {string} text
 */
function misspelt(text) {
  const dashed = DASHED_RANGE.exec(text);
  if (dashed) {
    const remedy = `write a range with two dots: ${dashed[1]}..${dashed[2]}`;
    return new DateError(`"${text}" is no date and no range`, remedy);
  }
  const short = SHORT_PLACES.exec(text);
  if (!short) return new DateError(`"${text}" is no date`, REMEDY);
  const [, year, week, second, third] = short;
  const ends = [year, week.toUpperCase() + two(second)];
  if (third && !week) ends.push(two(third));
  return new DateError(`"${text}" is no date`, `write ${ends.join("-")}`);
}

/**
 * @param {string} text
 * @returns {Days}
 */
function one(text) {
  for (const [pattern, make] of FORMS) {
    const found = pattern.exec(text);
    if (!found) continue;
    const numbers = found.slice(1).map(Number);
    if (numbers[0] >= 1900 && numbers[0] <= 2199) return make(...numbers);
    throw new DateError(`the year ${found[1]} cannot be meant`, "years run from 1900 to 2199");
  }
  throw misspelt(text);
}

/**
 * Read a date or a range of dates; DateError says what is wrong and how to write it. A lone date is
 * that whole day, week, month or year; in a range both ends are included and may be left out.
 * @param {string} typed
 * @returns {Days}
 */
export function parseDays(typed) {
  const text = strip(typed);
  if (!text) throw new DateError("the date is blank", REMEDY);
  if (/\u2026|\.{3}/.test(text)) {
    throw new DateError(`"${text}" has too many dots`, "write a range with two dots: FROM..TO");
  }
  const dots = text.indexOf("..");
  if (dots < 0) return one(text);
  const [from, to] = [strip(text.slice(0, dots)), strip(text.slice(dots + 2))];
  const first = from ? one(from).first : null;
  const last = to ? one(to).last : null;
  if (first !== null && last !== null && first > last) {
    throw new DateError(`${from}..${to} ends before it starts`, `write ${to}..${from}`);
  }
  return { first, last };
}
