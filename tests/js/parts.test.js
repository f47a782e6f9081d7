/** What to order for a part number: the table of situations that desk and phone share. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { order } from "../../site/core/catalogue.js";
import { NotFound } from "../../site/core/errors.js";
import { moves, nearestNumbers } from "../../site/core/partlist.js";
import { catalogue, part } from "./partrows.js";

const CASES = JSON.parse(readFileSync(new URL("../cases/parts.json", import.meta.url), "utf8"));

for (const given of CASES) {
  test(given.says, () => {
    const rows = catalogue(given.parts, given.kits);
    const answer = order(rows, given.ask, given.model ?? undefined);
    const lines = answer.order.map((line) => [line.number, line.quantity, line.models]);
    const expected = given.order.map((/** @type {any} */ line) => Object.values(line));
    assert.deepEqual(lines, expected);
    assert.equal(answer.choose, given.choose);
    assert.deepEqual(answer.chain.map(({ from, to }) => `${from}>${to}`), given.chain);
    assert.equal(answer.interchange, given.interchange);
    assert.deepEqual(answer.coming.map(({ number, since }) => [number, since]), given.coming);
    const notes = answer.notes.join("\n");
    assert.deepEqual(given.notes.filter((/** @type {string} */ said) => !notes.includes(said)), []);
    assert.ok(given.order.length || notes, "an empty order must say why");
  });
}

test("the table is long enough", () => {
  assert.ok(CASES.length >= 60);
});

test("the answer has the fields of the command", () => {
  const rows = catalogue(["A-1,gone,B,same,TD45*,2024-W10,turn it", "B,running-out"]);
  assert.deepEqual(order(rows, "a 1", "TD45A"), {
    asked: "a 1",
    order: [
      { number: "B", quantity: 1, name: "part B", status: "running-out", models: ["TD45*"] },
    ],
    choose: false,
    chain: [{ from: "A-1", to: "B", relation: "same", since: "2024-W10" }],
    interchange: "both",
    coming: [],
    notes: ["A-1: turn it"],
  });
});

test("a number is found however it is typed", () => {
  const rows = catalogue(["A-1,gone,B,same", "B,current"], ["K,a.1,2", "K,B,1", "K,A 1,3"]);
  assert.equal(rows.find("a.1")?.number, "A-1");
  assert.equal(rows.find("nothing"), undefined);
  assert.equal(rows.held("k", "A-1"), 5);
  assert.deepEqual(rows.contents("B"), []);
});

test("the rows that an order can lead through come once each, the number's own first", () => {
  const rows = catalogue(["A,gone,B,same", "B,gone,A,same", "X,current"], ["B,X,1", "B,A,1"]);
  assert.deepEqual(rows.reached("a").map((row) => row.number), ["A", "B", "X"]);
});

test("a changed row leads nowhere by its own number", () => {
  assert.equal(moves(part("A,current,a,changed")), false);
  assert.equal(moves(part("A,gone,B,changed")), true);
  assert.equal(moves(part("A,gone")), false);
});

test("models of the house are not asked for where no row is limited to models", () => {
  const rows = catalogue(["A,gone,B,same", "B,current"]);
  rows.models = () => assert.fail("nothing depends on the model");
  assert.deepEqual(order(rows, "A", "TD45A").order[0].models, []);
});

test("a chain of thousands is followed to its end", () => {
  const lines = Array.from({ length: 3000 }, (_, at) => `A${at},gone,A${at + 1},same`);
  const answer = order(catalogue([...lines, "A3000,current"]), "A0");
  assert.deepEqual(answer.order.map((line) => line.number), ["A3000"]);
  assert.equal(answer.chain.length, 3000);
});

test("forks that meet again and again end", () => {
  const lines = Array.from({ length: 60 }, (_, at) => at).flatMap((at) => [
    `A${at},gone,L${at},same`, `A${at},gone,R${at},same`,
    `L${at},gone,A${at + 1},same`, `R${at},gone,A${at + 1},same`,
  ]);
  const answer = order(catalogue([...lines, "A60,current"]), "A0");
  assert.deepEqual(answer.order.map((line) => line.number), ["A60"]);
  assert.equal(answer.choose, false);
});

test("a kit nested deep is multiplied out", () => {
  const deep = Array.from({ length: 40 }, (_, at) => at);
  const rows = catalogue(
    [...deep.map((at) => `K${at},gone`), "K40,current"],
    deep.map((at) => `K${at},K${at + 1},2`),
  );
  const [line] = order(rows, "K0").order;
  assert.deepEqual([line.number, line.quantity], ["K40", 2 ** 40]);
});

for (const [typed, meant] of [
  ["HR-310-1119", "HR-310-1118"], ["hr310-1l18", "HR-310-1118"], ["HR-30-1118", "HR-310-1118"],
]) {
  test(`an unknown number ${typed} names the nearest`, () => {
    const rows = catalogue(["HR-310-1118,current", "HR-522-0007,current", "QX-9,current"]);
    assert.throws(() => order(rows, typed), (/** @type {any} */ error) => {
      assert.ok(error instanceof NotFound);
      assert.ok(error.message.includes(typed));
      return error.remedy.includes(meant);
    });
  });
}

for (const typed of ["", " ", "---", "zzzzzz", "Ω", "x".repeat(5000)]) {
  test(`a number like no other (${typed.slice(0, 6)}) says where to look`, () => {
    const rows = catalogue(["HR-310-1118,current"]);
    assert.throws(() => order(rows, typed), (/** @type {any} */ error) => {
      assert.ok(error instanceof NotFound);
      return error.remedy.includes("parts.csv");
    });
  });
}

test("the nearest of two hundred thousand numbers is found in a second or so", () => {
  const known = Array.from({ length: 200_000 }, (_, at) => `HR-${Math.floor(at / 1000)}-${at}`);
  const start = process.cpuUsage();
  assert.equal(nearestNumbers("HR-042-42O42", known)[0], "HR-42-42042");
  assert.ok(process.cpuUsage(start).user < 1_500_000); // of the processor, not of the clock
});
