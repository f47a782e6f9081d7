/**
 * GS1 data in a scanned code: element strings, and GS1 Digital Link addresses.
 *
 * The rules are those of the GS1 General Specifications and of the GS1 Digital Link URI syntax, as
 * GS1's open syntax dictionary and syntax engine state them. What breaks them is no GS1 data.
 */

/**
 * One element of a code: an application identifier and what it holds.
 * @typedef {{ai: string, value: string}} Element
 */

const GS = "\x1d";

// How many digits an identifier has, by its first two; whatever is not named here is no identifier.
/** @type {Map<string, number>} */
const LONG = new Map([
  ...digits(2, "00 01 02 03 10 11 12 13 15 16 17 20 21 22 30 37 90 91 92 93 94 95 96 97 98 99"),
  ...digits(3, "23 24 25 40 41 42 71"),
  ...digits(4, "31 32 33 34 35 36 39 43 70 72 80 81 82"),
]);

/**
 * @param {number} number
 * @param {string} starts
 * @returns {[string, number][]}
 */
function digits(number, starts) {
  return starts.split(" ").map((start) => [start, number]);
}

// Values of a fixed length need no separator after them: by the identifier's first two digits.
const FIXED = new Map([
  ["00", 18], ["01", 14], ["02", 14], ["03", 14], ["11", 6], ["12", 6], ["13", 6], ["15", 6],
  ["16", 6], ["17", 6], ["20", 2], ["31", 6], ["32", 6], ["33", 6], ["34", 6], ["35", 6],
  ["36", 6], ["41", 13],
]);

// The longest value of an identifier whose length is free; the usual 90 where none is named.
const MOST = new Map([
  ["10", 20], ["21", 20], ["22", 20], ["235", 28], ["240", 30], ["241", 30], ["242", 6],
  ["243", 20], ["250", 30], ["251", 30], ["8004", 30],
]);

const CHECKED = new Set(["00", "01", "02", "03"]);
const DATED = new Set(["11", "12", "13", "15", "16", "17"]);

// The characters that a value may have (GS1 General Specifications, character set 82).
const VALUE = /^[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+$/;

/**
 * Return the check digit that belongs behind *digits* (GS1: weights 3 and 1 from the right).
 * @param {string} digits
 * @returns {number}
 */
export function checkDigit(digits) {
  const sum = [...digits].reverse().reduce((all, d, at) => all + Number(d) * (at % 2 ? 1 : 3), 0);
  return (10 - (sum % 10)) % 10;
}

/**
 * Tell whether the last of *digits* is the check digit of those before it.
 * @param {string} digits
 * @returns {boolean}
 */
export function isChecked(digits) {
  return /^\d{2,}$/.test(digits) && checkDigit(digits.slice(0, -1)) === Number(digits.slice(-1));
}

/**
 * Tell whether *value* is one that the identifier *ai* may hold.
 * @param {string} ai
 * @param {string} value
 * @returns {boolean}
 */
function isSound(ai, value) {
  const length = lengthOf(ai);
  if (!VALUE.test(value) || value.length > (length ?? MOST.get(ai) ?? 90)) return false;
  if (length !== undefined && !(value.length === length && /^\d+$/.test(value))) return false;
  return !(CHECKED.has(ai) && !isChecked(value)) && !(DATED.has(ai) && dayOf(value) === null);
}

/**
 * Return the length that a value of *ai* must have, or undefined where it is free.
 * @param {string} ai
 * @returns {number | undefined}
 */
function lengthOf(ai) {
  return FIXED.get(ai.slice(0, 2));
}

/**
 * Return the identifier that *text* begins with, or nothing.
 * @param {string} text
 * @returns {string}
 */
function identifierAt(text) {
  const ai = text.slice(0, LONG.get(text.slice(0, 2)) ?? 0);
  return /^\d+$/.test(ai) && ai.length === LONG.get(text.slice(0, 2)) ? ai : "";
}

/**
 * Return the elements of an element string as a scanner gives it, separators as control character
 * 29, or null where it is none.
 * @param {string} text
 * @returns {Element[] | null}
 */
export function readElements(text) {
  const found = [];
  for (let rest = text.replace(/^\x1d+/, ""); rest; ) {
    const ai = identifierAt(rest);
    const length = lengthOf(ai);
    const stop = length === undefined ? rest.indexOf(GS) : ai.length + length;
    const end = stop < 0 ? rest.length : stop;
    const value = rest.slice(ai.length, end);
    if (!ai || !isSound(ai, value)) return null;
    found.push({ ai, value });
    rest = rest.slice(end).replace(/^\x1d+/, "");
  }
  return isWhole(found) ? found : null;
}

/**
 * Return the elements of a text as printed below a code, "(01)09520123456788(21)12345", or null.
 * @param {string} text
 * @returns {Element[] | null}
 */
export function readBracketed(text) {
  if (!text.startsWith("(")) return null;
  const found = [];
  for (const piece of text.split(/\((?=\d{2,4}\))/).slice(1)) {
    const end = piece.indexOf(")");
    const ai = piece.slice(0, end);
    const value = piece.slice(end + 1).trim();
    if (identifierAt(ai) !== ai || !isSound(ai, value)) return null;
    found.push({ ai, value });
  }
  return isWhole(found) ? found : null;
}

/**
 * Tell whether elements are some, and none of them says two things.
 * @param {Element[]} elements
 * @returns {boolean}
 */
function isWhole(elements) {
  const said = new Map(elements.map(({ ai, value }) => [ai, value]));
  return said.size > 0 && elements.every(({ ai, value }) => said.get(ai) === value);
}

// The order in which what qualifies an article stands behind it in an address.
const ORDER = ["22", "10", "21"];

/**
 * Return the elements of a GS1 Digital Link address of any host, or null where it is none. An
 * article number of 8, 12 or 13 digits is filled up to 14.
 * @param {string} text
 * @returns {Element[] | null}
 */
export function readLink(text) {
  const parts = addressOf(text);
  if (!parts) return null;
  const at = parts.path.lastIndexOf("01");
  const gtin = parts.path[at + 1] ?? "";
  if (at < 0 || ![8, 12, 13, 14].includes(gtin.length)) return null;
  const behind = pairs(parts.path.slice(at + 2));
  const asked = parts.query.filter(({ ai }) => identifierAt(ai) === ai);
  if (!behind || !inOrder(behind.map(({ ai }) => ai))) return null;
  const found = [{ ai: "01", value: gtin.padStart(14, "0") }, ...behind, ...asked];
  return found.every(({ ai, value }) => isSound(ai, value)) && isWhole(found) ? found : null;
}

/**
 * Tell whether qualifiers of an article stand in their order: variant, lot, serial; or one alone.
 * @param {string[]} names
 * @returns {boolean}
 */
function inOrder(names) {
  const places = names.map((name) => ORDER.indexOf(name));
  const alone = names.length === 1 && names[0] === "235";
  return alone || places.every((place, at) => place > (places[at - 1] ?? -1));
}

/**
 * Return steps of a path two by two, or null where one is left over.
 * @param {string[]} steps
 * @returns {Element[] | null}
 */
function pairs(steps) {
  if (steps.length % 2) return null;
  return steps.flatMap((ai, at) => (at % 2 ? [] : [{ ai, value: steps[at + 1] ?? "" }]));
}

const ADDRESS =
  /^https?:\/\/[^/?#\s]+(?<path>\/[^?#\s]*)?(?:\?(?<query>[^#\s]*))?(?:#\S*)?$/i;

/**
 * Return the steps of an address's path and its query, decoded, or null where *text* is no address.
 * @param {string} text
 * @returns {{path: string[], query: Element[]} | null}
 */
export function addressOf(text) {
  const found = ADDRESS.exec(text)?.groups;
  if (!found) return null;
  try {
    const path = (found.path ?? "").split("/").filter(Boolean).map(decodeURIComponent);
    const asked = (found.query ?? "").split(/[&;]/).map((pair) => /^([^=]*)=(.*)$/.exec(pair));
    const query = asked.flatMap((pair) => {
      const [ai, value] = (pair ?? []).slice(1).map(decodeURIComponent);
      return ai && value ? [{ ai, value }] : [];
    });
    return { path, query };
  } catch {
    return null; // a lone per cent sign
  }
}

/**
 * Return month and day of a date of six digits (day 0: none is named), or null where there is no
 * such day.
 * @param {string} digits  YYMMDD
 * @returns {{year: number, month: number, day: number} | null}
 */
function dayOf(digits) {
  if (!/^\d{6}$/.test(digits)) return null;
  const [year, month, day] = [0, 2, 4].map((at) => Number(digits.slice(at, at + 2)));
  // 1900 was no leap year and 2000 was: by the century rule 00 is never 1900 in our time.
  const last = new Date(Date.UTC(2000 + year, month, 0)).getUTCDate();
  return month >= 1 && month <= 12 && day <= last ? { year, month, day } : null;
}

/**
 * Return when a machine was made by its production date (11), as "2023-04-05" or "2023-04"; nothing
 * where the date is none or lies after *today*. The century is found by the GS1 rule: the year
 * nearest to this one, 50 years back to 49 ahead.
 * @param {string} digits  YYMMDD
 * @param {string} today  YYYY-MM-DD
 * @returns {string}
 */
export function productionDate(digits, today) {
  const date = dayOf(digits);
  if (!date) return "";
  const now = Number(today.slice(0, 4));
  const ahead = date.year - (now % 100);
  const turn = ahead >= 51 ? -1 : ahead <= -50 ? 1 : 0;
  const year = date.year + (Math.floor(now / 100) + turn) * 100;
  const made = [year, date.month, ...(date.day ? [date.day] : [])];
  const shown = made.map((number) => String(number).padStart(2, "0")).join("-");
  return shown <= today ? shown : "";
}
