/** What is carried, on the start page: a line where all is, a list of families to choose from. */

import { button, make } from "./elements.js";

/** @typedef {import("./carrying.js").Status} Status */
/** @typedef {import("../carried/plan.js").Offer} Offer */

const OLD = 30; // days after which an edition is called old
const LEAD = "Pages and search of what is carried open without signal.";
const NO_WAY =
  "This browser keeps nothing for places without signal. With a connection everything works.";

/** @typedef {(families: string[]) => void} Choose */

/**
 * Return what shows in a section of the start page what is carried; null where nothing can be.
 * @param {HTMLElement} main
 * @param {Choose} choose  carries these families and no others
 * @returns {(status: Status | null) => void}
 */
export function viewIn(main, choose) {
  const line = make("p", { role: "status" });
  const rest = make("div");
  const title = make("h2", { id: "carry-h" }, "Carry with you");
  const about = { class: "sheet carry", "aria-labelledby": "carry-h" };
  const section = make("section", about, title, line, rest);
  return (status) => {
    const words = status ? stateOf(status) : NO_WAY;
    if (line.textContent !== words) line.textContent = words;
    line.hidden = !words;
    fill(rest, status ? told(status, choose) : []);
    if (!section.isConnected && (words || rest.childElementCount)) place(section, main);
  };
}

/** @param {HTMLElement} section @param {HTMLElement} main */
function place(section, main) {
  (main.querySelector(".carry-place") ?? main).append(section);
}

/** @param {HTMLElement} place @param {HTMLElement[]} inside */
function fill(place, inside) {
  const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.family;
  place.replaceChildren(...inside);
  if (focused !== undefined) again(place, focused)?.focus();
}

/** @param {HTMLElement} section @param {string} family */
function again(section, family) {
  return [...section.querySelectorAll("button")].find((each) => each.dataset.family === family);
}

/** @param {Status} status @param {Choose} choose */
function told(status, choose) {
  const quiet = status.small && !status.trouble && (status.made || status.total);
  const list = quiet || !status.offers ? [] : offersIn(status, status.offers, choose);
  return [progressOf(status), troubleOf(status), ...list].filter((each) => each !== null);
}

/** @param {Status} status */
function stateOf({ made, bulletins, families, small, size }) {
  if (!made) return "";
  const days = Math.floor((Date.now() - Date.parse(made)) / 86_400_000);
  const age = days > OLD ? ` (${days} days ago: open this page where there is a connection)` : "";
  if (small) return `Carried: ${count(bulletins)}, as of ${made}${age}`;
  const whose = families.filter(Boolean).join(", ");
  return `Carried: ${count(bulletins)} of ${whose}, ${megabytes(size)}, as of ${made}${age}`;
}

/** @param {number} bulletins */
function count(bulletins) {
  return bulletins === 1 ? "1 bulletin" : `${bulletins} bulletins`;
}

/** @param {Status} status */
function progressOf({ done, total }) {
  if (!total || done >= total) return null;
  const far = { max: String(total), value: String(done), "aria-label": "Carrying" };
  const bar = make("progress", far);
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

/** @param {Status} status @param {Offer[]} offers @param {Choose} choose */
function offersIn({ small, whole, made }, offers, choose) {
  const chosen = offers.filter(({ carried }) => carried).map(({ name }) => name);
  const every = () => choose(offers.map(({ name }) => name));
  const all = small && !made ? button(`Carry all (${megabytes(whole)})`, every) : null;
  const rows = offers.map((offer) => row(offer, chosen, choose));
  return [make("p", {}, LEAD), all, make("ul", { class: "rows" }, ...rows)];
}

/** @param {Offer} offer @param {string[]} chosen @param {Choose} choose */
function row({ name, size, bulletins, carried }, chosen, choose) {
  const others = chosen.filter((each) => each !== name);
  const title = name || "Other parts and long lists";
  const about = (name ? `${count(bulletins)}, ` : "") + megabytes(size);
  const press = button(
    carried ? "Take off" : "Carry",
    () => choose(carried ? others : [...others, name]),
    { "data-family": name, "aria-label": `${carried ? "Take off" : "Carry"} ${title}` },
  );
  const words = make("span", { class: "what", dir: "auto" }, title);
  return make("li", {}, words, " ", make("span", { class: "remark" }, about), " ", press);
}

/** @param {number} bytes */
function megabytes(bytes) {
  return `${(Math.ceil(bytes / 100_000) / 10).toFixed(1)} MB`;
}
