/** Pages of an edition, taken out of its packs. */

import { unpack } from "../data/unpack.js";
import { pathOf } from "./paths.js";
import { fileOf, scope, site } from "./shelf.js";

/** @typedef {import("./shelf.js").Edition} Edition */

/** @type {[Edition, Map<string, string>] | null} */
let places = null;
const ahead = new Set(); // pages in windows that came from the network, newer than what is carried

/**
 * Return the path of the pack that holds a page.
 * @param {Edition | null} edition
 * @param {string} path
 */
export function packOf(edition, path) {
  if (!edition) return undefined;
  if (places?.[0] !== edition) {
    const every = Object.entries(edition.packs);
    const pairs = every.flatMap(([pack, [pages]]) => pages.map((page) => [page, pack]));
    places = [edition, new Map(/** @type {[string, string][]} */ (pairs))];
  }
  return places[1].get(path);
}

/**
 * Return a page's bytes; null where the phone does not hold them.
 * @param {Edition | null} edition
 * @param {string} path
 */
export async function pageOf(edition, path) {
  const pack = packOf(edition, path);
  const kept = pack && (await fileOf(pack));
  if (!kept) return null;
  const { value, bytes } = await unpack(kept);
  let at = 0;
  for (const [page, size] of value[0]) {
    if (page === path) return bytes.slice(at, at + size);
    at += size;
  }
  return null;
}

/**
 * Remember that a window shows a page newer than what is carried.
 * @param {string} client
 */
export function isAhead(client) {
  ahead.add(client);
}

/**
 * Tell those windows whose page is another one in the edition now carried.
 * @param {Edition} before
 * @param {Edition} now
 */
export async function tellNewer(before, now) {
  for (const client of await site.clients.matchAll({ type: "window" })) {
    const path = pathOf(client.url, scope) ?? "";
    const [older, newer] = [await pageOf(before, path), await pageOf(now, path)];
    const same = String(older) === String(newer);
    if (older && !same && !ahead.has(client.id)) client.postMessage({ kind: "newer" });
  }
  ahead.clear();
}
