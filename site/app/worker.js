/**
 * Entry of the worker that answers: what it is asked goes to the core, what the core lacks is
 * fetched. A question that a newer one overtakes is dropped.
 */

import { answer, due } from "../core/applies.js";
import { atOnce } from "../core/atonce.js";
import { KbError, NotFound } from "../core/errors.js";
import { Finder } from "../core/finding.js";
import { orderFor } from "../core/partorder.js";
import { plateJson, plateOf } from "../core/plate.js";
import { unitJson } from "../core/results.js";
import { makeUnit } from "../core/units.js";
import { dayOf } from "../core/wire.js";
import { openHouse } from "../data/house.js";
import { settle } from "../data/missing.js";
import { Lines } from "./lines.js";

/** @typedef {import("../data/house.js").House} House */
/** @typedef {Record<string, any> & {id: number, kind: string}} Question */

const PAUSE = 150; // milliseconds in which a further letter may come before anything is fetched
const AWAY = ["The search data cannot be reached", "try again where there is a connection"];
const BROKEN = ["The search went wrong", "load the page again"];

/** A file that the site does not hold (any more). */
class Gone extends Error {}

/** A file that cannot be had just now. */
class Away extends Error {}

let site = "";
let start = "";
/** @type {(bytes: ArrayBuffer | null) => void} */
let given = () => undefined;
/** What the page fetched of the start while this script was on its way. */
/** @type {Promise<ArrayBuffer | null>} */
let first = new Promise((done) => (given = done));
/** @type {Promise<House> | null} */
let opened = null;
let newest = 0; // the last question of kind "find"
/** @type {{house: House, today: number, finder: Finder, lines: Lines} | null} */
let readers = null;

/**
 * Fetch a file of the site.
 * @param {string} path
 */
async function bytes(path) {
  const reply = await fetch(new URL(path, site)).catch(away);
  if (reply.status === 404 || reply.status === 410) throw new Gone(path);
  if (!reply.ok) away();
  return new Uint8Array(await reply.arrayBuffer().catch(away));
}

/** @returns {never} */
function away() {
  throw new Away();
}

/** Return the house; a start that is no more is looked up anew. */
async function open() {
  if (!start) {
    const head = JSON.parse(new TextDecoder().decode(await bytes("data/head.json")));
    start = head.start;
  }
  return openHouse(async (path) => (path === start && (await begun())) || bytes(path), start);
}

/** Return the start as the page fetched it, once. */
async function begun() {
  const held = await first;
  first = Promise.resolve(null);
  return held && new Uint8Array(held);
}

/** @returns {Promise<House>} */
function house() {
  opened ??= open().catch((error) => {
    opened = null;
    if (!(error instanceof Gone)) throw error;
    start = "";
    return house();
  });
  return opened;
}

/**
 * @param {House} held
 * @param {number} today
 */
function readersOf(held, today) {
  if (readers?.house !== held || readers.today !== today) {
    const [finder, lines] = [new Finder(held, today), new Lines(held, today)];
    readers = { house: held, today, finder, lines };
  }
  return readers;
}

/** @param {Question} question @param {House} held @param {number} today */
function find({ text, model, serial, limit }, held, today) {
  const { finder, lines } = readersOf(held, today);
  const about = { contact: held.house.contact, edition: held.edition };
  try {
    const line = lines.asking(text, { model, serial });
    const apart = lines.apart(line, { model, serial });
    const found = finder.find(line, { ...apart, limit });
    const typed = found.unit && (!apart.model || (!apart.serial && found.unit.serial));
    return { ...found, ...about, typed: Boolean(typed) };
  } catch (error) {
    if (!(error instanceof NotFound)) throw error;
    // The plate given apart is none of this house: the line is answered without it.
    const trouble = `${error.message}: ${error.remedy}`;
    return { ...finder.find(text, { limit }), ...about, typed: false, trouble, given: model };
  }
}

/** @param {Question} question @param {House} held @param {number} today */
function applies({ number, model, serial }, held, today) {
  const unit = makeUnit(held, model, serial, today);
  const card = held.card(number);
  if (!card) throw new NotFound(`no bulletin ${number} is known`, "look at the number once more");
  return {
    ...answer(card.where, unit, held, today),
    due: card.age ? due(card.age, unit, today) : "",
    advice: card.age?.advice ?? "",
    unit: unitJson(unit, held),
  };
}

/** @param {Question} question @param {House} held @param {number} today */
function plate({ model, serial }, held, today) {
  return plateJson(held, plateOf(held, makeUnit(held, model, serial, today), today));
}

/** @param {Question} question @param {House} held @param {number} today */
function part({ number, model, serial }, held, today) {
  return orderFor(held, number, model, serial, today);
}

/** @param {Question} question @param {House} held @param {number} today */
function lift({ text, model, serial }, held, today) {
  return readersOf(held, today).lines.lifted(text, { model, serial });
}

/** @param {Question} question @param {House} held @param {number} today */
function without({ text, sort, value, model, serial }, held, today) {
  return readersOf(held, today).lines.without(text, sort, value, { model, serial });
}

/** Return the newest bulletins of some families. @param {Question} question @param {House} held */
function latest({ families, limit }, held) {
  const models = families.flatMap((/** @type {string} */ name) => held.modelsOf(name));
  const cards = new Map(atOnce(models, (model) => held.cardsFor(model)).flat()
    .map((card) => [card.doc, card]));
  const first = [...cards.values()]
    .sort((one, other) => (one.issued < other.issued ? 1 : -1)).slice(0, limit);
  held.needCards(first.map(({ doc }) => doc));
  return first.map(({ doc }) => held.cardOf(doc));
}

/** @type {Record<string, (question: Question, held: House, today: number) => unknown>} */
const KINDS = { find, applies, plate, part, lift, without, newest: latest };

/**
 * Return the answer; what is fetched for a line still being typed waits for the next letter.
 * @param {Question} question
 */
async function told(question) {
  const held = await house();
  const make = () => KINDS[question.kind](question, held, Number(dayOf(question.today)));
  const isLine = question.kind === "find";
  let pause = isLine && question.growing ? PAUSE : 0;
  const turn = async (/** @type {number} */ wait) => {
    await new Promise((go) => setTimeout(go, wait));
    if (isLine && question.id < newest) throw new KbError("overtaken");
  };
  const load = async (/** @type {string[]} */ names) => {
    await turn(pause);
    pause = 0;
    await held.load(names);
  };
  if (isLine) await turn(0); // newer lines that wait already are known behind this
  return settle({ load }, make);
}

/** @param {Question} question */
async function value(question) {
  if (question.kind === "first") return given(question.bytes);
  if (question.kind === "open") {
    [site, start] = [question.root, question.start];
    const { count, edition, madeOn, house: facts } = await house();
    return { count, edition, madeOn, ...facts };
  }
  try {
    return await told(question);
  } catch (error) {
    if (!(error instanceof Gone)) throw error;
    // The site was published anew under our feet: begin again with what it holds now.
    [opened, start, readers] = [null, "", null];
    return told(question);
  }
}

/** @param {unknown} error */
function words(error) {
  if (error instanceof KbError) return { message: error.message, remedy: error.remedy };
  const [message, remedy] = error instanceof Away || error instanceof Gone ? AWAY : BROKEN;
  if (message === BROKEN[0]) console.error(error);
  return { message, remedy };
}

addEventListener("message", async ({ data }) => {
  if (data.kind === "find") newest = data.id;
  try {
    postMessage({ id: data.id, value: await value(data) });
  } catch (error) {
    postMessage({ id: data.id, error: words(error) });
  }
});
