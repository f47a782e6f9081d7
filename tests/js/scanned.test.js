/** Scanned plates: what of a code goes into the box. */

import assert from "node:assert/strict";
import test from "node:test";

import { gathered, readScan, worth } from "../../site/core/scanned.js";

const TODAY = "2026-11-25";
const GTIN = "09520123456788";
const GS = "\x1d";

/** @param {string} raw */
const box = (raw) => readScan(raw, TODAY).text;

test("model, serial and date of a plate are told apart", () => {
  const whole = readScan(`]d201${GTIN}11230400240TD45A/3${GS}21KP1400031`, TODAY);
  assert.deepEqual(whole, {
    text: "TD45A/3 KP1400031", model: "TD45A/3", serial: "KP1400031", gtin: GTIN, made: "2023-04",
  });
  assert.equal(box(`]C101${GTIN}241TD45B${GS}21LS0100007`), "TD45B LS0100007");
  assert.equal(box(`]Q301${GTIN}21KP1400031`), "KP1400031");
  assert.equal(box(`(01)${GTIN}(250)KP1400031`), "KP1400031");
  assert.equal(box(`01${GTIN}`), GTIN);
  assert.equal(box(`https://id.example/01/${GTIN}/21/KP14?240=TD45A%2F3`), "TD45A/3 KP14");
  assert.equal(box("]C18004952012345TUB7"), "952012345TUB7");
});

test("plain text stays what it is, in one line", () => {
  const cases = [
    ["TD45A/3 KP1400031", "TD45A/3 KP1400031"],
    ["  TD45A/3\r\nKP1400031\n", "TD45A/3 KP1400031"],
    ["TD45A\tK P 14 00031", "TD45A K P 14 00031"],
    ["KP1400031", "KP1400031"],
    ["2112345678", "2112345678"], // a serial, though it begins like an element
    ["240000117", "240000117"],
    ["]C0KP1400031", "KP1400031"],
    ["]Q1KP1400031", "KP1400031"],
    ["", ""],
    [GS, ""],
    ["]C1KP1400031", "KP1400031"], // marked as GS1 and is none
    ["01099TD45A", "01099TD45A"],
    [`01${GTIN.slice(0, 13)}121X`, `01${GTIN.slice(0, 13)}121X`], // wrong check digit
  ];
  for (const [raw, want] of cases) assert.equal(box(raw ?? ""), want, JSON.stringify(raw));
});

test("labelled plates give model and serial, whatever stands around them", () => {
  const plates = [
    "MOD: TD45A/3 S/N: KP1400031",
    "MOD.TD45A/3\nSER.KP1400031",
    "Model TD45A/3\r\nSerial KP1400031\r\n230 V 50 Hz",
    "Model No.: TD45A/3; Serial No.: KP1400031; 2200 W",
    "MODEL=TD45A/3|SN=KP1400031",
    "S/N KP1400031 M/N TD45A/3",
    "Hollin Ridge dishwasher, type TD45A/3 220-240 V, serial number KP1400031",
    '{"model": "TD45A/3", "serial": "KP1400031"}',
    "Type: TD45A/3 Serial nr: KP1400031 1.9 kW 10 bar",
  ];
  for (const plate of plates) {
    const { text, model, serial } = readScan(plate, TODAY);
    assert.deepEqual([model, serial], ["TD45A/3", "KP1400031"], plate);
    assert.equal(text, "TD45A/3 KP1400031", plate);
  }
});

test("half a labelled plate loses nothing of the other half", () => {
  assert.equal(box("MOD: TD45A/3\nKP1400031"), "TD45A/3 KP1400031");
  assert.equal(box("TD45A/3\nS/N KP1400031"), "TD45A/3 KP1400031");
  assert.equal(box("model unknown, serial KP14"), "model unknown, KP14");
  assert.equal(readScan("model unknown, serial KP1400031", TODAY).model, "");
});

test("addresses of a site give what they ask for or lead to", () => {
  const cases = [
    ["https://service.example/bulletins/2026-014/", "2026-014"],
    ["https://service.example/a/b/models/TD45A/KP14/", "TD45A"],
    ["https://service.example/?q=hums&model=TD45A&serial=KP1400031", "hums TD45A KP1400031"],
    ["https://maker.example/register?sn=KP1400031&m=TD45A", "TD45A KP1400031"],
    ["https://maker.example/p/TD45A/KP1400031", "p TD45A KP1400031"],
    ["https://maker.example", ""],
  ];
  for (const [raw, want] of cases) assert.equal(box(raw ?? ""), want, raw);
});

/** @param {...string} raws */
const gather = (...raws) => gathered(raws.map((raw) => readScan(raw, TODAY)));

test("what a code is worth depends on what it says of the machine", () => {
  const cases = [
    [`01${GTIN}240TD45A${GS}21KP14`, 4], ["MOD: TD45A S/N: KP1400031", 4], [`01${GTIN}21KP14`, 3],
    ["S/N KP1400031", 3], [`01${GTIN}240TD45A`, 2], ["TD45A/3 KP1400031", 1], ["KP1400031", 1],
    [`01${GTIN}`, 0], ["https://maker.example/support", 0], ["Hollin Ridge", 0], ["", 0],
  ];
  for (const [raw, want] of cases) assert.equal(worth(readScan(`${raw}`, TODAY)), want, `${raw}`);
});

test("one code that says all is enough, whatever else stands on the plate", () => {
  const whole = `01${GTIN}240TD45A/3${GS}21KP1400031`;
  assert.equal(gather("9120077", whole, "https://maker.example/1"), "TD45A/3 KP1400031");
});

test("two codes that say half each are put together, the model first", () => {
  assert.equal(gather("S/N: KP1400031", "MOD: TD45A/3"), "TD45A/3 KP1400031");
  assert.equal(gather(`01${GTIN}21KP1400031`, "MOD: TD45A/3"), "TD45A/3 KP1400031");
  assert.equal(gather("KP1400031", "TD45A/3"), "KP1400031 TD45A/3");
  assert.equal(gather(`01${GTIN}21KP1400031`, "TD45A/3"), "KP1400031 TD45A/3");
});

test("codes that say nothing leave the box as it is, and many codes do not fill it", () => {
  assert.equal(gather(), "");
  assert.equal(gather(`01${GTIN}`, "https://maker.example/support"), "");
  assert.equal(gather("1A", "2A", "3A", "4A", "5A"), "1A 2A 3A");
  assert.equal(gather("KP1400031", "KP1400031"), "KP1400031");
});
