/** The words of the front page's answers. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import {
  builtWords, countLine, fewWords, HAZARDS, KINDS, mailAddress, plateModel, sentence,
  standingWords, stretches, verdictWords,
} from "../../site/app/words.js";

/** @param {string} verdicts  y, m, n or - for each result */
function results(verdicts) {
  const of = { y: "yes", m: "maybe", n: "no", "-": null };
  return [...verdicts].map((letter) => ({ applies: /** @type {any} */ (of)[letter] }));
}

test("one short sentence tells how much was found", () => {
  /** @type {[string, boolean, boolean, string][]} */
  const cases = [
    ["", false, false, "Nothing found"],
    ["", false, true, "Nothing found"],
    ["-", false, false, "1 bulletin"],
    ["---", false, false, "3 bulletins"],
    ["----------", true, false, "The first 10 bulletins"],
    ["y", false, true, "1 bulletin: 1 applies"],
    ["m", false, true, "1 bulletin: 1 may apply"],
    ["yy", false, true, "2 bulletins, all apply"],
    ["mm", false, true, "2 bulletins, all may apply"],
    ["ym", false, true, "2 bulletins: 1 applies, 1 may apply"],
    ["yymmm", false, true, "5 bulletins: 2 apply, 3 may apply"],
    ["yn", false, true, "2 bulletins: 1 applies"],
    ["n", false, true, "1 bulletin"],
    ["yyyyyyyyyy", true, true, "The first 10 bulletins, all apply"],
  ];
  for (const [verdicts, more, unit, line] of cases) {
    assert.equal(countLine(results(verdicts), more, unit), line, verdicts);
  }
});

test("whether it applies is said in words, with what to look for", () => {
  assert.equal(verdictWords({ applies: "yes", settle: "", reason: "built 2022-W14" }), "Applies");
  assert.equal(
    verdictWords({ applies: "maybe", settle: "the digit behind the model", reason: "" }),
    "May apply: look for the digit behind the model",
  );
  assert.equal(verdictWords({ applies: "maybe", settle: "", reason: "" }), "May apply");
  assert.equal(
    verdictWords({ applies: "no", settle: "", reason: "it is about other models" }),
    "Does not apply: it is about other models",
  );
  assert.equal(verdictWords({ applies: "no", settle: "", reason: "" }), "Does not apply");
});

test("what is not in force any more is told", () => {
  assert.equal(standingWords({ status: "in-force", supersededBy: "" }), "");
  assert.equal(
    standingWords({ status: "in-force", supersededBy: "2026-1" }), "Superseded by 2026-1",
  );
  assert.match(standingWords({ status: "withdrawn", supersededBy: "" }), /^Withdrawn/);
});

test("the words that matched are marked where they stand as whole words, in any case", () => {
  const marked = (/** @type {string} */ text, /** @type {string[]} */ words) => (
    stretches(text, words).map((piece) => (piece.marked ? `[${piece.text}]` : piece.text)).join("")
  );
  assert.equal(marked("hums but does not drain", ["hums", "not", "drain"]),
    "[hums] but does [not] [drain]");
  assert.equal(marked("Hums, hums; humster", ["hums"]), "[Hums], [hums]; humster");
  assert.equal(marked("water on floor", ["water on floor", "water"]), "[water on floor]");
  assert.equal(marked("shows E-21 (steady)", ["E-21"]), "shows [E-21] (steady)");
  assert.equal(marked("1/4 turn [back]", ["1/4", "[back]"]), "[1/4] turn [[back]]");
  assert.equal(marked("fällt aus", ["fällt"]), "[fällt] aus");
  assert.equal(marked("nothing here", []), "nothing here");
  assert.equal(marked("nothing here", [""]), "nothing here");
});

test("no text is lost or added by marking", () => {
  const texts = ["a b c", " a  b ", "", "Öl läuft aus (viel)", "x-y/z 1.5 mm"];
  for (const text of texts) {
    for (const words of [["a"], ["b", "c"], ["y"], ["läuft", "aus"], ["1.5"]]) {
      assert.equal(stretches(text, words).map((piece) => piece.text).join(""), text);
    }
  }
});

test("the built dates of every reading are told, the plant where there is one alone", () => {
  const at = (/** @type {string} */ shown, plantName = "") => ({ shown, plantName });
  assert.equal(builtWords([at("2022-W14", "Kirkholm works")]), "2022-W14, Kirkholm works");
  assert.equal(builtWords([at("2012-W14", "K"), at("2022-W14", "K")]), "2012-W14 or 2022-W14, K");
  assert.equal(builtWords([at("2022-W14", "K"), at("2022-W14", "L")]), "2022-W14");
  assert.equal(builtWords([at("2022-03")]), "2022-03");
});

test("a model is shown as on the plate", () => {
  assert.equal(plateModel({ model: "TD45A", revision: 3 }), "TD45A/3");
  assert.equal(plateModel({ model: "TD45A", revision: 0 }), "TD45A/0");
  assert.equal(plateModel({ model: "TD45A", revision: null }), "TD45A");
  assert.equal(plateModel(null), "");
});

test("names fit one line: said once, two of them, and how many more", () => {
  assert.equal(fewWords(["Main control"]), "Main control");
  assert.equal(fewWords(["Main control, relay", "Main control"]), "Main control");
  assert.equal(fewWords(["A", "B"]), "A, B");
  assert.equal(fewWords(["A", "B", "C, red", "C, blue"]), "A, B and 1 more");
});

test("sentences begin with a capital and end with one mark", () => {
  assert.equal(sentence("no bulletin answers this"), "No bulletin answers this.");
  assert.equal(sentence("did you mean TD45A?"), "Did you mean TD45A?");
  assert.equal(sentence("Wait."), "Wait.");
  assert.equal(sentence(""), "");
});

test("a mail to the desk tells what was asked, for which unit, of which edition", () => {
  const about = {
    asked: "hums & drips", unit: "TD45A/3 KP1400031", edition: "ab12", address: "https://a.example/?q=1",
  };
  const mail = new URL(mailAddress("Service desk, desk@hollin-ridge.example", about));
  assert.equal(mail.pathname, "desk@hollin-ridge.example");
  const body = mail.searchParams.get("body") ?? "";
  for (const part of Object.values(about)) assert.ok(body.includes(part), part);
  assert.match(mail.searchParams.get("subject") ?? "", /hums & drips/);
  assert.ok(!mail.href.includes("+"), "RFC 6068, 2: a space is %20 in a mail's address");
});

test("without an address in the contact line there is no mail", () => {
  const about = { asked: "x", unit: "", edition: "", address: "" };
  for (const contact of ["", "Service desk, 0123 456", "desk at example", "@"]) {
    assert.equal(mailAddress(contact, about), "");
  }
  assert.match(mailAddress("(desk@a.example)", about), /^mailto:desk@a\.example\?/);
  assert.match(mailAddress("mail desk@a.example.", about), /^mailto:desk@a\.example\?/);
});

test("a question of one unit alone makes a mail too", () => {
  const about = { asked: "", unit: "TD45A", edition: "e", address: "a" };
  const mail = mailAddress("desk@a.example", about);
  assert.match(decodeURIComponent(mail), /subject=No bulletin found: TD45A&/);
});

test("every hazard that a bulletin can name has words and a sign of its own", () => {
  const known = JSON.parse(readFileSync(new URL("../../kb/data/hazards.json", import.meta.url), "utf8"));
  assert.deepEqual(Object.keys(HAZARDS).sort(), Object.keys(known).sort());
  assert.equal(new Set(Object.values(HAZARDS).map(([words]) => words)).size, Object.keys(known).length);
  assert.equal(new Set(Object.values(HAZARDS).map(([, sign]) => sign)).size, Object.keys(known).length);
  for (const [, strokes] of Object.values(HAZARDS)) assert.match(strokes, /^M[\d.MmLlHhVvCcAaZz -]+$/);
});

test("every kind has its name", () => {
  assert.equal(Object.keys(KINDS).length, 7);
});
