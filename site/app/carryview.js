/** What is carried, on the start page: a line where all is, a list of families to choose from. */

import { choose, onCarried } from "./carry.js";
import { button, make } from "./elements.js";

/** @typedef {import("./carry.js").Status} Status */
/** @typedef {import("../carried/plan.js").Offer} Offer */

const OLD = 30; // days after which an edition is called old
const NO_WAY = "This browser keeps nothing for places without signal. With a connection everything works.";

/** Show what is carried, and keep showing it. */
export function showCarrying() {
  const section = make("section", { class: "carry", "aria-labelledby": "carry-h" });
  section.hidden = true;
  const asof = document.querySelector("main > .asof");
  if (asof) asof.before(section);
  else document.querySelector("main")?.append(section);
  onCarried((status) => show(section, status));
}

/** @param {HTMLElement} section @param {Status | null} status */
function show(section, status) {
  const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.family;
  const inside = status ? told(status) : [make("p", {}, NO_WAY)];
  section.hidden = !inside.length;
  section.replaceChildren(make("h2", { id: "carry-h" }, "Carry with you"), ...inside);
  if (focused !== undefined) again(section, focused)?.focus();
}

/** @param {HTMLElement} section @param {string} family */
function again(section, family) {
  return [...section.querySelectorAll("button")].find((each) => each.dataset.family === family);
}

/** @param {Status} status */
function told(status) {
  const line = [stateOf(status), progressOf(status), troubleOf(status)];
  const quiet = status.small && !status.trouble && (status.made || status.total);
  const list = quiet || !status.offers ? [] : offersIn(status, status.offers);
  return [...line, ...list].filter((each) => each !== null);
}

/** @param {Status} status */
function stateOf({ made, bulletins, families, small }) {
  if (!made) return null;
  const days = Math.floor((Date.now() - Date.parse(made)) / 86_400_000);
  const age = days > OLD ? ` (${days} days ago: open this page where there is a connection)` : "";
  const whose = small ? "" : ` of ${families.filter(Boolean).join(", ")}`;
  return make("p", { role: "status" }, `Carried: ${count(bulletins)}${whose}, as of ${made}${age}`);
}

/** @param {number} bulletins */
function count(bulletins) {
  return bulletins === 1 ? "1 bulletin" : `${bulletins} bulletins`;
}

/** @param {Status} status */
function progressOf({ done, total }) {
  if (!total || done >= total) return null;
  const bar = make("progress", { max: String(total), value: String(done), "aria-label": "Carrying" });
  return make("p", { class: "coming" }, bar, ` ${megabytes(done)} of ${megabytes(total)}`);
}

/** @param {Status} status */
function troubleOf({ trouble }) {
  if (!trouble) return null;
  const [kind, size] = trouble.split(" ");
  const words = kind === "full"
    ? `No room on this phone: free ${megabytes(Number(size))} or carry fewer families.`
    : "The connection broke off: carrying goes on when it is back.";
  return make("p", { class: "note", role: "alert" }, words);
}

/** @param {Status} status @param {Offer[]} offers */
function offersIn({ small, whole, made }, offers) {
  const lead = "Pages and search then open without signal.";
  const all = small && !made ? button(`Carry all (${megabytes(whole)})`, () => choose(offers.map(({ name }) => name))) : null;
  const chosen = offers.filter(({ carried }) => carried).map(({ name }) => name);
  const rows = offers.map((offer) => row(offer, chosen));
  return [make("p", {}, lead), all, make("ul", { class: "rows" }, ...rows)];
}

/** @param {Offer} offer @param {string[]} chosen */
function row({ name, size, bulletins, carried }, chosen) {
  const others = chosen.filter((each) => each !== name);
  const title = name || "Other parts and long lists";
  const about = (name && `${count(bulletins)}, `) + megabytes(size);
  const act = carried ? () => choose(others) : () => choose([...others, name]);
  const press = button(carried ? "Take off" : "Carry", act, {
    "data-family": name, "aria-label": `${carried ? "Take off" : "Carry"} ${title}`,
  });
  const words = make("span", { class: "what", dir: "auto" }, title);
  return make("li", {}, words, " ", make("span", { class: "remark" }, about), " ", press);
}

/** @param {number} bytes */
function megabytes(bytes) {
  return `${(Math.ceil(bytes / 100_000) / 10).toFixed(1)} MB`;
}
