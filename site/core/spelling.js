/**
 * Slips of the finger and words written by ear: how far apart two words are, and how they sound.
 */

/**
 * Letter groups that sound alike, levelled in this order; what is left of the vowels is dropped.
 * @type {[RegExp, string][]}
 */
const SOUNDS = [
  [/^(?:kn|gn)/, "n"], [/^wr/, "r"], [/^wh/, "w"], [/^ps/, "s"], [/ph/g, "f"], [/ough/g, "o"],
  [/igh/g, "i"], [/gh(?=[aeiouy])/g, "g"], [/gh/g, "f"], [/tch|ch|sh|[st]ion/g, "x"],
  [/dg(?=[eiy])/g, "j"], [/g(?=[eiy])/g, "j"], [/c(?=[eiy])/g, "s"], [/ck|c|q/g, "k"],
  [/z/g, "s"], [/th/g, "t"], [/mb$/, "m"], [/[hw](?![aeiouy])/g, ""],
  [/(?<=[aeiouy])[aeiouyw]+/g, ""], [/(.)\1+/g, "$1"],
];

/**
 * Return how a word sounds, roughly: words written by ear share it (`seezed`, `seized`).
 * @param {string} word
 * @returns {string}
 */
export function sound(word) {
  let heard = word;
  for (const [pattern, instead] of SOUNDS) heard = heard.replace(pattern, instead);
  const first = heard.replace(/^[aeiouy]/, "a");
  return first.replace(/(?<!^)[aeiouy]/g, "").replace(/(.)\1+/g, "$1");
}

/**
 * Return the edits between two words: insert, drop, change or swap of neighbours (each 1). Optimal
 * string alignment; gives up with `most + 1` as soon as the words are further apart.
 * @param {string} one
 * @param {string} other
 * @param {number} most
 * @returns {number}
 */
export function distance(one, other, most) {
  if (Math.abs(one.length - other.length) > most) return most + 1;
  /** @type {number[]} */
  let last = [];
  let before = last;
  let row = Array.from({ length: other.length + 1 }, (_, at) => at);
  for (let i = 1; i <= one.length; i += 1) {
    [last, before, row] = [before, row, [i]];
    let least = i;
    for (let j = 1; j <= other.length; j += 1) {
      const changed = one[i - 1] === other[j - 1] ? 0 : 1;
      let cost = Math.min(before[j] + 1, row[j - 1] + 1, before[j - 1] + changed);
      if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) {
        cost = Math.min(cost, last[j - 2] + 1);
      }
      row.push(cost);
      if (cost < least) least = cost;
    }
    if (least > most) return most + 1;
  }
  return Math.min(row[other.length], most + 1);
}

/**
 * Return the set of letters of a word as bits: a cheap test before the exact distance.
 * @param {string} word
 */
function letters(word) {
  let bits = 0;
  for (let at = 0; at < word.length; at += 1) bits |= 1 << (word.charCodeAt(at) & 31);
  return bits;
}

/** @param {number} bits */
function bitCount(bits) {
  let count = 0;
  for (let left = bits; left; left &= left - 1) count += 1;
  return count;
}

/**
 * Return the known words at most `most` edits away, as [edits, word], the nearest first.
 * @param {string} word
 * @param {Iterable<string>} known
 * @param {number} most
 * @returns {[number, string][]}
 */
export function slips(word, known, most) {
  const bits = letters(word);
  /** @type {[number, string][]} */
  const found = [];
  for (const other of known) {
    if (Math.abs(other.length - word.length) > most) continue;
    if (bitCount(bits ^ letters(other)) > 2 * most) continue;
    const apart = distance(word, other, most);
    if (apart <= most) found.push([apart, other]);
  }
  return found.sort((a, b) => a[0] - b[0] || compare(a[1], b[1]));
}

/**
 * Order two texts by their characters, as the desk does: for `sort`.
 * @param {string} one
 * @param {string} other
 * @returns {number}
 */
export function compare(one, other) {
  if (one === other) return 0;
  return one < other ? -1 : 1;
}
