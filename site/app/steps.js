/** The checks of a bulletin with boxes to tick, findings, and what each finding means. */

import { button, make, textOf } from "./elements.js";
import { difference, meaning, nextCheck } from "./ticks.js";

/** @typedef {import("./ticks.js").Check} Check */
/** @typedef {import("./ticks.js").State} State */
/** @typedef {import("./ticks.js").Laid} Laid */

/**
 * The controls of one check. `told` is the line that says how it differs from what was ticked.
 * @typedef {object} Step
 * @property {Element} item
 * @property {HTMLInputElement} box
 * @property {HTMLButtonElement} no
 * @property {HTMLButtonElement} found
 * @property {HTMLElement} means
 * @property {HTMLElement} told
 */

/**
 * Read a check off the page.
 * @param {HTMLElement} item
 * @returns {Check}
 */
export function checkOf(item) {
  const said = [".test", ".fix", ".needs"].map((part) => textOf(item.querySelector(part)));
  return {
    cause: textOf(item.querySelector("h3")),
    said: said.join("\n"),
    minutes: Number(item.dataset.minutes) || 0,
  };
}

/**
 * Give a check its box and its two findings; `set` is told of every tap.
 * @param {HTMLElement} item
 * @param {number} at
 * @param {(at: number, state: State) => void} set
 * @returns {Step}
 */
export function stepOf(item, at, set) {
  const place = String(at + 1);
  const box = make("input", { type: "checkbox", class: "tick", id: `tick-${place}` });
  const no = button("Not this", () => pressed(no, "no"));
  const found = button("Found it", () => pressed(found, "found"));
  const pressed = (/** @type {HTMLElement} */ by, /** @type {State} */ state) => {
    set(at, by.getAttribute("aria-pressed") === "true" ? "" : state);
  };
  box.addEventListener("change", () => set(at, box.checked ? "done" : ""));
  item.id = `check-${place}`;
  const means = make("p", { class: "means" });
  const told = make("p", { class: "told" });
  const group = { class: "finding", role: "group", "aria-label": `What check ${place} shows` };
  const last = labelled(item, box.id);
  item.prepend(box);
  last.after(told, make("div", group, no, found), means);
  return { item, box, no, found, means, told };
}

/**
 * Make cause and test the label of the box; return the last of the two.
 * @param {Element} item
 * @param {string} id
 */
function labelled(item, id) {
  const named = [...item.querySelectorAll("h3, .test")];
  for (const each of named) {
    const label = make("label", { for: id });
    label.append(...each.childNodes);
    each.append(label);
  }
  return named[named.length - 1];
}

/**
 * Show how the checks stand.
 * @param {Step[]} steps
 * @param {Check[]} checks
 * @param {Laid} laid
 */
export function drawSteps(steps, checks, { states, marks }) {
  const next = states.some(Boolean) ? nextCheck(states) : -1;
  steps.forEach((step, at) => {
    const state = states[at];
    step.box.checked = state !== "";
    step.item.setAttribute("data-state", state);
    if (at === next) step.item.setAttribute("aria-current", "step");
    else step.item.removeAttribute("aria-current");
    step.no.setAttribute("aria-pressed", String(state === "no"));
    step.found.setAttribute("aria-pressed", String(state === "found"));
    const fix = step.item.querySelector(".fix, .needs") !== null;
    step.means.textContent = meaning(states, at, checks, fix);
    step.told.textContent = difference(checks[at], state, marks[at]);
  });
}
