/** The carrying itself: fetch what is not there yet, then take the new edition over. */

import { unpack } from "../data/unpack.js";
import { allOf, countOf, listOf, neededBy, offersOf, sizeFor, sumOf } from "./plan.js";
import { ask, Changed, isFresh, isNewest } from "./newest.js";
import { tellNewer } from "./pages.js";
import { fileOf, known, present, remember, shelf, site, tidy, urlOf } from "./shelf.js";

/** @typedef {import("./plan.js").List} List */
/** @typedef {import("./plan.js").Sized} Sized */
/** @typedef {import("./shelf.js").Edition} Edition */
/** @typedef {import("./shelf.js").Head} Head */

const SMALL = 8_000_000; // bytes of a house that is carried without asking
const AT_ONCE = 4;

/** @type {Promise<void> | null} */
let going = null;
let again = false;
/** @type {Edition | null} */
let sound = null; // of which every file was seen since the worker started
let done = 0; // bytes fetched of `total`
let total = 0;
let trouble = "";
/** @type {List | null} */
let list = null;

/**
 * Carry what is to be carried; one at a time.
 * @param {boolean} sparing  nothing without being asked to
 * @param {boolean} anew  what is to be carried was chosen just now
 */
export async function carry(sparing, anew) {
  if (!anew && sound && sound === (await known()).now && (await isNewest())) return tell();
  again = anew && Boolean(going);
  going ??= rounds(sparing).finally(() => {
    going = null;
    total = 0;
    return tell();
  });
  return going;
}

/** @param {boolean} sparing */
async function rounds(sparing) {
  do {
    again = false;
    trouble = "";
    await round(sparing)
      .catch((error) => {
        if (!(error instanceof Changed)) throw error;
        return ask().then(() => round(sparing));
      })
      .catch(troubled);
  } while (again);
}

/** @param {unknown} error */
async function troubled(error) {
  if (!(error instanceof DOMException) || error.name !== "QuotaExceededError") {
    trouble = total ? "cut" : "";
    return;
  }
  trouble = `full ${total - done}`;
}

/** @param {boolean} sparing */
async function round(sparing) {
  const state = await known();
  const head = (isFresh(state) && state.head) || (await ask());
  await fetchAll([[head.carry, 0]]);
  const kept = /** @type {Response} */ (await fileOf(head.carry));
  list = listOf(await unpack(kept));
  const families = await chosenOf(list, head, sparing);
  const edition = await bring(head, list, families);
  await takeOver(edition);
}

/** @param {List} list @param {Head} head @param {boolean} sparing */
async function chosenOf(list, head, sparing) {
  const { now, chosen } = await known();
  if (chosen) return allOf(list).filter((name) => chosen.includes(name));
  if (head.whole > SMALL) return now?.families ?? [];
  return sparing && !now ? [] : allOf(list);
}

/**
 * Fetch all that these families need and return the edition.
 * @param {Head} head @param {List} list @param {string[]} families
 * @returns {Promise<Edition | null>}
 */
async function bring(head, list, families) {
  const bundles = neededBy(list, families);
  if (!bundles.length) return null;
  const packs = bundles.flatMap((bundle) => bundle.packs);
  const files = [...list.shell, ...list.search, ...packs];
  const size = sizeFor(list, families);
  total = size;
  done = 0;
  await fetchAll(files);
  /** @type {Edition["packs"]} */
  const read = {};
  for (const [path] of packs) read[path] = await contents(path);
  const pictures = Object.values(read).flatMap(([, beside]) => beside);
  await fetchAll(pictures);
  const { carry, made } = head;
  const every = [carry, ...[...files, ...pictures].map(([path]) => path)];
  return {
    carry, made, head, families, bulletins: countOf(bundles), size, style: list.style,
    files: every, packs: read,
  };
}

/**
 * Return the pages of a pack and the pictures beside them.
 * @param {string} path
 * @returns {Promise<[string[], Sized[]]>}
 */
async function contents(path) {
  const { now } = await known();
  if (now?.packs[path]) return now.packs[path];
  const { value } = await unpack(/** @type {Response} */ (await fileOf(path)));
  return [value[0].map((/** @type {[string, number]} */ [page]) => page), value[1]];
}

/**
 * Fetch those of these files that are not there.
 * @param {Sized[]} files
 */
async function fetchAll(files) {
  const here = await present();
  const missing = files.filter(([path]) => !here.has(urlOf(path)));
  done += sumOf(files) - sumOf(missing);
  for (let at = 0; at < missing.length; at += AT_ONCE) {
    await Promise.all(missing.slice(at, at + AT_ONCE).map(fetchOne));
    await tell();
  }
}

/** @param {Sized} file */
async function fetchOne([path, size]) {
  const reply = await fetch(urlOf(path), { cache: "force-cache" });
  if (!reply.ok) throw new Changed();
  const body = await reply.blob();
  if (size && body.size !== size) throw new Changed();
  const headers = { "Content-Type": reply.headers.get("Content-Type") ?? "" };
  await (await shelf()).put(urlOf(path), new Response(body, { headers }));
  done += size;
}

/**
 * Make an edition the one that is carried; the one before stays for pages that are open.
 * @param {Edition | null} edition
 */
async function takeOver(edition) {
  const state = await known();
  const { now } = state;
  if (edition && now && now.carry !== edition.carry) state.before = now;
  if (!edition) state.before = null;
  state.now = sound = edition;
  await remember();
  await tidy();
  if (edition && now && now.carry !== edition.carry) await tellNewer(now, edition);
}

/** Tell every page what is carried and how far it is. */
export async function tell() {
  const { now, chosen, head } = await known();
  const { made = "", families = [], bulletins = 0, size = 0 } = now ?? {};
  const status = {
    kind: "carried", made, families, bulletins, size, done, total, trouble,
    small: Boolean(head && head.whole <= SMALL), whole: head?.whole ?? 0,
    offers: list && offersOf(list, chosen ?? families),
  };
  for (const client of await site.clients.matchAll()) client.postMessage(status);
}
