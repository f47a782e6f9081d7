/** What a rightly spelled word or phrase stands for: itself, its rings, words near it. */

/** @typedef {import("./wording.js").Wording} Wording */

/**
 * A term that stands for an asked word, with the factor by which a match of it counts. `through`
 * says how: `own`, `ring`, `spelling`, `start` (the beginning of a word), `near`, `joined` or
 * `split`; `shown` is the word found.
 * @typedef {{term: string, factor: number, through: string, shown: string}} Variant
 */

/**
 * Return a term that stands for an asked word.
 * @param {string} term
 * @param {number} factor
 * @param {string} through
 * @param {string} [shown]
 * @returns {Variant}
 */
export function variant(term, factor, through, shown = "") {
  return { term, factor, through, shown };
}

/**
 * Return what a rightly spelled word stands for: itself, its rings, words near it.
 * @param {Wording} wording
 * @param {string} text
 * @param {string} stem
 * @param {number} [factor]
 * @returns {Variant[]}
 */
export function sure(wording, text, stem, factor = 1) {
  const { own, ring: ringFactor } = wording.weights;
  return [
    variant(stem, factor * own, factor === 1 ? "own" : "", text),
    ...wording.phrases([stem]).flatMap(({ rings }) => rings.map((ring) => (
      variant(`~${ring}`, factor * ringFactor, "ring")
    ))),
    ...wording.near(stem).map(([other, weight]) => (
      variant(other, factor * weight, "near", other)
    )),
  ];
}

/**
 * Return the rings in which stems stand together as one phrase.
 * @param {Wording} wording
 * @param {string[]} stems
 * @returns {Variant[]}
 */
export function phraseRings(wording, stems) {
  return wording.phrases(stems)
    .filter(({ start, end }) => end - start === stems.length)
    .flatMap(({ rings }) => rings.map((ring) => (
      variant(`~${ring}`, wording.weights.ring, "ring")
    )));
}
