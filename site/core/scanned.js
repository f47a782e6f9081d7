/**
 * What a scanned code says about a machine: by GS1's rules where they hold, else as plain text, as
 * makers print it ("MOD: TD45A/3 S/N: KP1400031").
 */

import {
  addressOf, productionDate, readBracketed, readElements, readLink,
} from "./gs1.js";

/** @typedef {import("./gs1.js").Element} Element */

/**
 * What of a scan goes into the box. `text` is all of it in one line; `model` and `serial` are known
 * apart where the code tells them apart; `gtin` has 14 digits; `made` is a date as a bulletin's
 * `built` has it ("2023-04-05", or "2023-04" where the code names no day).
 * @typedef {{text: string, model: string, serial: string, gtin: string, made: string}} Scan
 */

// What a scanner may put before the data to say which kind of code it read (ISO/IEC 15424).
const KIND = /^\](?<kind>[A-Za-z]\d)/;
const GS1_KINDS = new Set(["C1", "d2", "Q3", "e0", "J1"]);

/**
 * Return what a scan says: GS1 where its rules hold, then this site's own addresses, then words as
 * they stand.
 * @param {string} raw  as the scanner gives it
 * @param {string} today  YYYY-MM-DD
 * @returns {Scan}
 */
export function readScan(raw, today) {
  const kind = KIND.exec(raw)?.groups?.kind ?? "";
  const data = kind ? raw.slice(3) : raw;
  const elements = elementsOf(data, GS1_KINDS.has(kind));
  if (elements) return fromElements(elements, today);
  const text = data.replace(/\s+/g, " ").trim();
  const parts = addressOf(text);
  return parts ? fromAddress(parts) : fromPlate(data);
}

/**
 * Return the elements of a scan, or null where it is no GS1 data. Digits that no scanner and no
 * separator marks as GS1 data count as such only with an article number before them: a plain
 * serial may begin with 21 as well.
 * @param {string} data
 * @param {boolean} marked
 * @returns {Element[] | null}
 */
function elementsOf(data, marked) {
  const trimmed = data.trim();
  const bracketed = readBracketed(trimmed) ?? readLink(trimmed);
  if (bracketed) return bracketed;
  const sure = marked || data.includes("\x1d") || /^01\d{14}/.test(data);
  return sure ? readElements(data.replace(/[\r\n]+$/, "")) : null;
}

/**
 * @param {Element[]} elements
 * @param {string} today
 * @returns {Scan}
 */
function fromElements(elements, today) {
  const said = new Map(elements.map(({ ai, value }) => [ai, value]));
  const get = (/** @type {string} */ ai) => said.get(ai) ?? "";
  const model = get("240") || get("241");
  const serial = get("21") || get("250");
  const gtin = get("01");
  const text = joined([model, serial]) || get("8004") || get("10") || gtin;
  return { text, model, serial, gtin, made: productionDate(get("11"), today) };
}

// The pages of a published site that a printed code can lead to.
const PAGES = new Set(["bulletins", "models", "parts", "codes"]);

/**
 * Return what an address stands for: what it asks for, else the page that it leads to, else its
 * words.
 * @param {{path: string[], query: Element[]}} parts
 * @returns {Scan}
 */
function fromAddress({ path, query }) {
  const get = (/** @type {RegExp} */ names) =>
    joined([query.find(({ ai }) => names.test(ai))?.value ?? ""]);
  const model = get(/^(?:model|mod|type|m)$/i);
  const serial = get(/^(?:serial(?:number)?|sn|s)$/i);
  const asked = joined([get(/^q$/), model, serial]);
  const page = path.findIndex((step) => PAGES.has(step));
  const named = page < 0 ? path : path.slice(page + 1, page + 2);
  return { text: asked || joined(named), model, serial, gtin: "", made: "" };
}

const LABELS = new RegExp(
  "(?<=^|[\\s;,|{\"'])(?:(?<model>model|mod|mdl|type|m/n)|(?<serial>serial|ser|s/n|sn))\\b" +
    "(?:\\s*(?:no|nr|number)\\b)?[.\"'\\s]*[:=#]?\\s*[\"']?",
  "gi",
);

// Where a value behind a label ends: at the end of the line, and where the ratings begin.
const END = /[\r\n;|,"'}]|\s[1-9][\d.,/~–-]*\s?(?:V|W|kW|Hz|kg|bar|MPa)(?![A-Za-z\d])/;

/**
 * Return what a plain text says: model and serial where both are labelled, else all its words but
 * the labels.
 * @param {string} data
 * @returns {Scan}
 */
function fromPlate(data) {
  const labels = [...data.matchAll(LABELS)];
  const said = { model: "", serial: "" };
  let rest = data.slice(0, labels[0]?.index);
  labels.forEach((label, at) => {
    const behind = data.slice(label.index + label[0].length, labels[at + 1]?.index);
    const value = joined([behind.split(END)[0] ?? ""]);
    const telling = /\d/.test(value);
    if (telling) said[label.groups?.model ? "model" : "serial"] ||= value;
    rest += telling ? ` ${behind}` : label[0] + behind;
  });
  const both = said.model && said.serial;
  return { text: joined(both ? [said.model, said.serial] : [rest]), ...said, gtin: "", made: "" };
}

/**
 * Return words in one line, control characters taken for blanks.
 * @param {string[]} words
 * @returns {string}
 */
function joined(words) {
  return words.join(" ").replace(/[\s\x00-\x1f]+/g, " ").trim();
}

const MOST = 3; // codes of one plate that go into the box together

/**
 * Tell how much a scan says about a machine: 4 model and serial, 3 serial, 2 model, 1 a text with
 * figures, 0 nothing that the box could use (an article number alone, words of an address).
 * @param {Scan} scan
 * @returns {number}
 */
export function worth(scan) {
  if (scan.serial) return scan.model ? 4 : 3;
  if (scan.model) return 2;
  return scan.text !== scan.gtin && /\d/.test(scan.text) ? 1 : 0;
}

/**
 * Return what goes into the box of all that was read on one plate, which may have a code for the
 * model and another for the serial; nothing where no code says anything about a machine.
 * @param {Scan[]} scans
 * @returns {string}
 */
export function gathered(scans) {
  const whole = scans.find((scan) => worth(scan) === 4);
  if (whole) return whole.text;
  const serial = scans.find((scan) => scan.serial);
  const model = scans.find((scan) => scan.model);
  if (model && serial) return joined([model.model, serial.serial]);
  const useful = scans.filter((scan) => worth(scan) > 0);
  const texts = useful.sort((one, other) => worth(other) - worth(one)).map((scan) => scan.text);
  return joined([...new Set(texts)].slice(0, MOST));
}
