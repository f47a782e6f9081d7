/** A house of a few bulletins held in memory, made from their titles and symptoms. */

import { fold } from "../../site/core/folding.js";
import { sound } from "../../site/core/spelling.js";
import { Wording } from "../../site/core/wording.js";
import { Missing } from "../../site/data/missing.js";
import { plainTable } from "./plaintable.js";

/** Words, rings and weights enough to rank by. */
export const TABLE = {
  weights: {
    k1: 1.8, own: 1, ring: 0.65, spelling: 0.9, english: 0.45, sound: 0.6, prefix: 0.8,
    codes_front: 30, codes_body: 10, part: 30, substitution: 0.5, product_penalty: 0.5,
    share_power: 0.3, narrower: 0.2, line_bonus: 2, unknown: 0.5, common: 0.3, exact_title: 60,
  },
  thresholds: {
    line: 500, distance: [{ letters: 4, at_most: 1 }, { letters: 8, at_most: 2 }], prefix: 2,
    nothing_share: 0.3, nothing_telling: 0.75, least_share: 0.4, fits_well: 0.4, safety_first: 0.5,
  },
  stop: ["the", "a", "and", "at", "of"],
  not_words: ["wont", "not", "no"],
  not_phrases: ["does not"],
  generic: ["machin"],
  products: "washer|washer\ndryer|dryer\ndishwash|dishwasher",
  elsewhere: "coffe machin|coffee machine\ntelevis|television",
  code_words: { words: ["error"], letters: {}, digits: {}, look_alikes: {} },
  part_words: ["part"],
  unit_words: { model: ["model"], serial: ["serial"] },
  spelled: { dosnt: "does not", hinj: "hinge" },
  phrases: { leak: "leak=1", drip: "drip=1", puddl: "puddl=1", pool: "pool water=1", hum: "hum=2",
    buzz: "buzz=2" },
  near: { flood: "leak 0.5" },
  common: "pool door",
};

const RINGS = { 1: ["pool water", "drip", "leak", "puddl"], 2: ["buzz", "hum"] };

/**
 * Return a house; `calls` counts what is asked of it.
 * @param {{title: string, symptoms?: string[], codes?: string[], kind?: string}[]} bulletins
 */
export function smallHouse(bulletins) {
  const words = plainTable(TABLE);
  const wording = new Wording(words);
  const cards = bulletins.map(({ title, symptoms = [], codes = [], kind = "repair" }, doc) => ({
    doc, number: `2026-0${doc}`, title, symptoms, codes, kind, status: "in-force",
    issued: "2026-01-01", supersededBy: "", where: [], age: null, summary: "", hazards: [],
    first: "", keep: [], component: [],
  }));
  const lines = cards.map(({ title, symptoms }) => [title, ...symptoms]);
  const spoken = [...new Set(lines.flat().flatMap((line) => wording.words(line)))].sort();
  const postings = postingsOf(lines, wording);
  const texts = lines.map((each) => each.map((line) => wording.words(line).join(" ")).join(" | "));
  const shown = new Map(cards.flatMap((card) => card.codes.map((code) => [fold(code), code])));
  const calls = { text: 0, vocabulary: 0, soundsLike: 0 };
  return {
    ...words, calls, count: cards.length, families: new Map(), schemes: new Map(),
    modelStarts: new Set(), modelNamed: () => "", familyOf: () => null, nearestModel: () => "",
    codes: () => shown, bulletinNumber: () => "", partNumber: () => "", numbersLike: () => [],
    needTerms: () => {}, needCards: () => {}, hasCard: () => true, hasText: () => true, hasWord: () => true,
    cardOf: (doc) => cards[doc], card: () => null, relatedNumbers: () => [],
    frequency: (term) => postings.get(term)?.docs.length ?? 0,
    postings: (term) => postings.get(term) ?? { docs: [], weights: [], masks: [] },
    codePostings: (code) => cards.filter((card) => card.codes.map(fold).includes(code))
      .map((card) => [card.doc, 2]),
    partPostings: () => [],
    wordsStarting: (prefix) => spoken.filter((word) => word.startsWith(prefix)),
    vocabularyOf: (letter) => spoken.filter((word) => word.length > 2 && word[0] === letter),
    vocabulary: () => { calls.vocabulary += 1; return spoken.filter((word) => word.length > 2); },
    soundsLike: (heard) => spoken.filter((word) => sound(word) === heard),
    ringPhrases: (ring) => RINGS[ring] ?? [],
    text: (doc) => { calls.text += 1; return texts[doc]; },
  };
}

/** Return the postings of all terms: each word counts 4, in whatever line it stands. */
function postingsOf(lines, wording) {
  const found = new Map();
  lines.forEach((each, doc) => {
    const masks = new Map();
    each.forEach((line, at) => {
      const stems = wording.stems(line);
      const rings = wording.phrases(stems).flatMap((phrase) => phrase.rings.map((r) => `~${r}`));
      for (const term of [...stems, ...rings]) masks.set(term, (masks.get(term) ?? 0) | 1 << at);
    });
    for (const [term, mask] of masks) {
      if (!found.has(term)) found.set(term, { docs: [], weights: [], masks: [] });
      const held = found.get(term);
      held.docs.push(doc);
      held.weights.push(4);
      held.masks.push(mask);
    }
  });
  return found;
}

/**
 * Return a house of which some members throw Missing until their piece is loaded; `trips` counts
 * the loads.
 * @param {any} house
 * @param {Record<string, (...given: any[]) => string[]>} pieces  for each member the pieces needed
 */
export function inPieces(house, pieces) {
  const held = new Set();
  const behind = { ...house, trips: 0, load: async (names) => {
    behind.trips += 1;
    names.forEach((name) => held.add(name));
  } };
  for (const [member, piecesOf] of Object.entries(pieces)) {
    behind[member] = (...given) => {
      const absent = piecesOf(...given).filter((name) => !held.has(name));
      if (absent.length) throw new Missing(absent);
      return house[member](...given);
    };
  }
  return behind;
}
