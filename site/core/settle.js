/** Why an answer is yes, no or maybe, and what would settle a maybe, in a technician's words. */

import { sameDays, showDays } from "./dates.js";
import { familyNamed, findings, judgeBlock } from "./judge.js";
import { ALWAYS } from "./records.js";

/** @typedef {import("./judge.js").Condition} Condition */
/** @typedef {import("./judge.js").Way} Way */
/** @typedef {import("./records.js").Block} Block */
/** @typedef {import("./records.js").Count} Count */
/** @typedef {import("./records.js").Days} Days */
/** @typedef {import("./records.js").Verdict} Verdict */

/**
 * A fact that is missing, and what it would have to be.
 * @typedef {{fact: string, wanted: string}} Ask
 */

const NO_SERIAL = "the serial";

/**
 * Return a range of revisions in words: `3 or higher`, `up to 2`, `2 to 4`, `2`.
 * @param {Count | null} count
 */
export function showCount(count) {
  const { low = null, high = null } = count ?? {};
  if (low === null) return high === null ? "any" : `up to ${high}`;
  if (high === null) return `${low} or higher`;
  return low === high ? `${low}` : `${low} to ${high}`;
}

/**
 * Return `a`, `a or b`, `a, b or c`.
 * @param {string[]} words
 */
export function listed(words) {
  return [words.slice(0, -1).join(", "), ...words.slice(-1)].filter(Boolean).join(" or ");
}

/**
 * Return the serial ranges of a block in words.
 * @param {Block} block
 */
export function showSerials({ serials }) {
  return listed(
    serials.map(({ first, last }) => (first === last ? first : `${first} to ${last}`)),
  );
}

/**
 * Return days in words, by week rather than month where the serials tell the week.
 * @param {Days} days
 * @param {Way} way
 */
function shown(days, way) {
  return showDays(days, way.ranges.byWeek(way.reading?.scheme ?? ""));
}

/** @param {string} words */
function inside(words) {
  return words.startsWith("up to") ? `inside the range ${words}` : `inside ${words}`;
}

/**
 * Return `among` and the serial ranges of a block; a lone serial by itself.
 * @param {Block} block
 */
function among(block) {
  const wanted = showSerials(block);
  const ends = new Set(block.serials.flatMap(({ first, last }) => [first, last]));
  return ends.size === 1 ? wanted : `among ${wanted}`;
}

/**
 * Say on which side of the days wanted those of the unit lie, none of which is inside.
 * @param {Days} wanted
 * @param {Way} way
 */
function side({ first, last }, way) {
  if (first !== null && way.built.last !== null && way.built.last < first) {
    return `before ${shown({ first, last: null }, way).replace(/ or later$/, "")}`;
  }
  return `after ${shown({ first: null, last }, way).replace(/^up to /, "")}`;
}

/** @typedef {(block: Block, way: Way, found: Verdict) => string} Why */

/** @type {Record<Condition, Why>} */
const WHY = {
  model(block, { family, model }, found) {
    const { families, models } = block;
    if (found === "yes") {
      if (models.length) return `${model} is named`;
      return families.length ? `all of ${family} is named` : "it is for every model";
    }
    const [wanted, have] = familyNamed(block, family) ? [models, model] : [families, family];
    return `it is for ${listed(wanted)}, not for ${have}`;
  },
  revision(block, { revision }, found) {
    const wanted = showCount(block.revision);
    if (found === "maybe") return `the revision is not known, and only ${wanted} counts`;
    if (revision === null || wanted === "any") return "any revision will do";
    if (wanted === `${revision}`) return `revision ${wanted}`;
    return `revision ${revision}, ${found === "yes" ? inside(wanted) : "not " + wanted}`;
  },
  built(block, way, found) {
    const wanted = block.built ?? ALWAYS;
    const known = `built ${shown(way.built, way)}`;
    const built = way.reading ? known : `every ${way.model} was ${known}`;
    if (found === "no") return `${built}, ${side(wanted, way)}`;
    const range = shown(wanted, way);
    if (found === "yes") return sameDays(wanted, way.built) ? built : `${built}, ${inside(range)}`;
    if (way.reading) return `${built}, only partly ${inside(range)}`;
    return `the build date is not known, and only ${range} counts`;
  },
  plant(block, { plants }, found) {
    const wanted = listed(block.plants);
    if (found === "maybe" || !plants) return `the plant is not known, and only ${wanted} counts`;
    const have = `plant ${listed([...plants].sort())}`;
    return found === "yes" ? have : `${have}, not ${wanted}`;
  },
  serials(block, { reading }, found) {
    const wanted = among(block);
    if (reading) {
      if (found === "maybe") return `the serial may be ${wanted}, which can mean several years`;
      return `the serial is ${found === "yes" ? "" : "not "}${wanted}`;
    }
    return `the serial is not known and ${found === "maybe" ? "could" : "cannot"} be ${wanted}`;
  },
};
/** @type {Condition[]} */
const SAID = ["built", "plant", "serials", "revision", "model"];

/**
 * Return what would settle a condition that is maybe.
 * @param {Condition} name
 * @param {Block} block
 * @param {Way} way
 * @returns {Ask}
 */
function askOf(name, block, way) {
  const fact = way.reading ? "" : NO_SERIAL;
  if (name === "revision") {
    return { fact: "the digit behind the model number", wanted: showCount(block.revision) };
  }
  if (name === "built") {
    const wanted = `built ${shown(/** @type {Days} */ (block.built), way)}`;
    return { fact: fact || "the exact day of production", wanted };
  }
  if (name === "plant") {
    const plant = (way.plants && fact) || "the plant of production";
    return { fact: plant, wanted: `plant ${listed(block.plants)}` };
  }
  const meaning = "the years meant by the serials in the bulletin";
  return { fact: fact || meaning, wanted: showSerials(block) };
}

/**
 * Return what settles an exception that is maybe: it takes all of the asks to be excepted.
 * @param {Ask[]} asked
 * @returns {Ask}
 */
function negated(asked) {
  const fact = [...new Set(asked.map((ask) => ask.fact))].join(" and ");
  const wanted = asked.map((ask) => ask.wanted).join(" together with ");
  const double = asked.length === 1 && wanted.startsWith("not ");
  return { fact, wanted: double ? wanted.slice(4) : `not ${wanted}` };
}

/**
 * Return what would settle a block that is maybe: its own conditions, then its exceptions.
 * @param {Block} block
 * @param {Way} way
 * @returns {Ask[]}
 */
function asks(block, way) {
  const own = [...findings(block, way)].filter(([, found]) => found === "maybe");
  return [
    ...own.map(([name]) => askOf(name, block, way)),
    ...maybes(block.butNot, way).map((other) => negated(asks(other, way))),
  ];
}

/**
 * Return the blocks that are maybe.
 * @param {Block[]} blocks
 * @param {Way} way
 */
function maybes(blocks, way) {
  return blocks.filter((block) => judgeBlock(block, way) === "maybe");
}

/**
 * Return what would turn a maybe of a block into yes or no.
 * @param {Block} block
 * @param {Way} way
 */
function settleBlock(block, way) {
  /** @type {Map<string, Set<string>>} */
  const wanted = new Map();
  for (const ask of asks(block, way)) {
    wanted.set(ask.fact, (wanted.get(ask.fact) ?? new Set()).add(ask.wanted));
  }
  return [...wanted].map(([fact, words]) => `${fact}: ${[...words].join(", ")}`).join("; and ");
}

/**
 * Return what would settle alternatives, one of which is maybe and none yes.
 * @param {Block[]} where
 * @param {Way} way
 */
export function settleWay(where, way) {
  const told = maybes(where, way).map((block) => settleBlock(block, way));
  return [...new Set(told)].join("; or ");
}

/**
 * Return how near a block came to holding, and the condition that fails.
 * @param {Block} block
 * @param {Way} way
 * @returns {[number, string]}
 */
function whyNo(block, way) {
  const found = [...findings(block, way)];
  const rank = found.findIndex(([, verdict]) => verdict === "no");
  if (rank >= 0) return [rank, WHY[found[rank][0]](block, way, "no")];
  const excepted = block.butNot.filter((other) => judgeBlock(other, way) === "yes");
  return [found.length, `excepted: ${reasons(excepted[0], way, "yes")}`];
}

/**
 * @param {Block} block
 * @param {Way} way
 * @param {Verdict} wanted
 */
function reasons(block, way, wanted) {
  const found = findings(block, way);
  if (!block.families.length && !block.models.length && found.size > 1) found.delete("model");
  const told = SAID.filter((name) => found.get(name) === wanted);
  return told.map((name) => WHY[name](block, way, wanted)).join("; ");
}

/**
 * @param {Block} block
 * @param {Way} way
 * @param {string} [to]
 * @returns {string}
 */
function whyMaybe(block, way, to = "") {
  const told = maybes(block.butNot, way).map(
    (other) => `an exception${to} may hold: ${whyMaybe(other, way, " to that")}`,
  );
  return [reasons(block, way, "maybe"), ...told].filter(Boolean).join("; ");
}

/**
 * Return why alternatives are as found for this way a unit can be: the deciding block in words.
 * @param {Block[]} where
 * @param {Way} way
 * @param {Verdict} found
 */
export function whyWay(where, way, found) {
  if (found === "no") {
    let [most, told] = [-1, "it names no unit"];
    for (const [rank, words] of where.map((block) => whyNo(block, way))) {
      if (rank > most) [most, told] = [rank, words];
    }
    return told;
  }
  const block = /** @type {Block} */ (where.find((each) => judgeBlock(each, way) === found));
  return found === "yes" ? reasons(block, way, "yes") : whyMaybe(block, way);
}
