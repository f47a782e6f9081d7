/** The lists of what to have in hand and what to order, with boxes to tick. */

import { make, textOf } from "./elements.js";
import { keyOf } from "./ticks.js";

/** @typedef {{key: string, box: HTMLInputElement}} Line */

/**
 * Give every line of the lists a box; `set` is told of every tap.
 * @param {ParentNode} article
 * @param {() => void} set
 * @returns {Line[]}
 */
export function linesOf(article, set) {
  return [...article.querySelectorAll(".boxes > li, .order.boxed")].map((item) => {
    const box = make("input", { type: "checkbox", class: "tick" });
    box.addEventListener("change", set);
    return item.matches(".order") ? ordered(item, box) : inHand(item, box);
  });
}

/** @param {Element} item @param {HTMLInputElement} box @returns {Line} */
function inHand(item, box) {
  const key = keyOf(textOf(item));
  const label = make("label");
  label.append(box, ...item.childNodes);
  item.append(label);
  return { key, box };
}

/** @param {Element} item @param {HTMLInputElement} box @returns {Line} */
function ordered(item, box) {
  const words = [...item.querySelectorAll(".item")].map(textOf).join("; ");
  box.setAttribute("aria-label", words);
  item.prepend(box);
  return { key: `order ${keyOf(words)}`, box };
}
