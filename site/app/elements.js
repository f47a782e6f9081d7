/** Elements made and found: the few words that every module of the pages needs. */

/**
 * Return a new element. Attributes that are null are left out; strings inside become text.
 * @template {keyof HTMLElementTagNameMap} N
 * @param {N} name
 * @param {Record<string, string | null>} [attributes]
 * @param {...(string | Node | null)} inside
 * @returns {HTMLElementTagNameMap[N]}
 */
export function make(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null) made.setAttribute(key, value);
  }
  made.append(...inside.filter((each) => each !== null));
  return made;
}

/**
 * Return a button that does something; it is no part of a form's sending.
 * @param {string} words
 * @param {() => void} act
 * @param {Record<string, string | null>} [attributes]
 */
export function button(words, act, attributes = {}) {
  const made = make("button", { type: "button", ...attributes }, words);
  made.addEventListener("click", act);
  return made;
}

/**
 * Return what an element says, blanks made even; "" for none.
 * @param {Element | null | undefined} element
 */
export function textOf(element) {
  return (element?.textContent ?? "").replace(/\s+/g, " ").trim();
}
