/** Serials and folded text: the shared cases, and places one by one. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { fold, foldName, nearest, strip } from "../../site/core/folding.js";
import { begins, ordinal, places, takeApart } from "../../site/core/places.js";
import { looksLike, readSerial, usesOf } from "../../site/core/serials.js";
import { day, days, load, outcome, scheme } from "./casehouse.js";

const SHARED = load("serials.json");
const SCHEMES = Object.fromEntries(
  Object.entries(SHARED.schemes).map(([name, entry]) => [name, scheme(name, entry)]),
);

/** @param {any} entry */
function read({ uses, serial, today }) {
  const all = Object.entries(uses).map(([of, used]) => ({ scheme: SCHEMES[of], days: days(used) }));
  return readSerial(serial, all, day(today));
}

for (const each of SHARED.cases.filter(({ readings }) => readings)) {
  test(`serial: ${each.name}`, () => {
    const wanted = each.readings.map(({ built, code = built, ...rest }) => {
      return { ...rest, built: days(built), codeDays: days(code) };
    });
    assert.deepEqual(read(each), wanted);
  });
}

for (const each of SHARED.cases.filter(({ error }) => error)) {
  test(`no serial: ${each.name}`, () => {
    const refused = outcome(() => read(each));
    assert.ok(refused.message.includes(each.error), refused.message);
    assert.ok(refused.remedy.startsWith("a sound one looks like"));
  });
}

test("a family without a scheme has no serials to read", () => {
  const refused = outcome(() => readSerial("KP1400031", [], day("2026-11-25")));
  assert.equal(refused.message, "no serial scheme is known for this model");
  assert.equal(refused.remedy, "leave the serial out");
});

test("a scheme is used where its own days, the family's use and the production meet", () => {
  const schemes = new Map(Object.entries(SCHEMES));
  const named = (name, used) => ({ name, used: days(used) });
  const family = {
    produced: days("2012..2020"),
    schemes: [named("fell", "2013.."), named("beck", "..2018"), named("lost", "")],
  };
  const uses = usesOf(family, schemes);
  assert.deepEqual(uses.map((use) => use.scheme.name), ["fell"]); // beck began in 2019
  assert.deepEqual(uses[0].days, days("2013..2020"));
});

test("the places of a layout are counted, and named by ordinals", () => {
  assert.deepEqual([...places("PYWWN")], [["P", [0]], ["Y", [1]], ["W", [2, 3]], ["N", [4]]]);
  assert.equal(ordinal(1), "first");
  assert.equal(ordinal(20), "twentieth");
  assert.deepEqual([21, 22, 23, 24, 30].map(ordinal), ["21st", "22nd", "23rd", "24th", "30th"]);
});

test("parts of a serial are null where the layout has no such place", () => {
  const { plant, year, week, ...none } = takeApart("KP1400031", SCHEMES.hollin);
  assert.deepEqual([plant, year, week], ["K", "P", 14]);
  assert.deepEqual(none, { month: null, day: null, yearday: null, sequence: 31 });
  assert.deepEqual(takeApart("KP", SCHEMES.hollin), {
    message: "it has 2 places instead of 9", rightLength: false, sound: 2,
  });
});

test("a sound serial names its places", () => {
  const { hollin } = SCHEMES;
  assert.equal(
    looksLike({ ...hollin, sample: "K P 14 00031" }),
    "a sound one looks like K P 14 00031: plant, year, week, number",
  );
});

test("the beginning of a serial is sound so far and shorter", () => {
  const { hollin } = SCHEMES;
  for (const text of ["K", "KP", "KP1", "KP14000"]) assert.ok(begins(text, hollin), text);
  for (const text of ["Q", "KPA", "KP1400031", "KP1400031X", "KP57"]) {
    assert.ok(!begins(text, hollin), text);
  }
});

test("numbers fold to what is compared", () => {
  assert.equal(fold(" k-p.14\u201300031 "), "KP1400031");
  assert.equal(fold("\uff2b\uff30\u00a014"), "KP14");
  assert.equal(fold("stra\u00dfe"), "STRASSE");
  assert.equal(strip("\u3000 a b\u0085\n"), "a b");
});

test("names fold by case and white space alone", () => {
  assert.equal(foldName("  Drain \t PUMP "), "drain pump");
  assert.equal(foldName("Gro\u00dfe"), foldName("GROSSE"));
  assert.equal(foldName("\u03a3\u03bf\u03c2"), "\u03c3\u03bf\u03c3"); // a sigma is a sigma
  assert.notEqual(foldName("\u0131"), foldName("i"));
});

test("the nearest name is near enough or there is none", () => {
  const models = ["TD45A", "TD45B", "CW9D", "MR36D"];
  assert.equal(nearest("TD54A", models), "TD45A");
  assert.equal(nearest("zzz", models), "");
  assert.equal(nearest("", models), "");
  assert.equal(nearest("TD45", models), "TD45B"); // of two as near, the last by name
  assert.equal(nearest("cw9", models, 0.9), "");
});
