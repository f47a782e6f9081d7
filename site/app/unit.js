/**
 * The unit at hand: the plate that every page answers for until it is taken off. It is kept on the
 * phone; where the phone keeps nothing it holds as long as the page is open.
 */

/**
 * A plate as typed, with the day on which it was kept; `serial` is "" where none was given.
 * @typedef {{model: string, serial: string, at: string}} KeptUnit
 */

const KEY = "fb-unit";

/** @type {KeptUnit | null | undefined} what stands where storage refuses; undefined: it did not */
let here;

/**
 * Return the unit at hand, null for none.
 * @returns {KeptUnit | null}
 */
export function readUnit() {
  if (here !== undefined) return here;
  try {
    return unitFrom(localStorage.getItem(KEY));
  } catch {
    return null;
  }
}

/**
 * Keep a unit until it is taken off or another one takes its place.
 * @param {string} model  with its digit, as "TD45A/3"
 * @param {string} serial  "" for none
 */
export function keepUnit(model, serial) {
  /** @type {KeptUnit} */
  const unit = { model, serial, at: new Date().toISOString().slice(0, 10) };
  store(unit, () => localStorage.setItem(KEY, JSON.stringify(unit)));
}

/** Take the unit off. */
export function dropUnit() {
  store(null, () => localStorage.removeItem(KEY));
}

/**
 * @param {KeptUnit | null} unit
 * @param {() => void} act
 */
function store(unit, act) {
  try {
    act();
    here = undefined;
  } catch {
    here = unit;
  }
}

/**
 * Return the unit that a kept text stands for, null for none and for what is none.
 * @param {string | null} text
 * @returns {KeptUnit | null}
 */
export function unitFrom(text) {
  try {
    const { model, serial = "", at = "" } = Object(JSON.parse(text ?? "null"));
    const sound = [model, serial, at].every((each) => typeof each === "string") && model.trim();
    return sound ? { model, serial, at } : null;
  } catch {
    return null;
  }
}
