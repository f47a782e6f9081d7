/** What is new since this phone last looked, by the dates that the front page itself carries. */

import { ask } from "./asker.js";
import { make } from "./elements.js";
import { bulletinLink } from "./results.js";

/** @typedef {import("../core/records.js").Card} Card */

/** What was the newest at the last look, and when that was. */
/** @typedef {{day: string, numbers: string[], at: string}} Seen */
/** @typedef {{number: string, issued: string}} Dated */

const KEY = "fb-seen";

/**
 * Return what is to be remembered of a look at these bulletins.
 * @param {Dated[]} shown
 * @param {string} today
 * @returns {Seen}
 */
export function seenNow(shown, today) {
  const day = shown.map(({ issued }) => issued).sort().at(-1) ?? "";
  const numbers = shown.filter(({ issued }) => issued === day).map(({ number }) => number);
  return { day, numbers, at: today };
}

/**
 * Return the bulletins that came since; none at the first look.
 * @template {Dated} Item
 * @param {Item[]} shown
 * @param {Seen | null} since
 * @returns {Item[]}
 */
export function newSince(shown, since) {
  if (!since) return [];
  const { day, numbers } = since;
  return shown.filter(({ number, issued }) => (
    issued > day || (issued === day && !numbers.includes(number))
  ));
}

/**
 * Read what was remembered, null for nothing or nonsense.
 * @param {string | null} text
 * @returns {Seen | null}
 */
export function seenFrom(text) {
  try {
    const { day, numbers, at } = Object(JSON.parse(text ?? "null"));
    return typeof day === "string" && Array.isArray(numbers) ? { day, numbers, at } : null;
  } catch {
    return null;
  }
}

/**
 * Tell in one line how much is new.
 * @param {number} fresh
 * @param {number} shown  bulletins looked at: where all are new there may be more
 * @param {string} when  day of the last look as it is said
 */
export function newsLine(fresh, shown, when) {
  const many = fresh === shown ? `${fresh} or more` : `${fresh}`;
  const since = when ? ` on ${when}` : "";
  return `${many} new since you last looked${since}.`;
}

/**
 * Put the newest bulletins of the families that this phone carries in the place of everybody's;
 * where they cannot be had the list stays.
 * @param {HTMLElement} list
 * @param {string[]} families
 * @param {string} today
 */
export async function showCarried(list, families, today) {
  const most = list.children.length;
  const cards = await ask("newest", { families, limit: most, today }).catch(() => []);
  if (!cards.length) return;
  list.replaceChildren(...cards.map((/** @type {Card} */ card) => {
    const { number, issued, title, kind } = card;
    const about = { "data-listed": number, "data-issued": issued };
    const item = make("li", { class: `entry ${kind}`, ...about });
    item.append(...bulletinLink(number, title, kind, longDay(issued)));
    return item;
  }));
  list.before(make("p", { class: "about" }, `Of what this phone carries: ${families.join(", ")}`));
}

/**
 * Mark what is new in the list of the newest. While the window is open the marks stay; the next
 * visit counts from this one.
 * @param {HTMLElement} list
 * @param {string} today
 */
export function markNews(list, today) {
  const items = /** @type {HTMLElement[]} */ ([...list.querySelectorAll("[data-issued]")]);
  const shown = items.map((item) => (
    { item, number: item.dataset.listed ?? "", issued: item.dataset.issued ?? "" }
  ));
  const since = lastLook(seenNow(shown, today));
  const fresh = newSince(shown, since);
  for (const { item } of fresh) {
    item.querySelector(".meta")?.prepend(make("strong", { class: "fresh" }, "New"), " ");
  }
  if (since && fresh.length) {
    const when = since.at === today ? "" : longDay(since.at);
    list.before(make("p", { class: "news" }, newsLine(fresh.length, shown.length, when)));
  }
}

/**
 * Return what was seen before this window was opened, and remember this look.
 * @param {Seen} now
 */
function lastLook(now) {
  try {
    const before = sessionStorage.getItem(KEY) ?? localStorage.getItem(KEY);
    if (before) sessionStorage.setItem(KEY, before);
    localStorage.setItem(KEY, JSON.stringify(now));
    return seenFrom(before);
  } catch {
    return null; // the phone keeps nothing: nothing can be said to be new
  }
}

/** @param {string} day  as ISO text */
function longDay(day) {
  const date = new Date(`${day}T12:00:00Z`);
  if (Number.isNaN(date.getTime())) return "";
  return date.toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
}
