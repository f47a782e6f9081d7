/** The answer as it stands on the front page. */

import { address, folderName } from "../core/slugs.js";
import { button, make } from "./elements.js";
import {
  fewWords, HAZARDS, KINDS, sentence, standingWords, stretches, verdictWords,
} from "./words.js";

/** @typedef {import("../core/results.js").Result} Result */
/** @typedef {{number: string, title: string, kind: string, applies: string}} Other */
/** @typedef {ReturnType<typeof import("../core/partorder.js").orderFor>} Order */

const SVG = "http://www.w3.org/2000/svg";

/**
 * Return the address of a bulletin's page, from the front page.
 * @param {string} number
 */
export function bulletinAddress(number) {
  return address("bulletins", folderName(number));
}

/**
 * Return one bulletin of the answer.
 * @param {Result} result
 */
export function resultItem(result) {
  const { number, kind, applies, card } = result;
  const safety = kind === "safety" ? "safety" : "";
  const item = make("li", { class: `entry hit ${safety}`, "data-number": number });
  if (applies) item.dataset.applies = applies;
  item.append(...bulletinLink(number, result.title, kind, standingWords(card)));
  if (applies) item.append(verdict(result));
  const lines = [sign(result), ...firstThings(card), dangers(card.hazards)];
  item.append(...lines.filter((each) => each !== null));
  return item;
}

/**
 * Return the title of a bulletin as a link, and the line below it.
 * @param {string} number
 * @param {string} title
 * @param {string} kind
 * @param {string} more  said behind number and kind, "" for nothing
 */
export function bulletinLink(number, title, kind, more) {
  const link = make("a", { href: bulletinAddress(number) });
  link.append(make("span", { class: "title", dir: "auto" }, title));
  const line = make("span", { class: "meta" });
  line.append(make("span", { class: "number" }, number), " ");
  line.append(make("span", { class: "kind" }, KINDS[kind] ?? kind), " ");
  if (more) line.append(make("span", { class: "more-said" }, more));
  return [link, line];
}

/** @param {Result} result */
function verdict(result) {
  const words = make("span", {}, verdictWords(result));
  return make("p", { class: `verdict ${result.applies}` }, words);
}

/** Return the symptom that fits, with the words that matched marked. @param {Result} result */
function sign({ card, marked }) {
  const symptom = card.symptoms[marked.line];
  if (!symptom) return null;
  const words = stretches(symptom, marked.words)
    .map(({ text, marked: fits }) => (fits ? make("mark", {}, text) : text));
  return make("p", { class: "sign", dir: "auto" }, "“", ...words, "”");
}

/** Return what to check first and what to leave in, a line each. @param {Result["card"]} card */
function firstThings({ keep, first }) {
  return [
    first ? labelled("starts", "Check first:", first) : null,
    keep.length ? labelled("keeps", "Leave in:", fewWords(keep)) : null,
  ];
}

/** @param {string} className @param {string} label @param {string} words */
function labelled(className, label, words) {
  const line = make("p", { class: className });
  line.append(make("span", { class: "label" }, label), " ", make("span", { dir: "auto" }, words));
  return line;
}

/** @param {string[]} hazards */
function dangers(hazards) {
  const known = hazards.filter((name) => name in HAZARDS);
  if (!known.length) return null;
  const items = known.map((name) => {
    const [words, strokes] = HAZARDS[name];
    return make("li", {}, drawing(strokes), words);
  });
  return make("ul", { class: "hurts", "aria-label": "Can hurt you" }, ...items);
}

/** @param {string} strokes */
function drawing(strokes) {
  const [svg, path] = [document.createElementNS(SVG, "svg"), document.createElementNS(SVG, "path")];
  svg.setAttribute("viewBox", "0 0 24 24");
  svg.setAttribute("aria-hidden", "true");
  path.setAttribute("d", strokes);
  svg.append(path);
  return svg;
}

/**
 * Return the safety bulletins of the unit that the words do not find.
 * @param {Other[]} others
 */
export function safetyStrip(others) {
  const links = others.map((other) => make("li", {}, otherLink(other)));
  const head = make("h3", {}, "Safety bulletins for this unit");
  const about = { class: "strip", "aria-label": "Safety" };
  return make("section", about, head, make("ul", {}, ...links));
}

/**
 * Return the further bulletins of the unit, folded away; `titled` gives them with their titles.
 * @param {Other[]} others
 * @param {() => Promise<Other[]>} titled
 */
export function alsoForUnit(others, titled) {
  const list = make("ul", {});
  const fill = (/** @type {Other[]} */ known) => list.replaceChildren(
    ...known.map((other) => make("li", {}, otherLink(other))),
  );
  fill(others);
  const fold = make("details", { class: "also" });
  fold.append(make("summary", {}, `Also for this unit: ${others.length}`), list);
  fold.addEventListener("toggle", () => void titled().then(fill, () => undefined), { once: true });
  return fold;
}

/** @param {Other} other */
function otherLink({ number, title, kind, applies }) {
  const link = make("a", { href: bulletinAddress(number) });
  link.append(make("span", { class: "number" }, number), " ");
  link.append(make("span", { dir: "auto" }, title || (KINDS[kind] ?? kind)));
  if (applies === "maybe") link.append(" ", make("span", { class: "remark" }, "may apply"));
  return link;
}

/**
 * Return what to order for a part number.
 * @param {Order} found
 */
export function orderBox({ asked, order, choose, coming, notes }) {
  const box = make("section", { class: "orders-today", "aria-label": `Order for ${asked}` });
  box.append(make("h3", {}, order.length ? "Order today" : "Nothing to order today"));
  if (choose) box.append(make("p", { class: "choose" }, "One of these, by model:"));
  const same = (/** @type {string} */ number) => number === asked;
  for (const line of order) box.append(orderLine(line, same(line.number) ? "" : asked));
  for (const { number, since } of coming) {
    const from = since ? `, from ${since}` : "";
    box.append(make("p", { class: "remark" }, "Coming: ", partLink(number), from));
  }
  for (const note of notes) box.append(make("p", { class: "remark", dir: "auto" }, sentence(note)));
  if (!order.length) box.append(make("p", { class: "remark" }, "Asked: ", partLink(asked)));
  return box;
}

/** @param {Order["order"][number]} line @param {string} was */
function orderLine({ number, quantity, name, status, models }, was) {
  const item = make("p", { class: "item" });
  item.append(partLink(number), make("span", { class: "count" }, `× ${quantity}`));
  item.append(make("span", { class: "name", dir: "auto" }, name));
  if (models.length) item.append(make("span", { class: "for" }, `for ${models.join(", ")}`));
  if (status === "running-out") item.append(make("span", { class: "state" }, "running out"));
  if (was) item.append(make("span", { class: "remark" }, `was ${was}`));
  return item;
}

/** @param {string} number */
function partLink(number) {
  return make("a", { class: "number", href: address("parts", folderName(number)) }, number);
}

/**
 * Return what there is to do where nothing was found.
 * @param {string} note
 * @param {string[]} nearest
 * @param {(line: string) => void} take
 * @param {string} mail  address of a ready mail, "" for none
 */
export function nothingFound(note, nearest, take, mail) {
  const said = make("p", {}, sentence(note || "no bulletin answers this"));
  const box = make("div", { class: "nothing" }, said);
  if (nearest.length) {
    const offer = (/** @type {string} */ line) => button(line, () => take(line), { dir: "auto" });
    const lines = nearest.map((line) => make("li", {}, offer(line)));
    box.append(make("p", {}, "These would find something:"));
    box.append(make("ul", { class: "nearest" }, ...lines));
  }
  const link = mail && make("a", { class: "mail", href: mail }, "Ask the service desk by mail");
  if (link) box.append(make("p", {}, link));
  return box;
}
