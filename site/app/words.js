/** The words in which the front page tells an answer; pure, so that they can be held by tests. */

/** @typedef {import("../core/results.js").Result} Result */
/** @typedef {{shown: string, plantName: string}} ShownReading */
/** @typedef {{model: string, revision: number | null}} Named */

/** What each kind of bulletin is called. @type {Record<string, string>} */
export const KINDS = {
  repair: "Repair", "running-change": "Running change", introduction: "Introduction",
  normal: "Normal behaviour", safety: "Safety", parts: "Parts", reference: "Reference",
};

/** What can hurt: its words and the strokes of its sign. @type {Record<string, string[]>} */
export const HAZARDS = {
  electricity: ["Electric shock", "M13 2 5 14h6l-1 8 9-13h-6z"],
  gas: ["Gas", "M12 2c1 5 6 7 6 13a6 6 0 0 1-12 0c0-3 2-5 2-8 2 1 3 3 3 5 2-3 2-6 1-10z"],
  refrigerant: ["Refrigerant", "M12 2v20M3 7l18 10M21 7 3 17M9 3l3 3 3-3M9 21l3-3 3 3"],
  "hot-water": ["Hot water", "M12 3c4 5 6 8 6 11a6 6 0 0 1-12 0c0-3 2-6 6-11zM9 14a3 3 0 0 0 3 3"],
  "hot-surface": [
    "Hot surface", "M3 21h18M7 4c-3 4 3 8 0 13m5-13c-3 4 3 8 0 13m5-13c-3 4 3 8 0 13",
  ],
  "sharp-edges": ["Sharp edges", "M3 21 20 3v18zM9 21v-4"],
  "moving-parts": [
    "Moving parts",
    "M12 8a4 4 0 1 0 0 8 4 4 0 0 0 0-8zM12 2v5m0 10v5M2 12h5m10 0h5M5 5l14 14m0-14L5 19",
  ],
  heavy: ["Heavy", "M9 8a3 3 0 1 1 6 0M6 8h12l3 13H3z"],
  pressure: ["Pressure", "M4 19a9 9 0 1 1 16 0zM12 15l5-6"],
  chemicals: ["Chemicals", "M9 2h6M10 2v7L4 21h16L14 9V2M7 16h10"],
};

/**
 * Return a text with a capital at its beginning and a full stop at its end.
 * @param {string} text
 */
export function sentence(text) {
  const whole = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.!?…]$/.test(whole) || !whole ? whole : `${whole}.`;
}

/**
 * Return names in one line: two of them, and how many more there are. A name said of several
 * things ("Main control", "Main control, with relay") is said once, by its first words.
 * @param {string[]} names
 */
export function fewWords(names) {
  const short = [...new Set(names.map((name) => name.split(",")[0].trim()))];
  const rest = short.length - 2;
  return rest > 0 ? `${short.slice(0, 2).join(", ")} and ${rest} more` : short.join(", ");
}

/**
 * Return a model with its digit as on a rating plate, "" for none.
 * @param {Named | null} unit
 */
export function plateModel(unit) {
  if (!unit) return "";
  return unit.revision === null ? unit.model : `${unit.model}/${unit.revision}`;
}

/**
 * Return when a unit was built and where, by every way to read its serial.
 * @param {ShownReading[]} readings
 */
export function builtWords(readings) {
  const built = [...new Set(readings.map(({ shown }) => shown))].join(" or ");
  const plants = [...new Set(readings.map(({ plantName }) => plantName))];
  return plants.length === 1 && plants[0] ? `${built}, ${plants[0]}` : built;
}

/**
 * Return one short sentence on how much was found.
 * @param {Pick<Result, "applies">[]} results
 * @param {boolean} more  whether there are further ones
 * @param {boolean} unit  whether they answer for a unit
 */
export function countLine(results, more, unit) {
  const total = results.length;
  if (!total) return "Nothing found";
  const every = total === 1 ? "1 bulletin" : `${total} bulletins`;
  const first = more ? `The first ${every}` : every;
  const yes = results.filter(({ applies }) => applies === "yes").length;
  const maybe = results.filter(({ applies }) => applies === "maybe").length;
  if (!unit || !(yes + maybe)) return first;
  const told = [yes && `${yes} appl${yes === 1 ? "ies" : "y"}`, maybe && `${maybe} may apply`];
  if (total > 1 && Math.max(yes, maybe) === total) return `${first}, all ${yes ? "" : "may "}apply`;
  return `${first}: ${told.filter(Boolean).join(", ")}`;
}

/**
 * Return whether a bulletin applies, in words.
 * @param {Pick<Result, "applies" | "settle" | "reason">} result
 */
export function verdictWords({ applies, settle, reason }) {
  if (applies === "yes") return "Applies";
  if (applies === "no") return reason ? `Does not apply: ${reason}` : "Does not apply";
  return settle ? `May apply: look for ${settle}` : "May apply";
}

/**
 * Return what has become of a bulletin that is not in force any more, "" for one that is.
 * @param {{status: string, supersededBy: string}} card
 */
export function standingWords({ status, supersededBy }) {
  if (supersededBy) return `Superseded by ${supersededBy}`;
  return status === "withdrawn" ? "Withdrawn: do not go by it" : "";
}

/**
 * Cut a text into its marked and unmarked stretches.
 * @param {string} text
 * @param {string[]} words  as they stand in it
 * @returns {{text: string, marked: boolean}[]}
 */
export function stretches(text, words) {
  const wanted = words.filter(Boolean).sort((one, other) => other.length - one.length);
  if (!wanted.length) return [{ text, marked: false }];
  const any = wanted.map((word) => word.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&")).join("|");
  const whole = new RegExp(`(?<![\\p{L}\\p{N}])(${any})(?![\\p{L}\\p{N}])`, "giu");
  const found = text.split(whole).map((piece, at) => ({ text: piece, marked: at % 2 === 1 }));
  return found.filter((stretch) => stretch.text);
}

/**
 * Return the address of a ready mail to the desk, "" where the contact line names no address.
 * @param {string} contact
 * @param {{asked: string, unit: string, edition: string, address: string}} about
 */
export function mailAddress(contact, { asked, unit, edition, address }) {
  const to = /[^\s<>(),;:"]+@[^\s<>(),;:"]+\.[\p{L}\p{N}-]*[\p{L}\p{N}]/u.exec(contact)?.[0];
  if (!to) return "";
  const subject = `No bulletin found: ${asked || unit}`.slice(0, 120);
  const lines = [
    `Asked: ${asked || "(nothing but the unit)"}`, `Unit: ${unit || "(none given)"}`,
    "Seen at the machine: ", "", `Edition of the bulletins: ${edition}`, address,
  ];
  const [title, body] = [subject, lines.join("\r\n")].map(encodeURIComponent);
  return `mailto:${to}?subject=${title}&body=${body}`;
}
