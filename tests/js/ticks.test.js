/** The ticks of a job: kept, read back, matched to another edition by cause, counted and told. */

import assert from "node:assert/strict";
import { test } from "node:test";

import {
  difference, figure, isBlank, jobOf, keyOf, lay, markOf, meaning, nextCheck, noJob, origin,
  readJob, tally, tallyLine,
} from "../../site/app/ticks.js";

const CHECKS = [
  { cause: "Connector not home", said: "pull each wire\nseat it", minutes: 5 },
  { cause: "Hose frozen", said: "feel along it\nthaw", minutes: 2.5 },
  { cause: "Control fault", said: "24 V at the pump\n", minutes: 10 },
];
const ABOUT = { edition: "2026-03-02", at: "2026-11-23T14:05:00.000Z", unit: "TD45A KP1400031" };
const kept = (states, checks = CHECKS, hand = []) => {
  const marks = checks.map((each) => markOf(each.said));
  return readJob(JSON.stringify(jobOf(checks, { states, marks, gone: [] }, hand, ABOUT)));
};

test("a job that was kept is laid on the same checks as it was", () => {
  for (const states of [["", "", ""], ["no", "done", ""], ["no", "no", "found"]]) {
    const laid = lay(kept(states), CHECKS);
    assert.deepEqual(laid.states, states);
    assert.deepEqual(laid.gone, []);
    for (const [at, check] of CHECKS.entries()) {
      assert.equal(difference(check, laid.states[at], laid.marks[at]), "");
    }
  }
});

test("ticks follow their check wherever a new edition puts it", () => {
  const orders = [[0, 1, 2], [2, 1, 0], [1, 2, 0], [2, 0, 1]];
  for (const order of orders) {
    const laid = lay(kept(["no", "found", ""]), order.map((at) => CHECKS[at]));
    assert.deepEqual(laid.states, order.map((at) => ["no", "found", ""][at]));
  }
});

test("case, blanks and stops in a cause make no other check", () => {
  const written = [{ ...CHECKS[0], cause: "connector  NOT home." }, ...CHECKS.slice(1)];
  assert.deepEqual(lay(kept(["no", "", ""]), written).states, ["no", "", ""]);
});

test("a check whose words changed keeps its tick and is told until it is seen to", () => {
  const changed = [CHECKS[0], { ...CHECKS[1], said: "feel along it\nreplace" }, CHECKS[2]];
  const laid = lay(kept(["no", "no", ""]), changed);
  assert.deepEqual(laid.states, ["no", "no", ""]);
  const told = changed.map((each, at) => difference(each, laid.states[at], laid.marks[at]));
  assert.deepEqual(told, ["", "Changed since you ticked it: read it again.", ""]);
  // Another tick is made and the page is opened again: it is still told.
  laid.states[2] = "no";
  const again = lay(readJob(JSON.stringify(jobOf(changed, laid, [], ABOUT))), changed);
  assert.match(difference(changed[1], again.states[1], again.marks[1]), /^Changed/);
});

test("a changed check that was not ticked is nothing to tell", () => {
  const changed = [CHECKS[0], { ...CHECKS[1], said: "other" }, CHECKS[2]];
  const laid = lay(kept(["no", "", ""]), changed);
  assert.equal(difference(changed[1], laid.states[1], laid.marks[1]), "");
});

test("other minutes alone are no change of a check", () => {
  const laid = lay(kept(["no", "", ""]), [{ ...CHECKS[0], minutes: 7 }, ...CHECKS.slice(1)]);
  assert.equal(difference(CHECKS[0], laid.states[0], laid.marks[0]), "");
});

test("a check that came in after the job was begun is told, one before it is not", () => {
  const more = [...CHECKS, { cause: "Pump seized", said: "turn it", minutes: 3 }];
  const begun = lay(kept(["no", "", ""]), more);
  assert.equal(difference(more[3], begun.states[3], begun.marks[3]), "New since you began.");
  for (const job of [noJob(), kept(["", "", ""])]) {
    const laid = lay(job, more);
    assert.deepEqual(more.map((each, at) => difference(each, "", laid.marks[at])), ["", "", "", ""]);
  }
});

test("a ticked check that is no longer there is named, one without tick is not", () => {
  assert.deepEqual(lay(kept(["no", "", "no"]), [CHECKS[0]]).gone, ["Control fault"]);
  assert.deepEqual(lay(kept(["no", "", ""]), [CHECKS[0]]).gone, []);
});

test("of two checks with one cause each keeps its own tick", () => {
  const twins = [CHECKS[0], { ...CHECKS[0], said: "look at the lock" }];
  assert.deepEqual(lay(kept(["no", "found"], twins), twins).states, ["no", "found"]);
  assert.deepEqual(lay(kept(["", "no"], twins), twins).states, ["", "no"]);
});

test("what was not kept by us is read as nothing ticked", () => {
  const texts = [
    null, "", "x", "null", "3", "[]", "{}", '{"checks": 3, "hand": {}}', '{"checks": [null, 3, {}]}',
    '{"checks": [{"cause": 3, "state": "no"}], "hand": [3, null, ""], "at": "yesterday"}',
  ];
  for (const text of texts) {
    assert.deepEqual(readJob(text), noJob(), String(text));
    assert.ok(isBlank(readJob(text)));
  }
});

test("a state that is not known is no tick", () => {
  const job = readJob('{"checks": [{"cause": "Hose frozen", "mark": "a", "state": "maybe"}]}');
  assert.deepEqual(lay(job, CHECKS).states, ["", "", ""]);
});

test("what is ticked in the lists is kept as well", () => {
  const job = kept(["", "", ""], CHECKS, ["lamp", "2 hr 310 4126"]);
  assert.deepEqual(job.hand, ["lamp", "2 hr 310 4126"]);
  assert.ok(!isBlank(job));
});

test("causes compare by letters and figures, in any script", () => {
  const same = [
    ["Ice in the sump", "ice in  the sump."], ["24 V missing", "24\u00a0V missing"],
    ["\ufb01lter", "Filter"], ["مضخة عالقة", "مضخة  عالقة"], ["E\u0301tanche", "\u00e9tanche"],
  ];
  for (const [one, other] of same) assert.equal(keyOf(one), keyOf(other));
  assert.notEqual(keyOf("hose 1"), keyOf("hose 2"));
  assert.notEqual(keyOf("ज़ंग"), keyOf("जंग")); // the dot below is a letter's part, not a mark to drop
  assert.notEqual(keyOf("+"), keyOf("−")); // nothing but signs: they count themselves
});

test("a mark is that of FNV-1a and does not see blanks", () => {
  // Published test vectors of FNV-1a, 32 bits: "" 811c9dc5, "a" e40c292c, "foobar" bf9cf968.
  for (const [text, hash] of [["", 0x811c9dc5], ["a", 0xe40c292c], ["foobar", 0xbf9cf968]]) {
    assert.equal(markOf(text), hash.toString(36));
  }
  assert.equal(markOf(" a  b\n"), markOf("a b"));
  assert.notEqual(markOf("a b"), markOf("ab"));
});

test("checks and minutes are counted", () => {
  const cases = [
    [["", "", ""], { done: 0, soFar: 0, left: 17.5, found: -1 }],
    [["no", "", ""], { done: 1, soFar: 5, left: 12.5, found: -1 }],
    [["done", "found", ""], { done: 2, soFar: 7.5, left: 10, found: 1 }],
    [["no", "no", "no"], { done: 3, soFar: 17.5, left: 0, found: -1 }],
  ];
  for (const [states, count] of cases) {
    assert.deepEqual(tally(CHECKS, states), { total: 3, ...count });
  }
});

test("the sums are right whatever is ticked: what is done and left is all there is", () => {
  for (let code = 0; code < 4 ** 3; code += 1) {
    const states = [0, 1, 2].map((at) => ["", "done", "no", "found"][(code >> (2 * at)) & 3]);
    const { done, soFar, left } = tally(CHECKS, states);
    assert.equal(soFar + left, 17.5);
    assert.equal(done, states.filter(Boolean).length);
  }
});

test("how far the job is stands in one line", () => {
  const lines = [
    [["", "", ""], "3 checks, 17.5 min in all"],
    [["no", "", ""], "1 of 3 checks, 5 min so far, 12.5 min left"],
    [["done", "no", ""], "2 of 3 checks, 7.5 min so far, 10 min left"],
    [["no", "found", ""], "2 of 3 checks, 7.5 min so far: found"],
    [["no", "no", "no"], "3 of 3 checks, 17.5 min so far: not found"],
    [["no", "done", "no"], "3 of 3 checks, 17.5 min so far"],
  ];
  for (const [states, line] of lines) assert.equal(tallyLine(tally(CHECKS, states), states), line);
  const one = CHECKS.slice(0, 1);
  assert.equal(tallyLine(tally(one, [""]), [""]), "1 check, 5 min in all");
  assert.equal(tallyLine(tally(one, ["no"]), ["no"]), "1 of 1 check, 5 min so far: not found");
});

test("minutes have one decimal at most", () => {
  const shown = [[3, "3"], [2.5, "2.5"], [0.1 + 0.2, "0.3"], [12.34, "12.3"], [0, "0"], [99.96, "100"]];
  for (const [minutes, words] of shown) assert.equal(figure(minutes), words);
});

test("the next check is the first that is open, none once the cause is found", () => {
  const cases = [[["", "", ""], 0], [["no", "", ""], 1], [["", "no", ""], 0], [["no", "no", "no"], -1],
    [["found", "", ""], -1]];
  for (const [states, next] of cases) assert.equal(nextCheck(states), next);
});

test("each finding says what it means", () => {
  const cases = [
    [["no", "", ""], 0, "Go on: 2. Hose frozen"],
    [["no", "no", ""], 0, "Go on: 3. Control fault"],
    [["", "no", ""], 1, "Go on: 1. Connector not home"],
    [["no", "no", "no"], 2, "None of the checks found it."],
    [["no", "done", "no"], 2, ""],
    [["no", "found", ""], 0, ""],
    [["done", "", ""], 0, ""],
    [["", "", ""], 0, ""],
  ];
  for (const [states, at, words] of cases) assert.equal(meaning(states, at, CHECKS, true), words);
  assert.equal(meaning(["found"], 0, CHECKS, true), "That is it. Put it right as said:");
  assert.equal(meaning(["found"], 0, CHECKS, false), "That is it. What to do stands below.");
});

test("ticks of another unit or another day say so, today's own do not", () => {
  const day = (at) => at.slice(0, 10);
  const job = kept(["no", "", ""]);
  const cases = [
    ["TD45A KP1400031", "2026-11-23", ""],
    ["TD45A KP1400031", "2026-11-25", "Ticked on 2026-11-23 for TD45A KP1400031."],
    ["TD60A", "2026-11-23", "Ticked for another unit: TD45A KP1400031."],
    ["TD60A", "2026-11-25", "Ticked on 2026-11-23 for another unit: TD45A KP1400031."],
    ["", "2026-11-23", ""],
    ["", "2026-11-25", "Ticked on 2026-11-23 for TD45A KP1400031."],
  ];
  for (const [unit, today, words] of cases) assert.equal(origin(job, unit, today, day), words);
  assert.equal(origin({ ...job, unit: "" }, "TD60A", "2026-11-25", day), "Ticked on 2026-11-23.");
  assert.equal(origin(noJob(), "TD60A", "2026-11-25", day), "");
});
