/** Whole answers to the letter, and what words and readings do at their edges. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { answer, possibleDays, waysOf } from "../../site/core/applies.js";
import { showDays } from "../../site/core/dates.js";
import { findings, judgeBlock } from "../../site/core/judge.js";
import { meanings, Ranges, readEnd } from "../../site/core/ranges.js";
import { daysIn, takeApart, years } from "../../site/core/places.js";
import { readSerial } from "../../site/core/serials.js";
import { makeUnit } from "../../site/core/units.js";
import { block, caseHouse, day, days, load, outcome, scheme } from "./casehouse.js";

const { answers, plates } = load("answers.json");
const SHARED = load("applies.json");
const HOUSE = caseHouse(SHARED.house);
const NOW = day(SHARED.today);
const USE = { scheme: HOUSE.schemes.get("hollin"), days: days("2016-09..") };

for (const [where, model, serial, applies, why, settle] of answers) {
  test(`${JSON.stringify(where)} for ${model} ${serial}: ${applies}`, () => {
    const unit = makeUnit(HOUSE, model, serial, NOW);
    assert.deepEqual(answer(where.map(block), unit, HOUSE, NOW), { applies, why, settle });
  });
}

for (const { model, serial, ...wanted } of plates) {
  test(`plate ${model} ${serial} is ${wanted.message ?? wanted.named}`, () => {
    const found = outcome(() => makeUnit(HOUSE, model, serial, NOW));
    if (wanted.message) {
      assert.deepEqual(found, wanted);
      return;
    }
    const [unreadable] = found.unreadable.split("; a sound one looks like");
    const readings = found.readings.map(({ scheme: name, plant, built, sequence }) =>
      [name, plant, showDays(built, true), sequence].map(String).join(" | "),
    );
    assert.equal(unreadable, wanted.unreadable ?? "");
    assert.deepEqual(readings, wanted.readings ?? []);
    assert.deepEqual([found.model, found.revision], [wanted.named, wanted.revision]);
  });
}

test("readings stand in the order of their days, of equal beginnings the shorter first", () => {
  const of = (name, layout, used) => scheme(name, { layout, used });
  const uses = [
    { scheme: of("year", "YY XX N"), days: days("2000..2019") },
    { scheme: of("month", "YY MM N"), days: days("2000..2019") },
    { scheme: of("early", "XX YY N"), days: days("2000..2019") },
  ];
  const found = readSerial("09 01 7", uses, NOW);
  assert.deepEqual(found.map((each) => each.scheme), ["early", "month", "year"]);
});

test("two ways to the same reading are one reading", () => {
  const twice = [USE, { scheme: USE.scheme, days: days("2020..") }];
  assert.equal(readSerial("KP1400031", twice, NOW).length, 1);
});

test("years of one digit come round every ten, in and next to the window", () => {
  const beck = HOUSE.schemes.get("beck");
  const code = takeApart("S07300412", beck);
  assert.deepEqual(years(code, beck, days("2012..2024")), [2013, 2023]);
  assert.deepEqual(years(code, beck, days("2014..2022")), [2013, 2023]); // next to it
  assert.deepEqual(years(code, beck, days("2015..2021")), []);
});

test("letters of the year begin with the first year and come round", () => {
  const { scheme: hollin } = USE;
  const code = takeApart("KA1400031", hollin);
  assert.deepEqual(years(code, hollin, days("..2051")), [2010, 2030, 2050]);
  assert.equal(years(code, hollin, days("..2009")).length, 1); // 2010 is next to it
  assert.equal(years(code, hollin, days("..2008")).length, 0);
});

test("a day that the year does not have stands for none", () => {
  const dated = scheme("dated", { layout: "YYYY MM DD N" });
  const code = takeApart("202302291", dated);
  assert.equal(daysIn(code, dated, 2023), null);
  assert.deepEqual(daysIn(code, dated, 2024), days("2024-02-29"));
});

test("a week and a day of the month together are the days that fit both", () => {
  const both = scheme("both", { layout: "YY WW DD" });
  assert.deepEqual(daysIn(takeApart("221405", both), both, 2022), days("2022-04-05"));
  assert.equal(daysIn(takeApart("221425", both), both, 2022), null);
  const month = scheme("month", { layout: "YY WW MM" });
  assert.deepEqual(daysIn(takeApart("221304", month), month, 2022), days("2022-04-01..2022-04-03"));
});

test("an end of a range is looked for up to today, then soon, then before the production", () => {
  const read = (text) => readEnd(text, USE, NOW).map(({ codeDays }) => showDays(codeDays, true));
  assert.deepEqual(read("KP1400031"), ["2022-W14"]);
  assert.deepEqual(read("KW1400031"), ["2028-W14"]); // announced ahead
  assert.deepEqual(read("KB1400031"), ["2011-W14"]); // before the family did begin
  assert.deepEqual(read("KX1400031"), ["2029-W14"]); // the far future: the nearest day
  assert.deepEqual(read("nonsense"), []);
});

test("the ends of a range share a plant and stand in order", () => {
  const count = (first, last) => meanings({ first, last }, USE, NOW).length;
  assert.equal(count("KP1400031", "KP2200100"), 1);
  assert.equal(count("KP1400031", "KP1400031"), 1);
  assert.equal(count("KP1400031", "KP1400030"), 0);
  assert.equal(count("KP1400031", "KP1300031"), 0);
  assert.equal(count("KP1400031", "LP2200100"), 0);
  assert.equal(count("KP1400031", "?"), 0);
});

test("a single serial of two decades has two meanings, each by itself", () => {
  const beck = { scheme: HOUSE.schemes.get("beck"), days: days("2010..") };
  const found = meanings({ first: "S07300412", last: "s-073-00412" }, beck, NOW);
  assert.deepEqual(found.map((ends) => showDays(ends.days)), [
    "2013-02-12 to 2013-02-18", "2023-02-12 to 2023-02-18",
  ]);
});

test("ranges are known by scheme, and tell whether weeks are", () => {
  const other = { scheme: HOUSE.schemes.get("fell"), days: days("2012..") };
  const ranges = new Ranges([USE, other], NOW);
  const serials = { first: "KP1400031", last: "KP2200100" };
  assert.equal(ranges.of(serials).length, 1);
  assert.equal(ranges.of(serials, "hollin").length, 1);
  assert.equal(ranges.of(serials, "fell").length, 0);
  assert.deepEqual([ranges.byWeek(""), ranges.byWeek("hollin"), ranges.byWeek("fell")], [
    true, true, false,
  ]);
});

test("without a serial a range is possible where the days and the plant allow it", () => {
  const bare = (where) => answer([block(where)], makeUnit(HOUSE, "MR30F", "", NOW), HOUSE, NOW);
  assert.equal(bare({ serials: ["18045K0117..20366K0009"] }).applies, "maybe");
  assert.equal(bare({ serials: ["10001K0117..11001K0009"] }).applies, "no"); // before production
  assert.equal(bare({ serials: ["KP1400031"] }).applies, "no"); // of another family's scheme
});

test("a condition that is not given is not judged", () => {
  const [way] = waysOf(makeUnit(HOUSE, "TD45A", "KP1400031", NOW), HOUSE, NOW);
  assert.deepEqual([...findings(block({}), way)], [["model", "yes"]]);
  assert.deepEqual([...findings(block({ revision: "0..", plant: ["K"] }), way).keys()], [
    "model", "revision", "plant",
  ]);
  assert.equal(judgeBlock(block({ family: ["tarn "], revision: "0.." }), way), "yes");
});

test("a revision is within its range, ends included", () => {
  const judged = (revision, model) => {
    const unit = makeUnit(HOUSE, model, "", NOW);
    return answer([block({ revision })], unit, HOUSE, NOW).applies;
  };
  const row = (revision) => [1, 2, 3, 4, 5].map((digit) => judged(revision, `TD45A${digit}`)[0]);
  assert.equal(row("2..4").join(""), "nyyyn");
  assert.equal(row("3..").join(""), "nnyyy");
  assert.equal(row("..2").join(""), "yynnn");
  assert.equal(row("3").join(""), "nnynn");
});

test("production that has not begun stands by its plan", () => {
  const planned = { produced: days("2027..2029") };
  assert.deepEqual(possibleDays(planned, NOW), days("2027..2029"));
  assert.deepEqual(possibleDays(planned, day("2028-01-01")), days("2027..2028-01-01"));
});

test("a range of one day is a range", () => {
  assert.deepEqual(days("2024-03-04..2024-03-04"), days("2024-03-04"));
});
