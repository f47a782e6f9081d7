/** The carrying of the site, as every page begins it: later, when the page is usable. */

import { make } from "./elements.js";

/** What this phone carries, as it was last told. */
export const CARRIED = "fb-carried";

/** Return the names of the families that this phone carries. */
export function carriedFamilies() {
  try {
    /** @type {string[]} */
    const families = JSON.parse(localStorage.getItem(CARRIED) ?? "[]");
    return families.filter(Boolean);
  } catch {
    return [];
  }
}

/**
 * Bring in the script that has the site carried, once the page is there and idle.
 * @param {Promise<void>} [before]  what it is not to come in the way of
 */
export async function carryLater(before) {
  const { carry } = document.body.dataset;
  await new Promise((go) => {
    if (document.readyState === "complete") go(null);
    else addEventListener("load", go);
  });
  await before;
  idle(() => carry && document.body.append(make("script", { src: carry })));
}

/** @param {() => void} act */
function idle(act) {
  if ("requestIdleCallback" in globalThis) requestIdleCallback(act, { timeout: 3000 });
  else setTimeout(act, 500);
}
