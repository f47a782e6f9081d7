/** Where the service worker keeps files, and what it knows of them between two starts. */

import { addressOf } from "./paths.js";

/**
 * One edition of the site as carried: `files` are all paths that it needs, `packs` the pages and
 * the pictures of each pack.
 * @typedef {{carry: string, made: string, head: Head, families: string[], bulletins: number,
 *   size: number, style: string, files: string[],
 *   packs: Record<string, [pages: string[], pictures: Sized[]]>}} Edition
 */
/** @typedef {import("./plan.js").Sized} Sized */
/** @typedef {{carry: string, whole: number, made: string}} Head  what is newest */
/**
 * `chosen` are the families that somebody chose, `looked` is when `head` was read, in milliseconds.
 * @typedef {{now: Edition | null, before: Edition | null, chosen: string[] | null,
 *   head: Head | null, looked: number}} Known
 */

export const site = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
export const scope = site.registration.scope;
export const HEAD = "data/head.json";
const KNOWN = `${scope}data/known.json`;

/** @type {Promise<Known> | null} */
let read = null;

/** The files that are kept. */
export function shelf() {
  return caches.open(`fb-files ${scope}`);
}

function notes() {
  return caches.open(`fb-known ${scope}`);
}

/** Return what is known; change it in place and keep it with `remember`. */
export function known() {
  read ??= notes()
    .then((held) => held.match(KNOWN))
    .then((reply) => reply?.json())
    .catch(() => null)
    .then((value) => value ?? { now: null, before: null, chosen: null, head: null, looked: 0 });
  return read;
}

/** Keep what is known for the next start; where there is no room it is found out again. */
export async function remember() {
  const text = JSON.stringify(await known());
  await notes().then((held) => held.put(KNOWN, new Response(text))).catch(() => undefined);
}

/**
 * Return a kept file.
 * @param {string} path
 */
export async function fileOf(path) {
  return (await shelf()).match(scope + addressOf(path), { ignoreVary: true });
}

/** Return the addresses of all files that are really there. */
export async function present() {
  return new Set((await (await shelf()).keys()).map(({ url }) => url));
}

/**
 * Return the address of a file.
 * @param {string} path
 */
export function urlOf(path) {
  return scope + addressOf(path);
}

/** Take away what no edition needs any more. */
export async function tidy() {
  const { now, before } = await known();
  const kept = new Set([...(now?.files ?? []), ...(before?.files ?? [])].map(urlOf));
  const held = await shelf();
  for (const url of await present()) if (!kept.has(url)) await held.delete(url);
}
