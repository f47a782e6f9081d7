/**
 * English word forms: the Snowball algorithm "english", edition 3.1.1, as the desk uses it
 * (snowballstemmer 3.1.1). Held to the desk's results word by word in the tests.
 */

const SHORT_WORDS = new Map([
  ["skis", "ski"], ["skies", "sky"], ["idly", "idl"], ["gently", "gentl"], ["ugly", "ugli"],
  ["early", "earli"], ["only", "onli"], ["singly", "singl"],
  ...["andes", "atlas", "bias", "cosmos", "howe", "news", "sky"].map(
    (word) => /** @type {[string, string]} */ ([word, word]),
  ),
]);
const REGION_STARTS = /^(?:arsen|commun|emerg|gener|inter|later|organ|past|univers)/;
const VOWEL = /[aeiouy]/;
const NEXT_REGION = /[aeiouy][^aeiouy]/;

/** Endings of step 2 with what stands in their place; the longest that fits counts. */
const STEP_2 = longestFirst({
  anci: "ance", enci: "ence", ogi: "og", li: "", bli: "ble", abli: "able", alli: "al",
  fulli: "ful", lessli: "less", ousli: "ous", entli: "ent", aliti: "al", biliti: "ble",
  iviti: "ive", tional: "tion", ational: "ate", alism: "al", ation: "ate", ization: "ize",
  izer: "ize", ator: "ate", iveness: "ive", fulness: "ful", ousness: "ous", ogist: "og",
});
const STEP_3 = longestFirst({
  icate: "ic", ative: "", alize: "al", iciti: "ic", ical: "ic", tional: "tion",
  ational: "ate", ful: "", ness: "",
});
const STEP_4 = longestFirst(
  Object.fromEntries(
    ("ic ance ence able ible ate ive ize iti al ism ion er ous ant ent ment ement").split(" ")
      .map((ending) => [ending, ""]),
  ),
);

/**
 * @param {Record<string, string>} table
 * @returns {[string, string][]}
 */
function longestFirst(table) {
  return Object.entries(table).sort(([one], [other]) => other.length - one.length);
}

/**
 * Return the word form that stands for a word in lower case.
 * @param {string} word
 * @returns {string}
 */
export function stemWord(word) {
  const known = SHORT_WORDS.get(word);
  if (known !== undefined) return known;
  if (word.length < 3) return word;
  const marked = consonantY(word.replace(/^'/, ""));
  const [first, second] = regions(marked);
  let stem = step1a(marked);
  stem = step1b(stem, first);
  stem = step1c(stem);
  stem = step2(stem, first);
  stem = step3(stem, first, second);
  stem = step4(stem, second);
  stem = step5(stem, first, second);
  return stem.replaceAll("Y", "y");
}

/**
 * Write a y that stands for a consonant (at the start, or behind a vowel) as Y.
 * @param {string} word
 */
function consonantY(word) {
  let marked = word.replace(/^y/, "Y");
  for (let at = 1; at < marked.length; at += 1) {
    if (marked[at] === "y" && VOWEL.test(marked[at - 1])) {
      marked = `${marked.slice(0, at)}Y${marked.slice(at + 1)}`;
    }
  }
  return marked;
}

/**
 * Return where the regions R1 and R2 of a word begin.
 * @param {string} word
 * @returns {[number, number]}
 */
function regions(word) {
  const given = REGION_STARTS.exec(word);
  const first = given ? given[0].length : regionFrom(word, 0);
  return [first, regionFrom(word, first)];
}

/**
 * @param {string} word
 * @param {number} from
 */
function regionFrom(word, from) {
  const found = NEXT_REGION.exec(word.slice(from));
  return found ? from + found.index + 2 : word.length;
}

/** @param {string} word */
function step1a(word) {
  const bare = word.replace(/(?:'s'|'s|')$/, "");
  if (bare.endsWith("sses")) return bare.slice(0, -2);
  if (/(?:ied|ies)$/.test(bare)) return bare.length > 4 ? bare.slice(0, -2) : bare.slice(0, -1);
  if (/(?:ss|us)$/.test(bare) || !bare.endsWith("s")) return bare;
  return VOWEL.test(bare.slice(0, -2)) ? bare.slice(0, -1) : bare;
}

/**
 * @param {string} word
 * @param {number} first
 */
function step1b(word, first) {
  const found = /(?:eedly|ingly|edly|eed|ing|ed)$/.exec(word);
  if (!found) return word;
  const head = word.slice(0, found.index);
  if (found[0].startsWith("ee")) {
    return found.index >= first && !/^(?:succ|proc|exc)$/.test(head) ? `${head}ee` : word;
  }
  if (found[0] === "ing") {
    if (/^[^aeiouy]y$/.test(head)) return `${head.slice(0, -1)}ie`;
    if (/^(?:even|cann|inn|earr|herr|out)$/.test(head)) return word;
  }
  if (!VOWEL.test(head)) return word;
  if (/(?:at|bl|iz)$/.test(head)) return `${head}e`;
  if (/(?:bb|dd|ff|gg|mm|nn|pp|rr|tt)$/.test(head)) {
    return /^[aeo]..$/.test(head) ? head : head.slice(0, -1);
  }
  return head.length === first && endsShort(head) ? `${head}e` : head;
}

/**
 * Tell whether a word ends in a short syllable.
 * @param {string} word
 */
function endsShort(word) {
  return /[^aeiouy][aeiouy][^aeiouywxY]$/.test(word) || /^[aeiouy][^aeiouy]$/.test(word)
    || word.endsWith("past");
}

/** @param {string} word */
function step1c(word) {
  return /.[^aeiouy][yY]$/.test(word) ? `${word.slice(0, -1)}i` : word;
}

/**
 * @param {string} word
 * @param {number} first
 */
function step2(word, first) {
  const [ending, instead] = STEP_2.find(([each]) => word.endsWith(each)) ?? ["", ""];
  const head = word.slice(0, word.length - ending.length);
  if (!ending || head.length < first) return word;
  if (ending === "ogi" && !head.endsWith("l")) return word;
  if (ending === "li" && !/[cdeghkmnrt]$/.test(head)) return word;
  return head + instead;
}

/**
 * @param {string} word
 * @param {number} first
 * @param {number} second
 */
function step3(word, first, second) {
  const [ending, instead] = STEP_3.find(([each]) => word.endsWith(each)) ?? ["", ""];
  const head = word.slice(0, word.length - ending.length);
  if (!ending || head.length < first) return word;
  if (ending === "ative" && head.length < second) return word;
  return head + instead;
}

/**
 * @param {string} word
 * @param {number} second
 */
function step4(word, second) {
  const [ending] = STEP_4.find(([each]) => word.endsWith(each)) ?? [""];
  const head = word.slice(0, word.length - ending.length);
  if (!ending || head.length < second) return word;
  if (ending === "ion" && !/[st]$/.test(head)) return word;
  return head;
}

/**
 * @param {string} word
 * @param {number} first
 * @param {number} second
 */
function step5(word, first, second) {
  const head = word.slice(0, -1);
  if (word.endsWith("e")) {
    const drops = head.length >= second || (head.length >= first && !endsShort(head));
    return drops ? head : word;
  }
  return word.endsWith("ll") && head.length >= second ? head : word;
}
