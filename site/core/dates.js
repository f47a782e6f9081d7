/** Days and stretches of days: counted, by the calendar and by the ISO week, and shown in words. */

/** @typedef {import("./records.js").Day} Day */
/** @typedef {import("./records.js").Days} Days */

const LENGTH = 864e5; // of a day in milliseconds

/**
 * Return the day with a year, month and day of the month.
 * @param {number} year
 * @param {number} month
 * @param {number} day
 * @returns {Day}
 */
export function dayAt(year, month, day) {
  return Date.UTC(year, month - 1, day) / LENGTH;
}

/**
 * Return the day's year, month and day of the month.
 * @param {Day} day
 */
export function partsOf(day) {
  const at = new Date(day * LENGTH);
  return [at.getUTCFullYear(), at.getUTCMonth() + 1, at.getUTCDate()];
}

/**
 * Return the day's ISO 8601 year, week and weekday, 1 for a Monday.
 * @param {Day} day
 */
export function isoParts(day) {
  const weekday = ((((day + 3) % 7) + 7) % 7) + 1;
  const thursday = day - weekday + 4;
  const [year] = partsOf(thursday);
  return [year, Math.floor((thursday - dayAt(year, 1, 1)) / 7) + 1, weekday];
}

/**
 * Return the day as ISO text.
 * @param {Day} day
 */
export function dayText(day) {
  return new Date(day * LENGTH).toISOString().slice(0, 10);
}

/**
 * Return the later or earlier of two ends; an open one leaves the other.
 * @param {(...ends: Day[]) => Day} choose
 * @param {Day | null} one
 * @param {Day | null} other
 */
function end(choose, one, other) {
  return one === null ? other : other === null ? one : choose(one, other);
}

/**
 * Return the days in both stretches, or null where they share none.
 * @param {Days} one
 * @param {Days} other
 * @returns {Days | null}
 */
export function meet(one, other) {
  const first = end(Math.max, one.first, other.first);
  const last = end(Math.min, one.last, other.last);
  return first !== null && last !== null && first > last ? null : { first, last };
}

/**
 * Tell whether every day of the other stretch lies in this one.
 * @param {Days} days
 * @param {Days} other
 */
export function covers(days, other) {
  const starts = days.first === null || (other.first !== null && days.first <= other.first);
  return starts && (days.last === null || (other.last !== null && other.last <= days.last));
}

/**
 * Tell whether two stretches are the same.
 * @param {Days} one
 * @param {Days} other
 */
export function sameDays(one, other) {
  return one.first === other.first && one.last === other.last;
}

export const EARLIEST = dayAt(1900, 1, 1);
export const LATEST = dayAt(2199, 12, 31);

/**
 * Return a number with two digits at least.
 * @param {number | string} number
 */
export function two(number) {
  return `${number}`.padStart(2, "0");
}

/**
 * Tell whether a year has 53 ISO weeks: 28 December always lies in the last one (ISO 8601).
 * @param {number} year
 */
export function longYear(year) {
  return isoParts(dayAt(year, 12, 28))[1] === 53;
}

/**
 * Return the seven days of an ISO 8601 week that the year has.
 * @param {number} year
 * @param {number} week
 * @returns {Days}
 */
export function isoWeek(year, week) {
  const fourth = dayAt(year, 1, 4); // always in week 1
  const monday = fourth - isoParts(fourth)[2] + 1 + (week - 1) * 7;
  return { first: monday, last: monday + 6 };
}

/**
 * Return week 1 to 52 counted from 1 January: seven days each, week 52 runs to 31 December.
 * @param {number} year
 * @param {number} week
 * @returns {Days}
 */
export function jan1Week(year, week) {
  const first = dayAt(year, 1, 1) + (week - 1) * 7;
  return { first, last: week === 52 ? dayAt(year, 12, 31) : first + 6 };
}

/**
 * Return the whole calendar year.
 * @param {number} year
 * @returns {Days}
 */
export function yearDays(year) {
  return { first: dayAt(year, 1, 1), last: dayAt(year, 12, 31) };
}

/**
 * Return the whole calendar month, 1 to 12.
 * @param {number} year
 * @param {number} month
 * @returns {Days}
 */
export function monthDays(year, month) {
  return { first: dayAt(year, month, 1), last: dayAt(year, month + 1, 0) };
}

/**
 * Return the same day so many months later, the month's last day where it is shorter.
 * @param {Day} day
 * @param {number} months
 */
export function addMonths(day, months) {
  const [year, month, date] = partsOf(day);
  return Math.min(dayAt(year, month + months, date), dayAt(year, month + months + 1, 0));
}

/** @typedef {(day: Day, end: boolean) => string} Show */

/** @type {Show} */
function asYear(day, end) {
  const [year, month, date] = partsOf(day);
  return month === (end ? 12 : 1) && date === (end ? 31 : 1) ? `${year}` : "";
}

/** @type {Show} */
function asMonth(day, end) {
  return partsOf(end ? day + 1 : day)[2] === 1 ? dayText(day).slice(0, 7) : "";
}

/** @type {Show} */
function asWeek(day, end) {
  const [year, week, weekday] = isoParts(day);
  return weekday === (end ? 7 : 1) ? `${year}-W${two(week)}` : "";
}

const SHOWN = [asYear, asMonth, asWeek, dayText];
const WEEKS_FIRST = [asYear, asWeek, asMonth, dayText];

/**
 * Return both ends in the coarsest form that fits the two of them; nothing for an open end.
 * @param {Days} days
 * @param {boolean} weeks
 */
function ends(days, weeks) {
  for (const show of weeks ? WEEKS_FIRST : SHOWN) {
    const first = days.first === null ? "" : show(days.first, false);
    const last = days.last === null ? "" : show(days.last, true);
    if ((first || days.first === null) && (last || days.last === null)) return [first, last];
  }
  return []; // not reached: a plain date fits every day
}

/**
 * Return days in words: `2022-W14`, `2024-W10 to 2025-W22`, `2024-03 or later`, `any time`. With
 * `weeks`, an end that could be called by month or by week is called by week.
 * @param {Days} days
 * @param {boolean} [weeks]
 */
export function showDays(days, weeks = false) {
  const [first, last] = ends(days, weeks);
  if (first && last) return first === last ? first : `${first} to ${last}`;
  if (first) return `${first} or later`;
  return last ? `up to ${last}` : "any time";
}
