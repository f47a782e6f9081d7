/** Typed text made comparable, and the nearest known name for a mistyped one. */

// White space as the desk knows it, which is not quite what \s means here.
const BLANK = "(?!\\ufeff)[\\s\\x1c-\\x1f\\x85]";
const BLANKS = new RegExp(`(${BLANK})+`, "g");
const EDGES = new RegExp(`^(${BLANK})+|(${BLANK})+$`, "g");
const LOOSE = new RegExp(`${BLANK}|[-.\\u2010-\\u2015\\u2212]`, "g");

/**
 * Return the text without blanks, hyphens, dots and case, as numbers are compared.
 * @param {string} text
 */
export function fold(text) {
  if (/^[0-9A-Z]*$/.test(text)) return text; // as most are; the rest takes its time
  return text.normalize("NFKC").replace(LOOSE, "").toUpperCase();
}

/**
 * Return the text without white space at its ends.
 * @param {string} text
 */
export function strip(text) {
  return text.replace(EDGES, "");
}

/**
 * Return the text with case and runs of white space evened out, as names are compared.
 * @param {string} text
 */
export function foldName(text) {
  return strip(text.normalize("NFKC").replace(BLANKS, " "))
    .replace(/[^\u0131]+/g, (part) => part.toLowerCase().toUpperCase().toLowerCase())
    .replace(/\u03c2/g, "\u03c3");
}

/**
 * Return the known name most like a word, or nothing where none is near enough. Names are as near
 * as the share of characters in their longest common runs (Ratcliff and Obershelp, 1988).
 * @param {string} word
 * @param {Iterable<string>} known
 * @param {number} [cutoff]
 * @returns {string}
 */
export function nearest(word, known, cutoff = 0.6) {
  const asked = [...foldName(word)];
  const counts = tally(asked);
  let [best, bestFolded, found] = [cutoff, "", ""];
  for (const name of known) {
    const folded = foldName(name);
    const other = [...folded];
    if (most(other, asked, counts) < best) continue;
    const near = likeness(other, asked);
    if (near > best || (near === best && folded >= bestFolded)) {
      [best, bestFolded, found] = [near, folded, name];
    }
  }
  return found;
}

/**
 * @param {number} matches
 * @param {string[]} one
 * @param {string[]} other
 */
function share(matches, one, other) {
  const length = one.length + other.length;
  return length ? (2 * matches) / length : 1;
}

/**
 * Return how many times each character stands in a text.
 * @param {string[]} text
 */
function tally(text) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const sign of text) counts.set(sign, (counts.get(sign) ?? 0) + 1);
  return counts;
}

/**
 * Return a quick bound that the likeness of two texts cannot pass.
 * @param {string[]} one
 * @param {string[]} other
 * @param {Map<string, number>} counts  of the other text
 */
function most(one, other, counts) {
  let matches = 0;
  for (const [sign, count] of tally(one)) matches += Math.min(count, counts.get(sign) ?? 0);
  return share(matches, one, other);
}

/**
 * Return how alike two texts are, from 0 to 1, given character by character.
 * @param {string[]} one
 * @param {string[]} other
 */
export function likeness(one, other) {
  return share(common(one, other), one, other);
}

/**
 * Return how many characters lie in the longest common run and, beside it, in those left and right.
 * @param {string[]} one
 * @param {string[]} other
 * @returns {number}
 */
function common(one, other) {
  const [at, to, length] = longestRun(one, other);
  if (!length) return 0;
  const left = common(one.slice(0, at), other.slice(0, to));
  return left + length + common(one.slice(at + length), other.slice(to + length));
}

/**
 * Return where the longest common run begins in both texts, the earliest one, and its length.
 * @param {string[]} one
 * @param {string[]} other
 */
function longestRun(one, other) {
  let [at, to, length] = [0, 0, 0];
  /** @type {number[]} */
  let above = [];
  one.forEach((sign, i) => {
    const runs = other.map((same, j) => (sign === same ? (above[j - 1] ?? 0) + 1 : 0));
    runs.forEach((run, j) => {
      if (run > length) [at, to, length] = [i - run + 1, j - run + 1, run];
    });
    above = runs;
  });
  return [at, to, length];
}
