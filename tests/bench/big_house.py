"""Write a sound house of any size: python tests/bench/big_house.py DIR [--bulletins N] …

    python tests/bench/big_house.py DIR --bulletins 20000 --models 5000 --parts 200000 --seed 1

Every name, number and word in it is made up by rule from the seed: the same seed, the same house.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from tests.bench import big_tables
from tests.bench.big_speech import Speaker
from tests.bench.big_tables import Line

_KINDS = {
    "repair": 55,
    "normal": 10,
    "running-change": 12,
    "parts": 10,
    "reference": 6,
    "introduction": 4,
    "safety": 3,
}
_HAZARDS = [
    "electricity",
    "hot-water",
    "sharp-edges",
    "moving-parts",
    "heavy",
    "hot-surface",
    "pressure",
    "chemicals",
]
_LAST_DAY = date(2026, 11, 20)


class Writer:
    """Writes the bulletins of a house, one after another."""

    def __init__(self, rng: Random, lines: Sequence[Line]) -> None:
        self.rng = rng
        self.lines = lines
        self.speaker = Speaker(rng)
        self.numbers: dict[str, list[str]] = {line.name: [] for line in lines}

    def bulletin(self, number: str, issued: date) -> str:
        """Return the text of one bulletin."""
        line = self.rng.choice(
            [at for at in self.lines if at.first < issued.year] or self.lines[:1]
        )
        component = self.rng.choice(
            [name for name in line.components if name not in big_tables.kept(line)]
        )
        kind = self.rng.choices(list(_KINDS), list(_KINDS.values()))[0]
        head = [
            f"number: {number}",
            f"title: {json.dumps(self.speaker.say('title', component))}",
            f"kind: {kind}",
            f"issued: {issued}",
            *self._where(line, issued, kind == "safety"),
            f"component: {json.dumps(component)}",
            *self._told(line, component, kind),
            *self._relations(line, number),
        ]
        return "\n".join(["---", *head, "---", *self._body(line, component, kind)]) + "\n"

    # Where it applies

    def _where(self, line: Line, issued: date, bounded: bool) -> Iterator[str]:
        yield f"family: {line.name}"
        if self.rng.random() < 0.6:
            yield f"models: {json.dumps(self._models(line))}"
        if bounded or self.rng.random() < 0.6:
            yield f"built: {self._built(line, issued, bounded)}"
        if self.rng.random() < 0.15:
            yield f"revision: {self.rng.choice(('2..', '..3', '2..4', '3'))}"
        if len(line.schemes) == 1 and self.rng.random() < 0.1:
            yield f"plant: {self.rng.choice(line.plants)}"
        if len(line.models) > 3 and self.rng.random() < 0.12:
            yield f"except: {{models: {self.rng.choice(line.models)}, revision: 4..}}"

    def _models(self, line: Line) -> list[str]:
        start = line.models[0][:2]
        model = self.rng.choice(line.models)
        patterns = ([f"{start}??{model[-1]}"], [f"{model[:4]}?"], [f"{start}*{model[-1]}", model])
        few = sorted(self.rng.sample(line.models, min(len(line.models), self.rng.randint(1, 6))))
        return self.rng.choice((*patterns, few))

    def _built(self, line: Line, issued: date, bounded: bool) -> str:
        last = min(line.last or 2026, issued.year)
        first = self.rng.randint(line.first, max(line.first, last - 1))
        start = self.rng.choice(
            (f"{first}-{self.rng.randint(4, 12):02}", f"{first}-W{self.rng.randint(20, 52)}")
        )
        end = f"{last}-{self.rng.randint(1, 12):02}" if last > first else f"{last}-12"
        ways = [f"{start}..{end}"] * 3 + ([] if bounded else [f"..{end}", f"{start}.."])
        return self.rng.choice(ways)

    # What is said in front

    def _told(self, line: Line, component: str, kind: str) -> Iterator[str]:
        if kind in ("repair", "normal", "safety"):
            symptoms = {
                self.speaker.say("symptom", component) for _ in range(self.rng.randint(1, 5))
            }
            yield f"symptoms: {json.dumps(sorted(symptoms))}"
        if kind in ("repair", "normal") and self.rng.random() < 0.5:
            codes = self.rng.sample(line.codes, self.rng.randint(1, 2))
            yield f"codes: [{', '.join(codes)}]"
        if kind in ("repair", "safety", "running-change"):
            yield f"hazards: [{', '.join(self.rng.sample(_HAZARDS, self.rng.randint(1, 3)))}]"
            tools = {self.speaker.word("tool*") for _ in range(self.rng.randint(1, 4))}
            yield f"tools: {json.dumps(sorted(tools))}"
            yield f"minutes: {self.rng.randrange(10, 120, 5)}"
        if kind == "repair":
            yield from self._checks(line, component)
        if kind != "normal" and line.parts.get(component):
            yield from self._parts(line, component)
        if kind in ("repair", "normal") and self.rng.random() < 0.15:
            yield f"keep: {json.dumps(big_tables.kept(line))}"

    def _checks(self, line: Line, component: str) -> Iterator[str]:
        yield "checks:"
        number = self.rng.randint(2, 5)
        causes = sorted({self.speaker.word("cause*", component) for _ in range(number)})
        for at, cause in enumerate(causes):
            test = self.speaker.say("sentence", component).rstrip(".")
            yield f"  - cause: {json.dumps(cause)}"
            yield f"    test: {json.dumps(test)}"
            yield f"    likelihood: {self.rng.randint(1, 95 // len(causes)) / 100}"
            yield f"    minutes: {self.rng.randint(1, 25)}"
            yield f"    fix: {json.dumps('new ' + self.speaker.word('rare*'))}"
            numbers = line.parts.get(component)
            if numbers and self.rng.random() < 0.5:
                yield f"    parts: [{self.rng.choice(numbers)}]"
            if at == len(causes) - 1 and at and self.rng.random() < 0.3:
                yield "    last: yes"

    def _parts(self, line: Line, component: str) -> Iterator[str]:
        numbers = line.parts[component]
        yield "parts:"
        for number in self.rng.sample(numbers, min(len(numbers), self.rng.randint(1, 2))):
            note = self.rng.choice(("", ", in-hand: yes", f", note: {self.speaker.word('rare*')}"))
            yield f"  - {{number: {number}{note}}}"

    def _relations(self, line: Line, number: str) -> Iterator[str]:
        before = self.numbers[line.name]
        if before and self.rng.random() < 0.08:
            yield f"supersedes: [{before.pop(self.rng.randrange(len(before)))}]"
        if before and self.rng.random() < 0.4:
            few = self.rng.sample(before, min(len(before), self.rng.randint(1, 3)))
            yield f"related: [{', '.join(sorted(few))}]"
        before.append(number)

    # What is said below

    def _body(self, line: Line, component: str, kind: str) -> Iterator[str]:
        target = self.rng.randint(120, 400)
        words = 0
        while words < target:
            said = [self.speaker.say("sentence", component) for _ in range(self.rng.randint(1, 5))]
            words += sum(len(sentence.split()) for sentence in said)
            yield from self._block(said)
        if kind == "safety" or self.rng.random() < 0.2:
            yield "::: warning\nLive parts lie open once the cover is off; a shock can kill.\n:::"
        if line.parts.get(component) and self.rng.random() < 0.2:
            yield f"\nOrder {self.rng.choice(line.parts[component])}, nothing else."

    def _block(self, said: Sequence[str]) -> Iterator[str]:
        chance = self.rng.random()
        if chance < 0.12:
            yield f"## {self.speaker.word('rare*').capitalize()}\n"
        if chance > 0.8 and len(said) > 1:
            yield from (f"{at}. {sentence}" for at, sentence in enumerate(said, 1))
            yield ""
        else:
            yield " ".join(said) + "\n"


def write_house(folder: Path, bulletins: int, models: int, parts: int, seed: int = 1) -> None:
    """Write a house with so many bulletins, models and rows of parts.csv into *folder*."""
    rng = Random(seed)
    lines = big_tables.families(rng, models)
    rows = big_tables.parts_csv(rng, lines, parts)
    reference = folder / "reference"
    reference.mkdir(parents=True, exist_ok=True)
    for name, text in {
        "house.yaml": "name: Thornmere\nlanguage: en\nunits: metric\n"
        "site: https://service.thornmere.example/\ncontact: desk@thornmere.example\n",
        "families.yaml": big_tables.families_yaml(lines),
        "serials.yaml": big_tables.serials_yaml(),
        "words.yaml": big_tables.words_yaml(),
        "parts.csv": rows,
        "kits.csv": big_tables.kits_csv(rows),
    }.items():
        (reference / name).write_text(text, encoding="utf-8")
    _write_bulletins(folder, Writer(rng, lines), bulletins)


def _write_bulletins(folder: Path, writer: Writer, number: int) -> None:
    first = date(2013, 1, 7)
    days = (_LAST_DAY - first).days
    counts: dict[int, int] = {}
    for at in range(number):
        issued = first + timedelta(days=days * at // number)
        counts[issued.year] = counts.get(issued.year, 0) + 1
        name = f"{issued.year}-{counts[issued.year]:04}"
        path = folder / str(issued.year) / f"{name}.md"
        path.parent.mkdir(exist_ok=True)
        path.write_text(writer.bulletin(name, issued), encoding="utf-8")


def main(arguments: Sequence[str] | None = None) -> None:
    """Read the command line and write the house."""
    reader = argparse.ArgumentParser(description="Write a sound house of any size.")
    reader.add_argument("folder", type=Path)
    for name, usual in {"bulletins": 300, "models": 120, "parts": 3000, "seed": 1}.items():
        reader.add_argument(f"--{name}", type=int, default=usual)
    asked = reader.parse_args(arguments)
    write_house(asked.folder, asked.bulletins, asked.models, asked.parts, asked.seed)


if __name__ == "__main__":
    main()
