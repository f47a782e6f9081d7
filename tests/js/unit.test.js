/** The unit at hand, on phones that keep something and on those that do not. */

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { dropUnit, keepUnit, readUnit, unitFrom } from "../../site/app/unit.js";

/** @type {Map<string, string>} */
const kept = new Map();
const store = {
  full: false,
  getItem: (/** @type {string} */ key) => kept.get(key) ?? null,
  setItem(/** @type {string} */ key, /** @type {string} */ value) {
    if (store.full) throw new DOMException("full", "QuotaExceededError");
    kept.set(key, value);
  },
  removeItem: (/** @type {string} */ key) => kept.delete(key),
};

/** @param {unknown} value */
function storage(value) {
  Object.defineProperty(globalThis, "localStorage", { value, configurable: true });
}

beforeEach(() => {
  storage(store);
  store.full = false;
  kept.clear();
  dropUnit();
});

test("a unit holds until it is taken off", () => {
  assert.equal(readUnit(), null);
  keepUnit("TD45A/3", "KP1400031");
  const { model, serial, at } = readUnit() ?? {};
  assert.deepEqual([model, serial], ["TD45A/3", "KP1400031"]);
  assert.match(at ?? "", /^\d{4}-\d\d-\d\d$/);
  keepUnit("CW8A", "");
  assert.equal(readUnit()?.model, "CW8A");
  dropUnit();
  assert.equal(readUnit(), null);
});

test("it is kept under the name that other pages read", () => {
  keepUnit("TD45A", "K1");
  assert.deepEqual([...kept.keys()], ["fb-unit"]);
  assert.deepEqual(Object.keys(JSON.parse(kept.get("fb-unit") ?? "")), ["model", "serial", "at"]);
});

test("where nothing can be kept it holds for the page", () => {
  store.full = true;
  keepUnit("TD45A", "");
  assert.equal(readUnit()?.model, "TD45A");
  store.full = false;
  keepUnit("CW8A", "");
  assert.equal(readUnit()?.model, "CW8A");
});

test("a browser without any storage at all is no trouble", () => {
  storage(undefined);
  assert.equal(readUnit(), null);
  keepUnit("TD45A", "");
  assert.equal(readUnit()?.model, "TD45A");
  dropUnit();
  assert.equal(readUnit(), null);
});

test("a unit taken off where storage is full does not come back", () => {
  keepUnit("TD45A", "");
  storage({ ...store, removeItem: () => { throw new Error("no"); } });
  dropUnit();
  assert.equal(readUnit(), null);
});

test("what is no unit is none", () => {
  const bad = [null, "", "x", "null", "3", "[]", "{}", "{\"model\": 3}", "{\"model\": \" \"}",
    "{\"model\": \"TD45A\", \"serial\": 4}"];
  for (const text of bad) assert.equal(unitFrom(text), null, String(text));
  assert.deepEqual(unitFrom("{\"model\": \"TD45A\"}"), { model: "TD45A", serial: "", at: "" });
});
