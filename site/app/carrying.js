/**
 * Entry of the script that has the site carried: a service worker does the carrying, pages wake it
 * and hear how far it is. Where there is none, everything works as long as there is signal.
 */

import { CARRIED } from "./carry.js";
import { viewIn } from "./carryview.js";
import { button, make } from "./elements.js";

/**
 * What the service worker tells. `done` of `total` bytes are fetched, `total` is 0 when nothing is
 * under way; `small` stands for a house that is carried whole.
 * @typedef {{made: string, families: string[], bulletins: number, size: number, done: number,
 *   total: number, trouble: string, small: boolean, whole: number,
 *   offers: import("../carried/plan.js").Offer[] | null}} Status
 */

const LASTING = "fb-lasting";

/** @type {ServiceWorkerRegistration | null} */
let registration = null;

/**
 * Carry these families and no others.
 * @param {string[]} families
 */
function choose(families) {
  registration?.active?.postMessage({ kind: "choose", families });
}

/** Start the service worker and have it look for what is newer. */
async function register() {
  const unpacks = "DecompressionStream" in globalThis;
  const able = "serviceWorker" in navigator && unpacks && location.protocol.startsWith("http");
  if (!able) return draw(null);
  navigator.serviceWorker.addEventListener("message", ({ data }) => heard(data));
  navigator.serviceWorker.startMessages();
  const root = new URL(document.body.dataset.root || "./", location.href);
  try {
    await navigator.serviceWorker.register(new URL("sw.js", root), { scope: root.href });
    registration = await navigator.serviceWorker.ready;
  } catch {
    return draw(null);
  }
  look();
  addEventListener("online", look);
  document.addEventListener("visibilitychange", () => document.hidden || look());
}

function look() {
  const line = /** @type {{connection?: {saveData?: boolean}}} */ (navigator).connection;
  registration?.active?.postMessage({ kind: "look", sparing: Boolean(line?.saveData) });
}

/** @param {{kind: string} & Status} data */
function heard(data) {
  if (data.kind === "newer") offerNewer();
  if (data.kind !== "carried") return;
  if (data.made) askToLast();
  store(CARRIED, JSON.stringify(data.families));
  draw(data);
}

/** Ask once that the browser does not clear away what is carried. */
function askToLast() {
  if (navigator.storage?.persist && store(LASTING, "asked")) navigator.storage.persist();
}

/**
 * Keep a value; false where it stood there already or the browser keeps nothing.
 * @param {string} key
 * @param {string} value
 */
function store(key, value) {
  try {
    if (localStorage.getItem(key) === value) return false;
    localStorage.setItem(key, value);
    return true;
  } catch {
    return false;
  }
}

/** Offer the newer page; nothing is taken from under the hands. */
function offerNewer() {
  if (document.querySelector(".newer")) return;
  const show = button("Show it", () => location.reload());
  const line = make("p", { class: "newer", role: "status" }, "A newer edition is here.", " ", show);
  document.querySelector("main")?.append(line);
}

const start = document.querySelector("form.search") && document.querySelector("main");
const draw = start instanceof HTMLElement ? viewIn(start, choose) : () => undefined;
register();
