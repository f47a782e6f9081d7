/** Whether a line is about a thing that no bulletin of the house speaks of (a coffee machine). */

import { placeOf } from "./hits.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./ranking.js").Index} Index */
/** @typedef {import("./wording.js").Wording} Wording */
/** @typedef {Omit<Index, "cardOf"> & {wordsStarting: (prefix: string) => string[]}} House */
/** @typedef {House & {cardOf: (doc: number) => {title: string, symptoms: string[]}}} Subjects */

/**
 * Tell whether the line is about a thing that no bulletin speaks of.
 * @param {Asked} asked
 * @param {Subjects} house
 * @param {Wording} wording
 */
export function isElsewhere(asked, house, wording) {
  if (asked.codes.length || asked.parts.length || asked.model) return false;
  const stems = fullWords(asked, house).map((word) => wording.stem(word));
  const name = wording.elsewhere(stems);
  wording.need(name);
  const thing = wording.stems(name);
  const products = [...wording.products(stems.filter((stem) => !thing.includes(stem)))].sort();
  wording.need(products.join(" "));
  const things = [thing, ...products.map((product) => wording.stems(product))];
  house.needTerms([...things.flat(), ...products.map((product) => `=${product}`)]);
  if (products.some((product) => house.frequency(`=${product}`))) return false;
  return things.some((each) => each.length && !isSubject(each, house, wording));
}

/**
 * Return the words without one that seems half typed ("car" alone, for "card").
 * @param {Asked} asked
 * @param {House} house
 */
function fullWords({ words, unfinished }, house) {
  const last = unfinished ? words.at(-1) ?? "" : "";
  const short = last.length < 3 || words.length === 1;
  return last && short && house.wordsStarting(last).length ? words.slice(0, -1) : words;
}

/**
 * Tell whether a bulletin speaks of a thing in its title or a symptom, not in passing.
 * @param {string[]} thing
 * @param {Subjects} house
 * @param {Wording} wording
 */
function isSubject(thing, house, wording) {
  const [first, ...more] = thing.map((stem) => house.postings(stem));
  const docs = [...first.docs].filter((doc, at) => more.reduce(
    (lines, term) => lines & (term.masks[placeOf(term, doc)] ?? 0), first.masks[at],
  ));
  if (!more.length) return docs.length > 0;
  house.needCards(docs); // the words must stand there in their order
  return docs.some((doc) => {
    const { title, symptoms } = house.cardOf(doc);
    return [title, ...symptoms].some((line) => {
      wording.need(line);
      return ` ${wording.stems(line).join(" ")} `.includes(` ${thing.join(" ")} `);
    });
  });
}
