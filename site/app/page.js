/** Entry of every page without one of its own: the unit at hand, and the way back to its search. */

import { carryLater } from "./carry.js";
import { make } from "./elements.js";
import { readUnit } from "./unit.js";

/** Show the unit at hand in one line above the page. */
function showUnit() {
  document.querySelector(".at-hand")?.remove();
  const unit = readUnit();
  const top = document.querySelector("header.top");
  if (!unit || !top) return;
  const plate = make("span", { class: "number" }, `${unit.model} ${unit.serial}`.trim());
  const find = /** @type {HTMLAnchorElement | null} */ (top.querySelector("a.find"));
  const link = make("a", { href: find?.getAttribute("href") ?? "./" }, "What applies to it");
  const about = { class: "at-hand", "aria-label": "Unit at hand" };
  top.after(make("aside", about, "Unit ", plate, " ", link));
}

showUnit();
addEventListener("storage", showUnit);
addEventListener("pageshow", (event) => event.persisted && showUnit());
void carryLater();
