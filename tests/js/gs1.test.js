/** GS1 data: published check values, and what the rules allow and refuse. */

import assert from "node:assert/strict";
import test from "node:test";

import {
  checkDigit, isChecked, productionDate, readBracketed, readElements, readLink,
} from "../../site/core/gs1.js";

const TODAY = "2026-11-25";
const GTIN = "09520123456788";
const GS = "\x1d";

/** @param {import("../../site/core/gs1.js").Element[] | null} elements */
const brief = (elements) => elements && elements.map(({ ai, value }) => `(${ai})${value}`).join("");

test("check digits are those that GS1 publishes", () => {
  // gs1.org, "How to calculate a check digit manually": sum 57, 60 - 57 = 3.
  assert.equal(checkDigit("629104150021"), 3);
  // gs1.se, "Så beräknas kontrollsiffran": 23, 30 - 23 = 7.
  assert.equal(checkDigit("730001100001"), 7);
});

test("numbers that GS1's own linter accepts are accepted, and no other last digit", () => {
  // lint_csum.c, unit tests of gs1/gs1-syntax-dictionary @ff2eb4b.
  const sound = [
    "02345673", "416000336108", "1234567890128", "12345678901231", "123456789012345675",
  ];
  for (const number of sound) {
    assert.ok(isChecked(number), number);
    for (let off = 1; off < 10; off += 1) {
      const last = (Number(number.slice(-1)) + off) % 10;
      assert.ok(!isChecked(number.slice(0, -1) + last), `${number} with ${last}`);
    }
  }
});

test("no text without digits is checked", () => {
  for (const text of ["", "7", "12a4", "TD45A", "१२३"]) assert.ok(!isChecked(text), text);
});

test("an element string is read to its end", () => {
  const cases = [
    [`01${GTIN}21KP1400031`, `(01)${GTIN}(21)KP1400031`],
    [`${GS}01${GTIN}21KP1400031`, `(01)${GTIN}(21)KP1400031`],
    [`01${GTIN}11230405240TD45A/3${GS}21KP14`, `(01)${GTIN}(11)230405(240)TD45A/3(21)KP14`],
    [`01${GTIN}21A${GS}250B${GS}`, `(01)${GTIN}(21)A(250)B`],
    [`01${GTIN}${GS}1123040021X`, `(01)${GTIN}(11)230400(21)X`], // a needless separator
    [`8004952012345TUB7`, `(8004)952012345TUB7`],
    [`01${GTIN}310300125021S`, `(01)${GTIN}(3103)001250(21)S`],
    [`01${GTIN}10LOT${GS}99own`, `(01)${GTIN}(10)LOT(99)own`],
  ];
  for (const [text, want] of cases) assert.equal(brief(readElements(text ?? "")), want);
});

test("what breaks the rules is no element string", () => {
  const broken = [
    "", GS, "01", `01${GTIN.slice(0, 13)}9`, `01${GTIN.slice(0, 12)}`, "04123", "0A12", "TD45A",
    `01${GTIN}1123130121X`, `01${GTIN}21`, `01${GTIN}21${"9".repeat(21)}`, `01${GTIN}21ü`,
    `01${GTIN}21A B`, `01${GTIN}21A${GS}21B`, `01${GTIN}2`, `01${GTIN}23`, `01${GTIN}800`,
  ];
  for (const text of broken) assert.equal(readElements(text), null, JSON.stringify(text));
});

test("the dates that GS1's linter refuses are refused, and day 00 is none", () => {
  // lint_yymmd0.c, unit tests of gs1/gs1-syntax-dictionary @ff2eb4b.
  for (const date of ["231301", "230230", "230431", "210229", "230001", "23040", "2304011"]) {
    assert.equal(readElements(`01${GTIN}11${date}`), null, date);
    assert.equal(productionDate(date, TODAY), "", date);
  }
  assert.equal(productionDate("200229", TODAY), "2020-02-29");
  // GS1 General Specifications 3.4.2: two zeros where it is not necessary to name the day. It is
  // read as the whole month, not as its last day: a machine was made on any of them.
  assert.equal(productionDate("230400", TODAY), "2023-04");
});

test("the century is the one that the GS1 rule gives", () => {
  // GS1 General Specifications 7.12, as lint_yymmd0.c has it; 76 and 49 lie ahead of 2026.
  const cases = [
    ["770101", "1977-01-01"], ["760101", ""], ["000101", "2000-01-01"], ["261125", "2026-11-25"],
    ["261126", ""], ["261100", "2026-11"], ["261200", ""], ["490101", ""], ["991231", "1999-12-31"],
  ];
  for (const [date, want] of cases) assert.equal(productionDate(date ?? "", TODAY), want, date);
  assert.equal(productionDate("010101", "2050-06-01"), "2001-01-01");
  assert.equal(productionDate("010101", "2051-06-01"), ""); // 2101
  assert.equal(productionDate("990101", "2049-06-01"), ""); // 2099
  assert.equal(productionDate("000101", "2050-06-01"), ""); // 2100
});

test("what is printed below a code is read too", () => {
  assert.equal(brief(readBracketed(`(01)${GTIN}(21)KP1400031`)), `(01)${GTIN}(21)KP1400031`);
  assert.equal(brief(readBracketed(`(01) ${GTIN} (21) KP(7)`)), `(01)${GTIN}(21)KP(7)`);
  for (const text of ["", "(01)1", "(2)X", "(xx)7", "(01", `(01)${GTIN}(04)1`, "(21)", "a (21)b"]) {
    assert.equal(readBracketed(text), null, text);
  }
});

test("Digital Link addresses are read as GS1's engine reads them", () => {
  // dl.c, tests of gs1/gs1-syntax-engine @50657db.
  const cases = [
    [`https://id.gs1.org/01/${GTIN}/21/12345`, `(01)${GTIN}(21)12345`],
    ["https://example.com/01/12312312312333/10/ABC123/21/XYZ?99=XYZ",
      "(01)12312312312333(10)ABC123(21)XYZ(99)XYZ"],
    ["https://example.com/01/12312312312333/10/ABC%2B123?99=XYZ%2BQWERTY",
      "(01)12312312312333(10)ABC+123(99)XYZ+QWERTY"],
    [`https://example.com/some/stem/01/${GTIN}?11=230400&linkType=x`, `(01)${GTIN}(11)230400`],
    [`HTTPS://EXAMPLE.COM/01/${GTIN}/21/A#part`, `(01)${GTIN}(21)A`],
    ["https://example.com/01/02345673", "(01)00000002345673"], // GTIN-8
    ["https://example.com/01/416000336108", "(01)00416000336108"], // GTIN-12
    ["https://example.com/01/1234567890128", "(01)01234567890128"], // GTIN-13
    [`https://example.com/01/${GTIN}/235/Q7`, `(01)${GTIN}(235)Q7`],
  ];
  for (const [text, want] of cases) assert.equal(brief(readLink(text ?? "")), want, text);
});

test("an address that breaks the syntax is no Digital Link", () => {
  const broken = [
    "", "https://example.com/", "https://example.com/01", "https://example.com/01/123456789",
    "https://example.com/01/09520123456789", `https://example.com/01/${GTIN}/21`,
    `https://example.com/01/${GTIN}/21/X/10/Y`, `https://example.com/01/${GTIN}/21/%`,
    `https://example.com/01/${GTIN}/235/A/21/B`, `https://example.com/01/${GTIN}/21/A?21=B`,
    `https://example.com/01/${GTIN}?11=231301`, `ftp://example.com/01/${GTIN}`,
    `https://example.com/01/${GTIN}/7/X`, `https:/example.com/01/${GTIN}`,
  ];
  for (const text of broken) assert.equal(readLink(text), null, text);
});
