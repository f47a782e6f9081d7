/** Addresses and plans of the service worker: what is whose, what it takes, what never changes. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { addressOf, isLasting, pathOf, typeOf } from "../../site/carried/paths.js";
import { allOf, countOf, listOf, neededBy, offersOf, REST, sizeFor, sumOf } from "../../site/carried/plan.js";

const SCOPE = "https://host.example/service/notes/";

for (const [rest, path] of [
  ["", "index.html"],
  ["?q=hums&model=TD45A", "index.html"],
  ["#new-h", "index.html"],
  ["index.html?x#y", "index.html"],
  ["bulletins/2026-014/", "bulletins/2026-014/index.html"],
  ["bulletins/2026-014", "bulletins/2026-014"],
  ["symptoms/l%C3%A4uft-nicht/", "symptoms/läuft-nicht/index.html"],
  ["models/A%2FB/", "models/A/B/index.html"],
  ["data/0123456789.bin", "data/0123456789.bin"],
  ["?to=https://elsewhere.example/", "index.html"],
]) {
  test(`"${rest}" leads to the file ${path}`, () => {
    assert.equal(pathOf(SCOPE + rest, SCOPE), path);
  });
}

for (const address of [
  "https://host.example/service/", "https://host.example/service/notes-old/",
  "https://elsewhere.example/service/notes/", "https://host.example/service/notes",
  `${SCOPE}symptoms/%E0%A4%A/`,
]) {
  test(`${address} is none of the site's`, () => assert.equal(pathOf(address, SCOPE), null));
}

test("a path and its address lead to one another", () => {
  for (const path of ["symptoms/läuft nicht/index.html", "parts/A+B?/index.html", "a/100%/b.svg"]) {
    assert.equal(pathOf(SCOPE + addressOf(path), SCOPE), path);
  }
});

for (const [path, lasting] of /** @type {[string, boolean][]} */ ([
  ["assets/find.0123456789.js", true],
  ["data/0123456789.bin", true],
  ["data/head.json", false],
  ["data/012345678.bin", false],
  ["bulletins/2026-014/pump.5d41402a.svg", true],
  ["bulletins/2026-014/table.5d41402a.pdf", true],
  ["bulletins/2026-014/index.html", false],
  ["models/a.5d41402a.svg", false],
  ["icon.svg", false],
  ["sw.js", false],
])) {
  test(`${path} ${lasting ? "never changes" : "may change"}`, () => {
    assert.equal(isLasting(path), lasting);
  });
}

test("files are served as what they are, others not at all", () => {
  assert.equal(typeOf("a/index.html"), "text/html; charset=utf-8");
  assert.equal(typeOf("icon.svg"), "image/svg+xml");
  assert.equal(typeOf("manifest.webmanifest"), "application/manifest+json");
  for (const path of ["feed.xml", "sw.js", "data/head.json", "bulletins/2026-014", ""]) {
    assert.equal(typeOf(path), "");
  }
});

/** Two pieces of search, a pack for all, two of Tarn, one of both, one of Cairn, one of nobody. */
function list() {
  const value = {
    families: ["Tarn", "Cairn", "Scree"],
    style: "assets/style.css",
    shell: [["assets/style.css", 7], ["assets/find.js", 3]],
    search: 2,
    sizes: [100, 200, 1000, 10, 20, 40, 80, 5000],
    bundles: [
      { of: [], bulletins: 1, pictures: 5, packs: 1 },
      { of: [0], bulletins: 2, pictures: 0, packs: 2 },
      { of: [0, 1], bulletins: 4, pictures: 2, packs: 1 },
      { of: [1], bulletins: 8, pictures: 0, packs: 1 },
      { of: [-1], bulletins: 0, pictures: 0, packs: 1 },
    ],
  };
  return listOf({ value, bytes: Uint8Array.from({ length: 40 }, (_, at) => at) });
}

test("the list names pieces, packs and whose they are", () => {
  const { search, bundles } = list();
  assert.deepEqual(search, [["data/0001020304.bin", 100], ["data/0506070809.bin", 200]]);
  assert.deepEqual(bundles[1], {
    of: ["Tarn"], bulletins: 2, pictures: 0,
    packs: [["data/0f10111213.bin", 10], ["data/1415161718.bin", 20]],
  });
  assert.deepEqual(bundles.map(({ of }) => of), [[], ["Tarn"], ["Tarn", "Cairn"], ["Cairn"], [REST]]);
  assert.equal(sumOf(bundles.flatMap(({ packs }) => packs)), 6150);
});

test("what no family asks for can be chosen where there is any", () => {
  assert.deepEqual(allOf(list()), ["Tarn", "Cairn", "Scree", REST]);
  const { families, bundles, ...rest } = list();
  assert.deepEqual(allOf({ ...rest, families, bundles: bundles.slice(0, 4) }), families);
});

for (const [families, count, size] of /** @type {[string[], number, number][]} */ ([
  [[], 0, 0],
  [["Tarn"], 7, 310 + 1005 + 30 + 42],
  [["Cairn"], 13, 310 + 1005 + 42 + 80],
  [["Tarn", "Cairn"], 15, 310 + 1005 + 30 + 42 + 80],
  [["Scree"], 1, 310 + 1005],
  [[REST], 1, 310 + 1005 + 5000],
  [["Tarn", "Cairn", "Scree", REST], 15, 310 + 1005 + 30 + 42 + 80 + 5000],
])) {
  test(`${families.join(" and ") || "nothing"} takes ${size} bytes`, () => {
    assert.equal(countOf(neededBy(list(), families)), count);
    assert.equal(sizeFor(list(), families), size);
  });
}

test("the first family bears what all share, a further one only its own", () => {
  assert.deepEqual(offersOf(list(), []).map(({ size }) => size), [1387, 1437, 1315, 6315]);
  assert.deepEqual(offersOf(list(), ["Tarn"]), [
    { name: "Tarn", size: 1387, bulletins: 6, carried: true },
    { name: "Cairn", size: 80, bulletins: 12, carried: false },
    { name: "Scree", size: 0, bulletins: 0, carried: false },
    { name: REST, size: 5000, bulletins: 0, carried: false },
  ]);
});

test("offers add up to the whole in any order", () => {
  const every = allOf(list());
  for (const order of [every, [...every].reverse()]) {
    /** @type {string[]} */
    const chosen = [];
    let sum = 0;
    for (const name of order) {
      sum += offersOf(list(), chosen).find((offer) => offer.name === name)?.size ?? NaN;
      chosen.push(name);
    }
    assert.equal(sum, sizeFor(list(), every));
  }
});
