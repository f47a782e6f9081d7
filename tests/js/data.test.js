/** Pieces in memory, and going on once what was missing is there. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { deflateRawSync, gzipSync } from "node:zlib";

import { Missing, settle } from "../../site/data/missing.js";
import { Layer, Pieces, layersOf } from "../../site/data/pieces.js";
import { readMasks, readSteps } from "../../site/data/terms.js";

/**
 * Return a piece as it is published.
 * @param {unknown} value
 * @param {number[]} bytes
 */
function packed(value, bytes = []) {
  const text = Buffer.from(JSON.stringify(value));
  const length = Buffer.alloc(4);
  length.writeUInt32LE(text.length);
  return new Uint8Array(gzipSync(Buffer.concat([length, text, Buffer.from(bytes)])));
}

/**
 * Return pieces of data behind a counting fetch.
 * @param {Record<string, Uint8Array>} files
 */
function served(files) {
  /** @type {string[]} */
  const fetched = [];
  const pieces = new Pieces(async (path) => {
    fetched.push(path);
    if (!files[path]) throw new Error(`nothing at ${path}`);
    return files[path];
  });
  return { pieces, fetched };
}

test("a piece gives its value and the bytes behind it", async () => {
  const { pieces } = served({ "data/aa.bin": packed({ "ö": [1] }, [1, 2, 255]) });
  await pieces.load(["aa"]);
  assert.deepEqual(pieces.get("aa").value, { "ö": [1] });
  assert.deepEqual([...pieces.get("aa").bytes], [1, 2, 255]);
});

test("a piece that goes on from what is shared is read behind it", async () => {
  const shared = new TextEncoder().encode("water is left in the sump after the programme ".repeat(9));
  const text = Buffer.from(JSON.stringify("water is left in the sump"));
  const whole = Buffer.concat([Buffer.from([text.length, 0, 0, 0]), text]);
  const bare = new Uint8Array(deflateRawSync(whole, { dictionary: shared }));
  assert.ok(bare.length < 20);
  const { pieces } = served({ "data/aa.bin": bare, "data/bb.bin": packed("alone") });
  pieces.shared = shared;
  await pieces.load(["aa", "bb"]);
  assert.equal(pieces.get("aa").value, "water is left in the sump");
  assert.equal(pieces.get("bb").value, "alone");
});

test("a piece is fetched once, however often it is asked for", async () => {
  const { pieces, fetched } = served({ "data/aa.bin": packed(1), "data/bb.bin": packed(2) });
  await Promise.all([pieces.load(["aa", "bb"]), pieces.load(["bb"])]);
  await pieces.load(["aa"]);
  assert.deepEqual(fetched.sort(), ["data/aa.bin", "data/bb.bin"]);
});

test("a piece that did not come is asked for again", async () => {
  /** @type {Record<string, Uint8Array>} */
  const files = {};
  const { pieces } = served(files);
  await assert.rejects(pieces.load(["aa"]), /nothing at data\/aa.bin/);
  files["data/aa.bin"] = packed("there");
  await pieces.load(["aa"]);
  assert.equal(pieces.get("aa").value, "there");
});

test("what is not in memory is named, all of it at once", () => {
  const { pieces } = served({});
  assert.throws(() => pieces.get("aa"), (error) => (
    error instanceof Missing && error.names.join() === "aa"
  ));
  assert.throws(() => pieces.need(["aa", "bb", "aa"]), (error) => (
    error instanceof Missing && error.names.join() === "aa,bb"
  ));
  pieces.need([]);
});

test("settle goes on until nothing is missing, a trip for each step", async () => {
  const { pieces, fetched } = served({ "data/aa.bin": packed("bb"), "data/bb.bin": packed("end") });
  const found = await settle(pieces, () => pieces.get(pieces.get("aa").value).value);
  assert.equal(found, "end");
  assert.deepEqual(fetched, ["data/aa.bin", "data/bb.bin"]);
});

test("settle hands on what else goes wrong", async () => {
  const { pieces } = served({});
  const broken = settle(pieces, () => { throw new TypeError("no such thing"); });
  await assert.rejects(broken, TypeError);
  await assert.rejects(settle(pieces, () => pieces.get("zz")), /nothing at/);
});

for (const [key, place] of /** @type {[string, number][]} */ ([
  ["", 0], ["a", 0], ["d", 1], ["dr", 1], ["drain", 1], ["m", 2], ["zz", 2],
])) {
  test(`the piece for ${JSON.stringify(key)} is number ${place}`, () => {
    const { pieces } = served({});
    assert.equal(new Layer(pieces, ["", "d", "m"], ["a", "b", "c"]).place(key), place);
  });
}

test("a layer without pieces holds nothing", () => {
  const { pieces } = served({});
  const layer = new Layer(pieces, [], []);
  layer.need(["drain"]);
  assert.equal(layer.value("drain"), undefined);
  assert.equal(layer.row(3), undefined);
  assert.equal(layer.isHeld("drain"), false);
  assert.deepEqual(layer.between("a", "z"), []);
});

test("names that every object has are no keys of a piece", async () => {
  const { pieces } = served({ "data/aa.bin": packed({ drain: 1 }) });
  await pieces.load(["aa"]);
  const layer = new Layer(pieces, [""], ["aa"]);
  assert.equal(layer.value("drain"), 1);
  for (const key of ["constructor", "__proto__", "toString"]) {
    assert.equal(layer.value(key), undefined);
  }
});

test("the start tells layers by texts, by steps, far ones, and empty ones", () => {
  const { pieces } = served({});
  const names = Array.from({ length: 30 }, (_, at) => at);
  const layers = { words: "\nd", cards: [0, 7, 5], rows: { far: "" }, none: null };
  const found = layersOf(pieces, {
    value: { layers, shared: 2 },
    bytes: Uint8Array.from([...names, 7, 7]),
  });
  assert.deepEqual(found.words.bounds, ["", "d"]);
  assert.deepEqual(found.words.names, ["0001020304", "0506070809"]);
  assert.deepEqual(found.cards.bounds, [0, 7, 12]);
  assert.deepEqual(found.cards.names, ["0a0b0c0d0e", "0f10111213", "1415161718"]);
  assert.deepEqual([found.rows.far, found.rows.names], [true, ["191a1b1c1d"]]);
  assert.deepEqual(found.none.bounds, []);
});

test("rising numbers are read from their Rice codes", () => {
  // two low bits (0010); 5: 1 and 01 -> 10 01; 6: 0 00; 20: 13 = 3 × 4 + 1 -> 1110 01
  const bytes = Uint8Array.from([0b00101001, 0b00011100, 0b10000000]);
  const into = new Uint32Array(3);
  assert.equal(readSteps(bytes, 0, into), 3);
  assert.deepEqual([...into], [5, 6, 20]);
});

test("masks are read where a code tells of lines", () => {
  const masks = Uint8Array.from([5, 0x80, 0x02]);
  assert.deepEqual([...readMasks(masks, 0, Uint8Array.from([32, 7, 33, 0]))], [5, 0, 256, 0]);
});
