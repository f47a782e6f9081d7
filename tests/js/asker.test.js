/** Questions to the worker: numbered, answered, overtaken, lost. */

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { Asker, openAsker, Refused } from "../../site/app/asker.js";

/** A worker that does what the test says. */
class FakeWorker extends EventTarget {
  /** @type {FakeWorker[]} */
  static made = [];
  static refuses = false;

  /** @param {string} address */
  constructor(address) {
    super();
    if (FakeWorker.refuses) throw new DOMException("no", "SecurityError");
    this.address = address;
    /** @type {any[]} */
    this.asked = [];
    this.ended = false;
    FakeWorker.made.push(this);
  }

  /** @param {any} question */
  postMessage(question) {
    this.asked.push(question);
  }

  terminate() {
    this.ended = true;
  }

  /** @param {any} data */
  reply(data) {
    this.dispatchEvent(Object.assign(new Event("message"), { data }));
  }

  /** @param {string} kind */
  last(kind) {
    return this.asked.findLast((question) => question.kind === kind);
  }
}

const globals = /** @type {any} */ (globalThis);
globals.Worker = FakeWorker;
globals.location = { protocol: "http:" };
globals.document = {
  baseURI: "http://a.example/s/models/x/", body: { dataset: { worker: "../../assets/w.js" } },
};

beforeEach(() => {
  FakeWorker.made = [];
  FakeWorker.refuses = false;
  globals.location.protocol = "http:";
});

const asker = () => new Asker("assets/w.js", "http://a.example/s/", "data/1.bin");
const worker = () => FakeWorker.made[FakeWorker.made.length - 1];

test("the worker starts with the first question and is told where the site is", () => {
  const asked = openAsker("../../", "data/1.bin");
  assert.equal(FakeWorker.made.length, 0);
  void asked.ask("find", { text: "hums" });
  void asked.ask("plate", { model: "TD45A" });
  assert.equal(FakeWorker.made.length, 1);
  assert.equal(worker().address, "../../assets/w.js");
  const [open, find, plate] = worker().asked;
  assert.deepEqual([open.kind, open.root, open.start], ["open", "http://a.example/s/", "data/1.bin"]);
  assert.deepEqual([find.kind, find.text, plate.kind, plate.model], ["find", "hums", "plate", "TD45A"]);
  assert.equal(new Set([open.id, find.id, plate.id]).size, 3);
});

test("each question gets its own answer, in whatever order they come", async () => {
  const asked = asker();
  const [one, two] = [asked.ask("plate", { model: "A" }), asked.ask("part", { number: "B" })];
  worker().reply({ id: worker().last("part").id, value: "of B" });
  worker().reply({ id: worker().last("plate").id, value: "of A" });
  assert.deepEqual(await Promise.all([one, two]), ["of A", "of B"]);
});

test("a newer line overtakes an older one, whose late answer is nobody's", async () => {
  const asked = asker();
  const older = asked.ask("find", { text: "hu" });
  const late = worker().last("find").id;
  const newer = asked.ask("find", { text: "hum" });
  assert.equal(await older, null);
  worker().reply({ id: late, value: "old" });
  worker().reply({ id: worker().last("find").id, value: "new" });
  assert.equal(await newer, "new");
});

test("a line overtakes no question of another kind", async () => {
  const asked = asker();
  const plate = asked.ask("plate", { model: "A" });
  void asked.ask("find", { text: "hums" });
  worker().reply({ id: worker().last("plate").id, value: "all" });
  assert.equal(await plate, "all");
});

test("what is wrong comes with what to do about it", async () => {
  const asked = asker().ask("plate", { model: "X" });
  const error = { message: "no model X is known", remedy: "look once more" };
  worker().reply({ id: worker().last("plate").id, error });
  await assert.rejects(asked, (/** @type {Refused} */ refused) => (
    refused instanceof Refused && refused.message === error.message && refused.remedy === error.remedy
  ));
});

test("where the browser refuses workers the question is refused in plain words", async () => {
  FakeWorker.refuses = true;
  await assert.rejects(asker().ask("find", { text: "a" }), (/** @type {Refused} */ refused) => (
    /web address/.test(refused.message) && /ways in/.test(refused.remedy)
  ));
});

test("a worker that does not load is said to be lost, and the next question starts another", async () => {
  const asked = asker();
  const first = asked.ask("find", { text: "a" });
  worker().dispatchEvent(new Event("error", { cancelable: true }));
  await assert.rejects(first, /could not be loaded/);
  assert.ok(worker().ended);
  const second = asked.ask("find", { text: "b" });
  assert.equal(FakeWorker.made.length, 2);
  worker().reply({ id: worker().last("find").id, value: "found" });
  assert.equal(await second, "found");
});

test("read from a disk, a worker that fails is said to need the web address", async () => {
  globals.location.protocol = "file:";
  const asked = asker().ask("find", { text: "a" });
  worker().dispatchEvent(new Event("error", { cancelable: true }));
  await assert.rejects(asked, /web address/);
});

test("a house that cannot be opened spoils no later question", async () => {
  const asked = asker();
  const found = asked.ask("find", { text: "a" });
  worker().reply({ id: worker().last("open").id, error: { message: "away", remedy: "later" } });
  worker().reply({ id: worker().last("find").id, value: "found" });
  assert.equal(await found, "found");
});
