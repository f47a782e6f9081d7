/** Entry of the front page: the one box, the scanner of plates, and what is new. */

import { carriedFamilies, carryLater } from "./carry.js";
import { dayOf } from "./calendar.js";
import { make } from "./elements.js";
import { markNews, showCarried } from "./news.js";
import { Search } from "./search.js";

const QUIET = 2000; // milliseconds without a question until the carrying may begin

/**
 * Fetch the scanner where the browser reads codes.
 * @param {HTMLFormElement} form
 * @param {Search} search
 */
function setUpScan(form, search) {
  const { scan } = document.body.dataset;
  if (!scan || !("BarcodeDetector" in window)) return;
  form.addEventListener("scanned", (event) => {
    const { detail } = /** @type {CustomEvent} */ (event);
    search.take(`${search.box.value} ${detail}`.trim()); // what the owner says may stand there
  });
  document.body.append(make("script", { src: scan }));
}

/** Wait until nothing was asked for a while. @param {Search} search */
async function quiet(search) {
  let seen = -1;
  while (seen !== search.round || search.place.dataset.state !== "ready") {
    seen = search.round;
    await new Promise((go) => setTimeout(go, QUIET));
  }
}

/**
 * Tell what is new, of the families that this phone carries where these are some and not all: of
 * all of them the page lists the newest already, and it is to stand still.
 * @param {HTMLElement} list
 */
async function tellNews(list) {
  const today = dayOf(new Date());
  const families = carriedFamilies();
  const every = [...document.querySelectorAll("#families .what")];
  const some = every.some(({ textContent }) => !families.includes(textContent ?? ""));
  if (families.length && some) await showCarried(list, families, today);
  markNews(list, today);
}

const form = document.querySelector("form.search");
const search = form instanceof HTMLFormElement ? new Search(form) : undefined;
if (form instanceof HTMLFormElement && search) setUpScan(form, search);
const newest = document.querySelector("[data-newest]");
if (newest instanceof HTMLElement) void tellNews(newest);
void carryLater(search && quiet(search));
