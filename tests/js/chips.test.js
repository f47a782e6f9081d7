/** The chips for what was understood. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { chipsOf } from "../../site/app/chips.js";

const ASKED = { codes: [], unknownCodes: [], parts: [], numbers: [], model: "", serial: "" };
const READING = { shown: "2022-W14", plantName: "Kirkholm works" };
const UNIT = {
  model: "TD45A", revision: 3, serial: "KP1400031", unreadable: "", readings: [READING],
};

/** @param {any} found */
function lines(found) {
  return chipsOf({ asked: ASKED, unit: null, ...found })
    .map(({ name, words, note }) => `${name} ${words}${note ? ` (${note})` : ""}`);
}

test("nothing understood gives no chip", () => {
  assert.deepEqual(lines({}), []);
});

test("a unit is two chips: its model with the digit, and when it was built", () => {
  assert.deepEqual(lines({ unit: UNIT }), ["model TD45A, digit 3", "built 2022-W14, Kirkholm works"]);
  const bare = { ...UNIT, revision: null, serial: "", readings: [] };
  assert.deepEqual(lines({ unit: bare }), ["model TD45A"]);
  assert.deepEqual(lines({ unit: { ...UNIT, revision: 0 } })[0], "model TD45A, digit 0");
});

test("several ways to read a serial are all told", () => {
  const readings = [{ ...READING, shown: "2012-W14" }, READING];
  assert.equal(lines({ unit: { ...UNIT, readings } })[1], "built 2012-W14 or 2022-W14, Kirkholm works");
});

test("a serial that cannot be read says why, without saying its name twice", () => {
  const unreadable = "serial KZ1: too short; a sound one looks like K P 14 00031";
  const unit = { ...UNIT, serial: "KZ1", readings: [], unreadable };
  assert.deepEqual(lines({ unit })[1],
    "serial KZ1 (cannot be read: too short; a sound one looks like K P 14 00031)");
  assert.match(lines({ unit: { ...unit, unreadable: "no scheme" } })[1], /cannot be read: no scheme/);
});

test("a serial alone, codes, parts and bulletins have a chip each", () => {
  const asked = {
    ...ASKED, serial: "KP1400031", codes: ["E21", "E99"], unknownCodes: ["E99"],
    parts: ["HR-310-4120"], numbers: ["2026-014"],
  };
  assert.deepEqual(lines({ asked }), [
    "serial KP1400031", "code E21", "code E99 (no bulletin knows it)", "part HR-310-4120",
    "bulletin 2026-014",
  ]);
});

test("a model that nobody knows stands there with what is wrong", () => {
  const trouble = "no model TD99 is known: did you mean TD90?";
  assert.deepEqual(lines({ trouble, given: "TD99" }), [`model TD99 (${trouble})`]);
});

test("what is taken off is named as it was understood", () => {
  const chips = chipsOf({ asked: { ...ASKED, codes: ["E21"] }, unit: UNIT });
  assert.deepEqual(chips.map(({ sort, value }) => [sort, value]),
    [["model", "TD45A"], ["serial", "KP1400031"], ["code", "E21"]]);
});
