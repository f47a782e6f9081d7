/** Numbers made fit for folder names: what a page's address is called. */

const SAFE = /^[A-Za-z0-9][A-Za-z0-9.-]*$/;
const RESERVED = /^(?:con|prn|aux|nul|com[0-9]|lpt[0-9]|index)(?:\..*)?$/i;
const LONGEST = 80;

/**
 * Return a name as a folder name: lower-case letters and digits of any script, single hyphens.
 * @param {string} name
 */
export function slug(name) {
  const text = name.normalize("NFKC").replaceAll("ß", "ss").toLowerCase();
  const kept = text.replaceAll("'", "").replace(/[^\p{L}\p{N}\p{M}]+/gu, "-");
  const bytes = new TextEncoder().encode(trimmed(kept)).subarray(0, LONGEST);
  const made = trimmed(new TextDecoder().decode(bytes).replace(/\ufffd+$/, ""));
  return unreserved(made || "x");
}

/** @param {string} text */
function trimmed(text) {
  return text.replace(/^-+|-+$/g, "");
}

/**
 * Return a bulletin's, model's or part's number as the folder of its page: as written, if safe.
 * @param {string} number
 */
export function folderName(number) {
  const safe = SAFE.test(number) && !number.endsWith(".") && number.length <= LONGEST;
  return safe ? unreserved(number) : slug(number);
}

/** @param {string} name */
function unreserved(name) {
  if (!RESERVED.test(name)) return name;
  return name.includes(".") ? name.replaceAll(".", "-") : `${name}-`;
}

/**
 * Return the address below the site of the page in these folders.
 * @param {...string} steps
 */
export function address(...steps) {
  return [...steps, "index.html"].map(encodeURIComponent).join("/");
}
