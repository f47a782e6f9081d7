/** The address that is sent: short, without what the reader was doing, the plate only if wanted. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { addressToSend } from "../../site/app/share.js";

const PLATE = { model: "TD45A/3", serial: "KP 14 00031" };

test("the address is that of the page alone", () => {
  const cases = [
    ["https://a.example/s/bulletins/2026-014/index.html", "https://a.example/s/bulletins/2026-014/"],
    ["https://a.example/bulletins/2026-014/?model=X&serial=Y#checks",
      "https://a.example/bulletins/2026-014/"],
    ["http://127.0.0.1:8000/bulletins/a~1/index.html?q=1", "http://127.0.0.1:8000/bulletins/a~1/"],
    ["https://a.example/bulletins/index.html.old", "https://a.example/bulletins/index.html.old"],
  ];
  for (const [here, sent] of cases) assert.equal(addressToSend(here, "", null), sent);
});

test("a page read from a disk sends its public address, if it has one", () => {
  const disk = "file:///home/a/site/bulletins/2026-014/index.html";
  const published = "https://a.example/bulletins/2026-014/";
  assert.equal(addressToSend(disk, published, null), published);
  assert.equal(addressToSend(disk, "", null), "file:///home/a/site/bulletins/2026-014/");
  const here = "https://mirror.example/bulletins/2026-014/";
  assert.equal(addressToSend(here, published, null), here);
});

test("the plate goes along only where it is given, and comes back as it was", () => {
  const here = "https://a.example/b/?model=OLD#x";
  const sent = new URL(addressToSend(here, "", PLATE));
  assert.equal(sent.searchParams.get("model"), PLATE.model);
  assert.equal(sent.searchParams.get("serial"), PLATE.serial);
  assert.equal(new URL(addressToSend(here, "", { model: "A&b", serial: "" })).search, "?model=A%26b");
});
