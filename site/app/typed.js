/** What is typed, sent and shared as a line; pure, so that it can be held by tests. */

/**
 * Return how many letters and digits a text has, counted up to two.
 * @param {string} text
 */
export function letters(text) {
  return text.match(/[\p{L}\p{N}]/gu)?.slice(0, 2).length ?? 0;
}

/**
 * Tell whether a line came from another by going on with it or by mending it, rather than by
 * being put in its place: "TD45A" grown to "TD45AX", or cut back to "TD45".
 * @param {string} before
 * @param {string} after
 */
export function isCorrection(before, after) {
  const [old, now] = [before.trim(), after.trim()];
  if (!now) return false;
  let alike = 0;
  while (alike < now.length && old[alike] === now[alike]) alike += 1;
  return alike >= Math.min(2, old.length);
}

/**
 * Return the question that the query of an address asks: a text shared from elsewhere too, an
 * address or a title where nothing else is shared.
 * @param {string} search
 */
export function questionIn(search) {
  const asked = new URLSearchParams(search);
  const first = ["q", "text", "t", "url", "title"].map((name) => asked.get(name)?.trim() ?? "");
  const [model, serial] = ["model", "serial"].map((name) => asked.get(name)?.trim() ?? "");
  const text = first.find(Boolean) ?? "";
  return { text: text.replace(/\s+/g, " ").slice(0, 500), model, serial };
}

/**
 * Return the address that asks a line for a unit.
 * @param {{pathname: string, hash: string}} place
 * @param {string} text
 * @param {{model: string, serial: string}} plate
 */
export function addressOf({ pathname, hash }, text, { model, serial }) {
  const asked = new URLSearchParams();
  if (text.trim()) asked.set("q", text.trim());
  if (model) asked.set("model", model);
  if (model && serial) asked.set("serial", serial);
  const query = asked.toString();
  return pathname + (query && `?${query}`) + hash;
}
