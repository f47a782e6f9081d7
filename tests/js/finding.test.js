import assert from "node:assert/strict";
import { test } from "node:test";

import { Finder } from "../../site/core/finding.js";
import { Hits, placeOf, sum } from "../../site/core/hits.js";
import { Reasons } from "../../site/core/reasons.js";
import { settle } from "../../site/data/missing.js";
import { inPieces, smallHouse } from "./smallhouse.js";

const BULLETINS = [
  { title: "Drain pump hums", symptoms: ["hums and drips", "water stays in the sump"] },
  { title: "Door seal leaks at the hinge", symptoms: ["puddle under the machine", "drops"] },
  { title: "Belt squeals", symptoms: ["squeals when spinning"], codes: ["E-21"] },
  { title: "Washer walks", symptoms: ["walks while spinning", "pump hums loudly"] },
  { title: "Motor guard", symptoms: ["sparks at the motor"], kind: "safety" },
];

const finder = () => new Finder(smallHouse(BULLETINS), 20_782);
const numbers = (found) => found.results.map((result) => result.number);

test("the bulletin that says the words stands first", () => {
  assert.equal(numbers(finder().find("pump hums"))[0], "2026-00");
  assert.equal(numbers(finder().find("walks"))[0], "2026-03");
});

test("the symptom that fits best is marked, with the words of it that fit, as written", () => {
  const [first] = finder().find("humming pump").results.filter((r) => r.number === "2026-03");
  assert.deepEqual(first.marked, { line: 1, words: ["pump", "hums"] });
});

test("a ring leads to a bulletin, and its word there is marked and told", () => {
  const [first] = finder().find("leaking").results;
  assert.equal(first.number, "2026-01");
  const drips = finder().find("leaking").results.find((result) => result.number === "2026-00");
  assert.deepEqual(drips.marked, { line: 0, words: ["drips"] });
  assert.match(drips.why, /"leaking" as "drips" \(like word\)/);
});

test("a title alone leaves no symptom marked", () => {
  const [first] = finder().find("seal hinge").results;
  assert.equal(first.number, "2026-01");
  assert.deepEqual(first.marked, { line: -1, words: [] });
});

test("a phrase of a ring counts as one", () => {
  const found = finder().find("pool of water").results;
  const leak = found.find((result) => result.number === "2026-01");
  assert.equal(leak?.why, '"pool water" as "leaks" (like word)');
});

test("the title typed word for word stands above what only holds its words", () => {
  const [first, second] = finder().find("drain pump hums").results;
  assert.equal(first.number, "2026-00");
  assert.ok(first.score > 60 && second.score < first.score / 2);
});

test("a code in any typing leads to its bulletin alone", () => {
  for (const typed of ["E21", "e-21", "e 21", "E.21"]) {
    const found = finder().find(typed);
    assert.deepEqual(numbers(found), ["2026-02"], typed);
    assert.deepEqual(found.asked.codes, ["E-21"], typed);
    assert.equal(found.results[0].why, "code E-21");
  }
});

test("an unknown code finds nothing and says so; a known one near it is offered", () => {
  const found = finder().find("E27");
  assert.deepEqual(found.results, []);
  assert.equal(found.note, "no bulletin knows the code E27");
  assert.deepEqual(found.nearest, ["E-21"]);
});

test("quotes mean these words in this order", () => {
  assert.deepEqual(numbers(finder().find('"pump hums"')).sort(), ["2026-00", "2026-03"]);
  assert.deepEqual(numbers(finder().find('"hums pump"')), []);
});

test("texts are read only of bulletins that hold every quoted word", () => {
  const house = smallHouse(BULLETINS);
  new Finder(house, 20_782).find('"walks while spinning"');
  assert.equal(house.calls.text, 1);
});

test("all words of the house are looked through only where none with its letters is like a slip", () => {
  const house = smallHouse(BULLETINS);
  const near = new Finder(house, 20_782);
  assert.equal(numbers(near.find("sqeals"))[0], "2026-02");
  assert.equal(house.calls.vocabulary, 0);
  assert.equal(numbers(near.find("equeals"))[0], "2026-02"); // e, q: nothing begins so
  assert.equal(house.calls.vocabulary, 1);
});

test("a word that the house does not know leads to the word that it does", () => {
  const found = finder().find("sparkxyz");
  assert.deepEqual(found.results, []);
  assert.deepEqual(found.nearest, ["sparks"]);
});

test("each line that is offered finds something", () => {
  for (const asked of ["zzzzzz qqqqqq blorp", "sparkxyz", "zzzz walks frobnicate blorp", "E99"]) {
    const { results, nearest } = finder().find(asked);
    if (results.length) continue;
    assert.ok(nearest.length <= 3);
    for (const line of nearest) assert.ok(finder().find(line).results.length, line);
  }
});

test("a thing that the house does not make finds nothing, and nothing is offered", () => {
  for (const asked of ["coffee machine leaks", "television hums"]) {
    const found = finder().find(asked);
    assert.deepEqual([found.results, found.nearest], [[], []], asked);
    assert.equal(found.note, "no bulletin answers this");
  }
});

test("answers come from the second letter on, and no letter more loses the one being typed", () => {
  for (const word of ["squeals", "sparks", "hinge", "puddle"]) {
    const whole = numbers(finder().find(word))[0];
    for (let end = 2; end <= word.length; end += 1) {
      assert.ok(numbers(finder().find(word.slice(0, end))).includes(whole), word.slice(0, end));
    }
  }
});

test("no more is shown than asked for, and the best of it", () => {
  const all = numbers(finder().find("pump hums"));
  assert.ok(all.length > 1);
  assert.deepEqual(numbers(finder().find("pump hums", { limit: 1 })), all.slice(0, 1));
});

test("whatever is typed gives an answer", () => {
  const odd = ["", " ", "-", '"', "__proto__", "constructor", "~1", "=washer", "\u0000", "a".repeat(9e3)];
  for (const text of odd) assert.ok(Array.isArray(finder().find(text).results), text);
});

test("the same finder answers the same again", () => {
  const one = finder();
  const asked = ["pump hums", "leaking", "sqeals", "E21", "pump hums"];
  const first = asked.map((text) => JSON.stringify(one.find(text)));
  assert.deepEqual(asked.map((text) => JSON.stringify(one.find(text))), first);
  assert.equal(first[0], first[4]);
});

test("pieces that can be fetched together are: few journeys for a whole line", async () => {
  const house = inPieces(smallHouse(BULLETINS), {
    needWords: (words) => words.map((word) => `words ${word.slice(0, 2)}`),
    needTerms: (terms) => terms.map((term) => `terms ${term.slice(0, 2)}`),
    needCards: (docs) => docs.map((doc) => `card ${doc}`),
    wordsStarting: (prefix) => [`spoken ${prefix[0]}`],
    vocabularyOf: (letter) => [`spoken ${letter}`],
    soundsLike: (heard) => [`sounds ${heard}`],
  });
  const find = new Finder(house, 20_782);
  const found = await settle(house, () => find.find("drain pump hums and sqeals when walkking"));
  assert.ok(found.results.length > 2);
  assert.ok(house.trips <= 6, `${house.trips} journeys`);
  const before = house.trips;
  await settle(house, () => find.find("drain pump hums and sqeals when walkking"));
  assert.equal(house.trips, before);
});

test("the best are in order, ties by document, whatever the number", () => {
  const hits = new Hits(5000);
  for (let doc = 0; doc < 5000; doc += 1) {
    hits.touch((doc * 7919) % 5000);
    hits.score[doc] = (doc * 31) % 97;
  }
  const sorted = [...hits.docs].sort((a, b) => hits.score[b] - hits.score[a] || a - b);
  for (const most of [1, 3, 20, 60, 4999, 6000]) {
    assert.deepEqual(hits.best(most), sorted.slice(0, most));
  }
  const even = sorted.filter((doc) => doc % 2 === 0).slice(0, 20);
  assert.deepEqual(hits.best(20, (doc) => doc % 2 === 0), even);
});

test("a document is touched once", () => {
  const hits = new Hits(3);
  [2, 0, 2, 2].forEach((doc) => hits.touch(doc));
  assert.deepEqual(hits.docs, [2, 0]);
});

test("the place of a document among postings, or none", () => {
  const postings = { docs: [1, 4, 9], weights: [], masks: [] };
  assert.deepEqual([0, 1, 2, 4, 9, 10].map((doc) => placeOf(postings, doc)), [-1, 0, -1, 1, 2, -1]);
  assert.equal(placeOf({ docs: [], weights: [], masks: [] }, 0), -1);
  assert.equal(sum([]), 0);
});

test("a reason names the word as it stands in the bulletin", () => {
  const reasons = new Reasons(smallHouse(BULLETINS));
  const variant = (term, through, shown) => ({ term, factor: 1, through, shown });
  const lines = ["Drain pump hums", "hums and drips"];
  const told = [
    [variant("pump", "own", "pump"), "pump", '"pump"'],
    [variant("hum", "own", "humming"), "humming", '"humming" as "hums" (word form)'],
    [variant("drain", "start", "drain"), "dra", '"dra" as "drain" (beginning)'],
    [variant("drain", "spelling", "drain"), "drian", '"drian" as "drain" (spelling)'],
    [variant("seal", "spelling", "seal"), "sael", '"sael" as "seal" (spelling)'],
    [variant("~1", "ring", ""), "leak", '"leak" as "drips" (like word)'],
    [variant("~1", "spelling", "leak"), "leek", '"leek" as "drips" (spelling, like word)'],
    [variant("~9", "ring", ""), "belt", '"belt"'],
    [variant("pump", "near", "pump"), "suction", '"suction" as "pump" (near word)'],
    [variant("pump", "joined", "pump"), "pu mp", '"pu mp" as "pump" (written as one)'],
    [variant("pump", "split", "pump"), "drainpump", '"drainpump" as "pump" (written apart)'],
  ];
  for (const [held, asked, why] of told) assert.equal(reasons.why([], [[asked, held]], lines), why);
  const twice = [["pump", told[0][0]], ["pump", told[0][0]]];
  assert.equal(reasons.why(["code E21"], twice, lines), 'code E21; "pump"');
});

test("marks are the words as written, in capitals and with joints too", () => {
  const reasons = new Reasons(smallHouse(BULLETINS));
  const mark = (line, ...terms) => reasons.marks(line, terms.map((term) => ({ term })));
  assert.deepEqual(mark("PUMP hums, pump-hums: Humming", "hum", "pump"),
    ["PUMP", "hums", "pump-hums", "Humming"]);
  assert.deepEqual(mark("a pool of water at the door", "~1"), ["pool", "water"]);
  assert.deepEqual(mark("water in a pool", "~1"), []);
  assert.deepEqual(mark("does NOT start", "not"), ["NOT"]);
  assert.deepEqual(mark("", "hum"), []);
});
