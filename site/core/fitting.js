/** Which of the documents that hold something of the line are worth showing, and in what order. */

import { RANK } from "./kleene.js";

/** @typedef {import("./asking.js").Asked} Asked */
/** @typedef {import("./hits.js").Hits} Hits */
/** @typedef {import("./plate.js").Line} Line */
/** @typedef {import("./ranking.js").Ranking} Ranking */
/** @typedef {import("./records.js").Block} Block */

const BEST = 20; // hits that are looked at to tell an answer from noise

/**
 * Return the hits worth showing where no unit is known: none where even the best holds too little
 * of the line.
 * @param {Hits} hits
 * @param {Asked} asked
 * @param {Ranking} ranking
 * @param {number} limit
 */
export function fitting(hits, asked, ranking, limit) {
  const first = hits.best(BEST);
  const share = Math.max(0, ...first.map((doc) => hits.share[doc]));
  const exact = first.length > 0 && hits.exact[first[0]] > 0;
  if (!exact && isNoise(hits, first, share, ranking)) return [];
  if (exact && !asked.words.length) return hits.best(limit, (doc) => hits.exact[doc] > 0);
  const floor = ranking.wording.thresholds.least_share * share;
  return hits.best(limit, (doc) => hits.exact[doc] > 0 || hits.share[doc] >= floor);
}

/**
 * Tell whether too little was found: a small share of the line, and not a telling one. A caller's
 * long story holds much that no bulletin has; two telling words are enough.
 * @param {Hits} hits
 * @param {number[]} first
 * @param {number} share
 * @param {Ranking} ranking
 */
function isNoise(hits, first, share, ranking) {
  const { nothing_share: least, nothing_telling: telling } = ranking.wording.thresholds;
  const most = Math.max(0, ...first.map((doc) => hits.weighed[doc]));
  return share < least && most / ranking.idf("") < telling;
}

/**
 * Return the hits that can apply to the unit: what fits well first, then the rest; in each, yes
 * before maybe. A safety bulletin that fits well stands before all of them. What cannot apply is
 * left out before, so that it does not set the measure; what can is shown to the last, for it is
 * little, and well aimed.
 * @param {Hits} hits
 * @param {Asked} asked
 * @param {Map<number, Line>} lines
 * @param {any} wording  weights and thresholds
 */
export function forUnit(hits, asked, lines, { weights, thresholds }) {
  const [first] = hits.best(1, (doc) => canApply(lines.get(doc)));
  const exactAlone = first !== undefined && hits.exact[first] > 0 && !asked.words.length;
  const docs = hits.docs.filter((doc) => (
    canApply(lines.get(doc)) && (!exactAlone || hits.exact[doc])
  ));
  let best = 0;
  for (const doc of docs) {
    hits.score[doc] *= 1 + weights.narrower * narrowness(lines.get(doc)?.card.where ?? []);
    best = Math.max(best, hits.score[doc]);
  }
  const places = new Map(docs.map((doc) => {
    const { card, answer } = /** @type {Line} */ (lines.get(doc));
    const score = hits.score[doc];
    const safe = card.kind === "safety" && score >= thresholds.safety_first * best;
    const badly = score < thresholds.fits_well * best;
    return [doc, (badly ? 8 : 0) + (safe ? 0 : 4) + RANK[answer.applies]];
  }));
  return docs.sort((one, other) => (
    Number(places.get(one)) - Number(places.get(other))
      || hits.score[other] - hits.score[one] || one - other
  ));
}

/**
 * Tell whether a bulletin can apply to the unit.
 * @param {Line | undefined} line
 */
export function canApply(line) {
  return line !== undefined && line.answer.applies !== "no";
}

/**
 * Return how narrowly a bulletin is aimed: 1 at dates or digits, ½ at models, 0 at families.
 * @param {Block[]} where
 */
function narrowness(where) {
  const narrow = where.some(({ built, serials, revision, plants }) => (
    built || serials.length || revision || plants.length
  ));
  if (narrow) return 1;
  return where.some(({ models }) => models.length) ? 0.5 : 0;
}
