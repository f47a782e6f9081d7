/** What is new since the last look. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { newsLine, newSince, seenFrom, seenNow } from "../../site/app/news.js";

const at = (/** @type {string} */ number, /** @type {string} */ issued) => ({ number, issued });
const OLD = [at("2026-2", "2026-03-02"), at("2026-1", "2026-03-02"), at("2025-9", "2025-12-01")];

/** @param {{number: string, issued: string}[]} shown @param {any} since */
const numbers = (shown, since) => newSince(shown, since).map(({ number }) => number);

test("the first look finds nothing new", () => {
  assert.deepEqual(numbers(OLD, null), []);
});

test("a second look at the same finds nothing new", () => {
  assert.deepEqual(numbers(OLD, seenNow(OLD, "2026-03-05")), []);
});

test("what was issued since is new, also another one of the same day", () => {
  const since = seenNow(OLD, "2026-03-02");
  const shown = [at("2026-4", "2026-04-01"), at("2026-3", "2026-03-02"), ...OLD];
  assert.deepEqual(numbers(shown, since), ["2026-4", "2026-3"]);
});

test("what was withdrawn meanwhile makes nothing new of older ones", () => {
  const since = seenNow(OLD, "2026-03-02");
  assert.deepEqual(numbers([...OLD.slice(2), at("2025-8", "2025-11-01")], since), []);
});

test("a house that was empty tells its first bulletins as new", () => {
  assert.deepEqual(numbers(OLD, seenNow([], "2026-01-01")).length, 3);
});

test("what was remembered comes back, nonsense does not", () => {
  const seen = seenNow(OLD, "2026-03-05");
  assert.deepEqual(seenFrom(JSON.stringify(seen)), seen);
  for (const text of [null, "", "null", "3", "[]", "{}", "{\"day\": 3, \"numbers\": []}", "{\"day\": \"\""]) {
    assert.equal(seenFrom(text), null, String(text));
  }
});

test("one line tells how much is new, and since when", () => {
  assert.equal(newsLine(2, 6, "3 Mar 2026"), "2 new since you last looked on 3 Mar 2026.");
  assert.equal(newsLine(6, 6, ""), "6 or more new since you last looked.");
});
