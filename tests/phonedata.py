"""A house written for the phone, and the phone's reader of it asked from Python, in Node."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from kb import phone
from kb.house import read_house
from kb.markup import Body, read
from kb.records import Bulletin, House
from tests.nodejs import ask_node

TODAY = date(2026, 11, 25)

_SCRIPT = """
import { readFile } from "node:fs/promises";
import { openHouse } from "SITE/data/house.js";
import { settle } from "SITE/data/missing.js";
const fetched = [];
async function fetchBytes(path) {
  const bytes = await readFile(`${asked.folder}/${path}`);
  fetched.push([path, bytes.length]);
  return bytes;
}
function plainly(value) {
  if (value instanceof Map || value instanceof Set) return [...value];
  if (ArrayBuffer.isView(value)) return Array.from(value);
  if (value && value.docs) return Object.fromEntries(
    Object.entries(value).map(([key, held]) => [key, Array.from(held)]));
  return value;
}
const house = await openHouse(fetchBytes, asked.start);
const answers = [];
for (const [name, ...given] of asked.questions) {
  const before = fetched.length;
  let trips = 0;
  const counted = { load: (names) => { trips += 1; return house.load(names); } };
  const value = await settle(counted, () => {
    const member = house[name];
    return typeof member === "function" ? house[name](...given) : member;
  });
  const bytes = fetched.slice(before).reduce((sum, [, size]) => sum + size, 0);
  answers.push({ value: plainly(value) ?? null, trips, bytes, pieces: fetched.length - before });
}
answer(answers);
"""


def written(house: House, today: date = TODAY) -> phone.Written:
    """Return *house* as it is written for the phone."""

    @cache
    def body(number: str) -> Body:
        return next(read(b.body, b.body_line) for b in house.bulletins if b.number == number)

    def of(bulletin: Bulletin) -> Body:
        return body(bulletin.number)

    return phone.write(house, today, of)


@dataclass(frozen=True, slots=True)
class Carried:
    """A house written for the phone into *folder*."""

    folder: Path
    house: House
    made: phone.Written

    def ask(self, questions: Iterable[Sequence[Any]]) -> list[Any]:
        """Return what the phone's reader answers to each question: a method and what it is given.

        All are asked in turn of one reader, which fetches what it needs.
        """
        return [answer["value"] for answer in self.asked(questions)]

    def asked(self, questions: Iterable[Sequence[Any]]) -> list[dict[str, Any]]:
        """Return answers with the round trips, pieces and bytes that each of them cost."""
        payload = {
            "folder": str(self.folder),
            "start": self.made.start.path,
            "questions": [list(question) for question in questions],
        }
        answers: list[dict[str, Any]] = ask_node(_SCRIPT, payload)
        return answers


def carried(source: Path, out: Path) -> Carried:
    """Write the house in *source* for the phone into *out*."""
    house = read_house(source)
    made = written(house)
    for asset in made.assets():
        target = out / asset.path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(asset.content)
    return Carried(out, house, made)
