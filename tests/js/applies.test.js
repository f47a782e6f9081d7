/** What applies to a unit: the shared cases, the logic, what falls due, and the plate. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { answer, canApply, due, possibleDays } from "../../site/core/applies.js";
import { modelMatches, plantsOf } from "../../site/core/judge.js";
import { agreed, every, opposite, some } from "../../site/core/kleene.js";
import { RANK } from "../../site/core/kleene.js";
import { plateJson, plateOf } from "../../site/core/plate.js";
import { listed, showCount } from "../../site/core/settle.js";
import { makeUnit, splitModel } from "../../site/core/units.js";
import { blockOf, daysOf, schemeOf } from "../../site/core/wire.js";
import { block, caseHouse, day, days, load, outcome } from "./casehouse.js";

const SHARED = load("applies.json");
const HOUSE = caseHouse(SHARED.house);
const NOW = day(SHARED.today);

for (const each of SHARED.cases) {
  test(`applies: ${each.name}`, () => {
    const unit = makeUnit(HOUSE, each.model, each.serial ?? "", NOW);
    const found = answer(each.where.map(block), unit, HOUSE, NOW);
    assert.equal(found.applies, each.applies);
    assert.ok(found.why.includes(each.why), found.why);
    assert.ok(found.settle.includes(each.settle ?? ""), found.settle);
    assert.equal(Boolean(found.settle), found.applies === "maybe");
  });
}

test("and, or and not are Kleene's strong logic", () => {
  // Kleene, Introduction to Metamathematics (1952), section 64: the strong tables.
  const order = ["no", "maybe", "yes"];
  for (const one of order) {
    for (const other of order) {
      const both = [order.indexOf(one), order.indexOf(other)];
      assert.equal(every([one, other]), order[Math.min(...both)]);
      assert.equal(some([one, other]), order[Math.max(...both)]);
      assert.equal(agreed([one, other]), one === other ? one : "maybe");
    }
    assert.equal(opposite(one), order[2 - order.indexOf(one)]);
  }
  assert.deepEqual([every([]), some([])], ["yes", "no"]);
});

test("a model is named with its revision behind it", () => {
  assert.deepEqual(splitModel(HOUSE, "td-45 a"), ["TD45A", null]);
  assert.deepEqual(splitModel(HOUSE, "TD45A/3"), ["TD45A", 3]);
  assert.deepEqual(splitModel(HOUSE, "TD45A12"), ["TD45A", 12]);
  assert.deepEqual(outcome(() => splitModel(HOUSE, "TD54A")), {
    message: "no model TD54A is known", remedy: "did you mean TD45A?",
  });
  for (const text of ["TD45A123", "TD45A/", "TD45A-x"]) {
    assert.equal(outcome(() => splitModel(HOUSE, text)).message, `no model ${text} is known`);
  }
  assert.deepEqual(outcome(() => splitModel(HOUSE, " - ")), {
    message: "no model is given", remedy: "check the model number on the rating plate",
  });
});

test("a serial that cannot be read says why, and leaves the unit known by its model", () => {
  const unit = makeUnit(HOUSE, "TD45A3", " KP5700031 ", NOW);
  assert.equal(unit.serial, "KP5700031");
  assert.deepEqual(unit.readings, []);
  assert.match(unit.unreadable, /^serial KP5700031: the third and fourth place are the week/);
  assert.ok(unit.unreadable.includes("; a sound one looks like"));
  assert.equal(makeUnit(HOUSE, "TD45A", " - ", NOW).serial, "");
});

test("patterns know two wild cards and nothing else", () => {
  assert.ok(modelMatches("td-45*", "TD45A") && modelMatches("?D45A", "td 45 a"));
  for (const pattern of ["[A-Z]D45A", "TD45+", "TD45", "D45A", "TD45(A)", "TD45A|x", "^TD45A$"]) {
    assert.ok(!modelMatches(pattern, "TD45A"), pattern);
  }
  assert.ok(modelMatches("A/B\\C{2}$", "a/b\\c{2}$"));
});

test("plants are known where every scheme names them", () => {
  const named = { codes: ["K", "l"] };
  assert.deepEqual(plantsOf([{ scheme: named }, { scheme: { codes: ["K"] } }]), ["K", "L"]);
  assert.equal(plantsOf([{ scheme: named }, { scheme: { codes: [] } }]), null);
  assert.equal(plantsOf([]), null);
});

test("a block that names nothing is open to every model; no block is to none", () => {
  assert.ok(canApply([block({})], "Tarn", "TD45A"));
  assert.ok(!canApply([], "Tarn", "TD45A"));
  assert.equal(answer([], makeUnit(HOUSE, "TD45A", "", NOW), HOUSE, NOW).why, "it names no unit");
});

test("words for lists and revisions", () => {
  assert.equal(listed(["a", "b", "c"]), "a, b or c");
  assert.equal(listed([]), "");
  const range = (low, high) => showCount({ low, high });
  const shown = [range(2, 4), range(2, 2), range(null, 3), range(0, null), range(null, null)];
  assert.deepEqual(shown, ["2 to 4", "2", "up to 3", "0 or higher", "any"]);
});

const DUE = [
  ["KM1400001", 5, "2026-11-25", "yes"], // built 2020-03-30 to 2020-04-05
  ["KM1400001", 5, "2025-04-05", "yes"],
  ["KM1400001", 5, "2025-04-04", "maybe"],
  ["KM1400001", 5, "2025-03-29", "no"],
  ["KM1400001", 0.5, "2020-10-05", "yes"],
  ["KM0900001", 1, "2021-02-28", "maybe"], // a leap day inside
  ["KM0900001", 1, "2021-03-01", "yes"],
  ["", 5, "2026-11-25", "maybe"],
  ["", 5, "2021-08-31", "no"], // production began on 2016-09-01
];
for (const [serial, years, today, wanted] of DUE) {
  test(`${serial || "no serial"} at ${years} years on ${today}: ${wanted}`, () => {
    const unit = makeUnit(HOUSE, "TD45A", serial, day(today));
    assert.equal(due({ years, advice: "" }, unit, day(today)), wanted);
  });
}

test("planned production is what can be known of a model to come", () => {
  assert.deepEqual(possibleDays(HOUSE.families.get("Cairn"), NOW), days("2027.."));
  assert.deepEqual(possibleDays(HOUSE.families.get("Tarn"), NOW), days("2016-09..2026-11-25"));
});

test("the same unit is judged anew on another day", () => {
  const where = [block({ built: "2025.." })];
  const unit = makeUnit(HOUSE, "TD45A", "", NOW);
  assert.equal(answer(where, unit, HOUSE, NOW).applies, "maybe");
  assert.equal(answer(where, unit, HOUSE, day("2024-05-01")).applies, "no");
});

/** @param {[string, string, object][]} cards */
function withCards(cards) {
  const all = cards.map(([number, kind, where], doc) => {
    return { doc, number, kind, where: [block(where)], age: null, title: `About ${number}` };
  });
  const asked = [];
  const cardOf = (doc) => all[doc];
  return { ...HOUSE, cardsFor: () => all, needCards: (docs) => asked.push(docs), cardOf, asked };
}

test("a plate lists yes before maybe before no, safety first in each, else as in the house", () => {
  const house = withCards([
    ["1", "repair", { built: "2021" }],
    ["2", "safety", { revision: "3.." }],
    ["3", "repair", {}],
    ["4", "normal", { revision: "2" }],
    ["5", "safety", {}],
  ]);
  const plate = plateOf(house, makeUnit(house, "TD45A", "KP1400031", NOW), NOW);
  assert.deepEqual(plate.lines.map(({ card }) => card.number), ["5", "3", "2", "4", "1"]);
  assert.deepEqual(RANK, { yes: 0, maybe: 1, no: 2 });
  const shown = plateJson(house, plate);
  assert.deepEqual(shown.bulletins.map(({ title }) => title), [
    "About 5", "About 3", "About 2", "About 4",
  ]);
  assert.deepEqual(house.asked, [[4, 2, 1, 3]]); // all cards in one go
  assert.equal(plateJson(house, plate, true).bulletins.length, 5);
  assert.deepEqual(shown.readings, [
    { scheme: "hollin", plant: "K", built: { from: "2022-04-04", to: "2022-04-10" }, sequence: 31 },
  ]);
});

test("only a bulletin with advice by age says whether it is due", () => {
  const house = withCards([["1", "repair", {}], ["2", "repair", {}]]);
  house.cardOf(0).age = { years: 2, advice: "Renew the hose" };
  const plate = plateOf(house, makeUnit(house, "TD45A", "KP1400031", NOW), NOW);
  const [one, other] = plateJson(house, plate).bulletins;
  assert.deepEqual([one.due, one.advice], ["yes", "Renew the hose"]);
  assert.ok(!("due" in other));
});

test("what publishing leaves out of a block was not given", () => {
  assert.deepEqual(blockOf({}), block({}));
  assert.deepEqual(
    blockOf({
      families: ["Tarn"], models: ["TD*"], revision: [2, null], built: ["2024-03-04", null],
      plants: ["K"], serials: [["A", "B"]], but_not: [{ plants: ["L"] }],
    }),
    block({
      family: ["Tarn"], models: ["TD*"], revision: "2..", built: "2024-03-04..", plant: ["K"],
      serials: ["A..B"], except: [{ plant: ["L"] }],
    }),
  );
  assert.deepEqual(daysOf([null, "1970-01-01"]), { first: null, last: 0 });
});

test("digits keep their order among the plants of a scheme", () => {
  const given = { layout: "P YY", plants: { 2: "two", 1: "one" }, codes: ["2", "1"], used: [] };
  assert.deepEqual(schemeOf("s", given).codes, ["2", "1"]);
  assert.equal(schemeOf("s", given).layout, "PYY");
});
