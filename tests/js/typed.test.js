/** What is typed, sent and shared as a line. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { addressOf, isCorrection, letters, questionIn } from "../../site/app/typed.js";

test("answers begin with the second letter or digit", () => {
  const cases = [["", 0], [" ", 0], ["h", 1], ["hu", 2], ["E2", 2], ["-", 0], ["- -", 0], ["h-", 1],
    ["ü", 1], ["hums", 2], ["\"h\"", 1]];
  for (const [text, many] of cases) assert.equal(letters(String(text)), many, String(text));
});

test("a line that grows or is mended is a correction, one put in its place is none", () => {
  const cases = [
    ["TD45A", "TD45AX", true],
    ["TD45A", "TD45", true],
    ["TD45A hums", "TD45B hums", true],
    ["TD45A", "TD45A ", true],
    ["TD45A hums", "wont drain", false],
    ["TD45A hums", "", false],
    ["TD45A hums", "  ", false],
    ["TD45A", "E21", false],
    ["TD45A", "tap leaks", false],
  ];
  for (const [before, after, is] of cases) {
    assert.equal(isCorrection(String(before), String(after)), is, `${before} → ${after}`);
  }
});

test("the query of an address is read; shared text counts as a question, a title only alone", () => {
  const cases = [
    ["", "", "", ""],
    ["?q=hums", "hums", "", ""],
    ["?q=hums&model=TD45A%2F3&serial=KP1400031", "hums", "TD45A/3", "KP1400031"],
    ["?q=a+b%20c", "a b c", "", ""],
    ["?model=%20TD45A%20", "", "TD45A", ""],
    ["?text=hums+loud", "hums loud", "", ""],
    ["?t=hums", "hums", "", ""],
    ["?title=Chat&q=hums", "hums", "", ""],
    ["?title=Chat&url=https%3A%2F%2Fa.example", "https://a.example", "", ""],
    ["?title=Chat", "Chat", "", ""],
    ["?q=&title=Chat", "Chat", "", ""],
    ["?q=TD45A%0AKP1400031%0Ahums", "TD45A KP1400031 hums", "", ""],
    ["?q=%", "%", "", ""],
  ];
  for (const [search, text, model, serial] of cases) {
    assert.deepEqual(questionIn(search), { text, model, serial }, search);
  }
});

test("a line of five hundred characters at most is taken", () => {
  assert.equal(questionIn(`?q=${"x".repeat(900)}`).text.length, 500);
});

test("an address asks again what it was made from", () => {
  const place = { pathname: "/s/notes/", hash: "#codes" };
  const plates = [
    { model: "", serial: "" }, { model: "TD45A/3", serial: "" },
    { model: "TD45A/3", serial: "K P 14 00031" },
  ];
  for (const text of ["", "hums", "a&b=c#d %41+", "läuft über"]) {
    for (const plate of plates) {
      const address = addressOf(place, text, plate);
      const back = new URL(address, "https://a.example");
      assert.equal(back.pathname, place.pathname);
      assert.equal(back.hash, place.hash);
      assert.deepEqual(questionIn(back.search), { text, ...plate }, address);
    }
  }
});

test("with nothing asked the address is that of the page", () => {
  const none = { model: "", serial: "" };
  assert.equal(addressOf({ pathname: "/s/", hash: "" }, "  ", none), "/s/");
  assert.equal(addressOf({ pathname: "/s/", hash: "" }, "", { model: "", serial: "K" }), "/s/");
});
