/** Which edition of the site is the newest. */

import { HEAD, known, remember, urlOf } from "./shelf.js";

/** @typedef {import("./shelf.js").Head} Head */
/** @typedef {import("./shelf.js").Known} Known */

const FRESH = 600_000; // milliseconds for which what is newest is not asked again
const PATIENCE = 2500; // milliseconds to wait for the network where a carried page would do
const AWAY = 30_000; // milliseconds for which a network that failed is not tried again

/** Something is not as it is told: the site was published anew, or this is not the site. */
export class Changed extends Error {}

let failed = 0; // when the network did not answer

/**
 * Ask which edition is newest.
 * @returns {Promise<Head>}
 */
export async function ask() {
  const reply = await fetch(urlOf(HEAD), { cache: "no-cache" });
  /** @type {Head} */
  const head = await reply.json();
  if (!head.carry) throw new Changed();
  Object.assign(await known(), { head, looked: Date.now() });
  await remember();
  return head;
}

/**
 * Tell whether what is newest was asked for a short while ago.
 * @param {Known} state
 */
export function isFresh({ head, looked }) {
  const since = Date.now() - looked;
  return Boolean(head) && since >= 0 && since < FRESH;
}

/**
 * Tell whether the carried edition will do: it is the newest, or no newer one can be had just now.
 */
export async function isNewest() {
  const state = await known();
  if (!navigator.onLine || Date.now() - failed < AWAY) return true;
  try {
    if (!isFresh(state)) await within(ask());
  } catch {
    failed = Date.now();
    return true;
  }
  return state.head?.carry === state.now?.carry;
}

/**
 * Return what is promised if it comes soon, else throw.
 * @template T
 * @param {Promise<T>} promise
 * @returns {Promise<T>}
 */
export function within(promise) {
  return new Promise((give, fail) => {
    setTimeout(fail, PATIENCE);
    promise.then(give, fail);
  });
}
