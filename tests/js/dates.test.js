/** Days: the shared cases, published week dates, and the edges of the calendar. */

import assert from "node:assert/strict";
import { test } from "node:test";

import {
  addMonths, covers, dayAt, dayText, EARLIEST, isoParts, isoWeek, jan1Week, LATEST, longYear, meet,
  monthDays, partsOf, sameDays, showDays, two, yearDays,
} from "../../site/core/dates.js";
import { parseDays } from "../../site/core/typeddates.js";
import { dayOf } from "../../site/core/wire.js";
import { day, load, outcome } from "./casehouse.js";

const SHARED = load("dates.json");

for (const { text, first, last, error, remedy } of SHARED.parse) {
  test(`typed ${JSON.stringify(text)} is ${error ?? "that stretch of days"}`, () => {
    const found = outcome(() => parseDays(text));
    if (error === undefined) {
      assert.deepEqual(found, { first: dayOf(first), last: dayOf(last) });
    } else {
      assert.ok(found.message.includes(error), found.message);
      assert.ok(found.remedy.includes(remedy), found.remedy);
    }
  });
}

for (const { days, shown } of SHARED.show) {
  test(`${days} is shown as ${shown}`, () => assert.equal(showDays(parseDays(days)), shown));
}

// ISO 8601 week dates: 2008-12-29 and 2010-01-03 stand in published test suites of date libraries;
// the others were recomputed with four libraries that agree (datetime, isoweek, luxon, date-fns).
const WEEK_DATES = {
  "2005-01-01": "2004-53-6",
  "2005-12-31": "2005-52-6",
  "2006-01-02": "2006-1-1",
  "2007-12-31": "2008-1-1",
  "2008-12-28": "2008-52-7",
  "2008-12-29": "2009-1-1",
  "2009-12-31": "2009-53-4",
  "2010-01-03": "2009-53-7",
  "2010-01-04": "2010-1-1",
  "2020-12-31": "2020-53-4",
  "1969-12-29": "1970-1-1",
};
for (const [text, week] of Object.entries(WEEK_DATES)) {
  test(`${text} lies in ${week}`, () => assert.equal(isoParts(day(text)).join("-"), week));
}

test("1 January 1970 is an end like any other", () => {
  const first = { first: 0, last: null };
  assert.deepEqual(meet(first, { first: -5, last: 3 }), { first: 0, last: 3 });
  assert.equal(meet({ first: null, last: -1 }, first), null);
  assert.ok(covers(first, { first: 0, last: 0 }));
  assert.ok(!covers(first, { first: -1, last: 0 }));
  assert.equal(showDays(first), "1970 or later");
  assert.equal(showDays({ first: 0, last: 0 }), "1970-01-01");
});

test("an open end is open in every meeting", () => {
  const ever = { first: null, last: null };
  assert.deepEqual(meet(ever, ever), ever);
  assert.deepEqual(meet(ever, { first: 5, last: 7 }), { first: 5, last: 7 });
  assert.deepEqual(meet({ first: 6, last: null }, { first: 5, last: null }).first, 6);
  assert.ok(covers(ever, ever) && !covers({ first: 1, last: null }, ever));
  assert.ok(sameDays(ever, ever) && !sameDays(ever, { first: null, last: 1 }));
});

test("a month later keeps the day, or takes the month's last", () => {
  const shifts = [
    ["2024-01-31", 1, "2024-02-29"],
    ["2023-01-31", 1, "2023-02-28"],
    ["2020-02-29", 12, "2021-02-28"],
    ["2020-02-29", 48, "2024-02-29"],
    ["2024-12-31", 2, "2025-02-28"],
    ["2024-05-15", 0, "2024-05-15"],
    ["2024-03-31", -1, "2024-02-29"],
  ];
  for (const [from, months, to] of shifts) assert.equal(dayText(addMonths(day(from), months)), to);
});

test("every day of three centuries has its parts, its week and its text", () => {
  for (let at = EARLIEST; at <= LATEST; at++) {
    const [year, month, date] = partsOf(at);
    assert.equal(dayAt(year, month, date), at);
    const [own, week, weekday] = isoParts(at);
    assert.equal(isoWeek(own, week).first + weekday - 1, at);
    const { first, last } = monthDays(year, month);
    assert.ok(first <= at && at <= last && last - first < 31);
  }
  assert.equal(dayText(EARLIEST), "1900-01-01");
  assert.equal(dayText(LATEST), "2199-12-31");
});

test("long years are those whose last Thursday makes a week 53", () => {
  // Years of 53 weeks from 2004 to 2048, from the Gregorian cycle of 400 years with 71 of them.
  const long = [2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048];
  for (let year = 2004; year <= 2048; year++) assert.equal(longYear(year), long.includes(year));
  let count = 0;
  for (let year = 1900; year < 2300; year++) count += Number(longYear(year));
  assert.equal(count, 71);
});

test("weeks from 1 January fill the year, the last one to its end", () => {
  for (const year of [2023, 2024]) {
    const weeks = Array.from({ length: 52 }, (_, at) => jan1Week(year, at + 1));
    assert.equal(weeks[0].first, yearDays(year).first);
    assert.equal(weeks[51].last, yearDays(year).last);
    weeks.slice(1).forEach((week, at) => assert.equal(week.first, weeks[at].last + 1));
  }
});

test("what is shown by week or by month follows the serial", () => {
  const april = parseDays("2024-04-01..");
  assert.equal(showDays(april), "2024-04 or later");
  assert.equal(showDays(april, true), "2024-W14 or later");
  assert.equal(showDays(parseDays("2024"), true), "2024");
  assert.equal(two(3), "03");
});
