"""Single mistakes that a clerk makes, put into sound houses at random places.

Each kind of mistake is tried at several places of the small house of tests/cases/proof.md and of
the demo house; every one of them must be reported in the file, and on the line, where it stands,
and the untouched house must say nothing of it.
"""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.errors import Problem
from kb.house import read_house
from kb.proof import run
from tests.proof_cases import TODAY, load, told, write

DEMO = Path(__file__).parent.parent / "bulletins"
PLACES = {"small": 3, "demo": 1}  # places tried for each kind of mistake, by house
SEED = 20261125

Text = dict[str, str]


class Slip(NamedTuple):
    """One mistake made: the file, the line where it must be told, and the file's new text."""

    file: str
    line: int
    text: str
    near: int = 0  # so many lines after it are as good: where a thing is missing, say


Maker = Callable[[Text, random.Random], Iterator[Slip]]


def _bulletins(files: Text) -> list[str]:
    return sorted(f for f in files if f.endswith(".md") and files[f].startswith("---\n"))


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


def _front(text: str) -> int:
    """Return where the front matter ends."""
    return text.index("\n---", 3) + 1


def put(
    pattern: str,
    new: str | Callable[[re.Match[str], random.Random], str],
    inside: str = "bulletin",
    near: int = 0,
    down: int = 0,
) -> Maker:
    """Return a maker that replaces one place where *pattern* fits, of one file chosen at random.

    *inside* is ``front``, ``body``, ``bulletin`` or a file below reference; *down* is how many
    lines below the place the problem belongs.
    """
    form = re.compile(pattern, re.MULTILINE)

    def make(files: Text, dice: random.Random) -> Iterator[Slip]:
        names = _bulletins(files) if inside in ("front", "body", "bulletin") else [inside]
        names = [name for name in names if name in files]
        dice.shuffle(names)
        for name in names:
            text = files[name]
            places = [f for f in form.finditer(text) if _wanted(text, f.start(), inside)]
            if places:
                found = dice.choice(places)
                typed = new(found, dice) if callable(new) else found.expand(new)
                changed = text[: found.start()] + typed + text[found.end() :]
                if changed != text:
                    yield Slip(name, _line(text, found.start()) + down, changed, near)

    return make


def _wanted(text: str, at: int, inside: str) -> bool:
    if inside == "front":
        return at < _front(text)
    return inside != "body" or at > _front(text)


def swapped(found: re.Match[str], dice: random.Random) -> str:
    """Swap two unlike neighbouring letters of the last group."""
    word = found.groups()[-1]
    inner = [i for i in range(1, len(word) - 1) if word[i] != word[i + 1]]
    at = dice.choice([i for i in inner if word[i : i + 2].isalpha()] or inner)
    slip = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    whole = found.group()
    start = found.start(found.re.groups) - found.start()
    return whole[:start] + slip + whole[start + len(word) :]


def digits_swapped(found: re.Match[str], dice: random.Random) -> str:
    """Make the last digit of the last group another one that leaves no known number."""
    word = found.groups()[-1]
    at = max(i for i, c in enumerate(word) if c.isdigit())
    whole = found.group()
    start = found.start(found.re.groups) - found.start()
    wrong = f"{word[:at]}{9 - int(word[at])}7{word[at + 1 :]}"
    return whole[:start] + wrong + whole[start + len(word) :]


def row(change: Callable[[list[str]], list[str]], file: str, wants: str = "") -> Maker:
    """Return a maker that changes the cells of one row of a table."""

    def make(files: Text, dice: random.Random) -> Iterator[Slip]:
        lines = files[f"reference/{file}"].split("\n")
        places = [
            i for i in range(1, len(lines)) if re.search(wants, lines[i]) and '"' not in lines[i]
        ]
        places = [i for i in places if lines[i].strip()]
        dice.shuffle(places)
        for i in places:
            changed = [*lines[:i], ",".join(change(lines[i].split(","))), *lines[i + 1 :]]
            yield Slip(f"reference/{file}", i + 1, "\n".join(changed))

    return make


def cell(at: int, new: str) -> Callable[[list[str]], list[str]]:
    return lambda cells: [new if i == at else c for i, c in enumerate(cells)]


def again(files: Text, dice: random.Random) -> Iterator[Slip]:
    """Copy a row of parts.csv to the end of the table."""
    text = files["reference/parts.csv"].rstrip("\n") + "\n"
    chosen = dice.choice(text.splitlines()[1:])
    yield Slip("reference/parts.csv", text.count("\n") + 1, f"{text}{chosen}\n")


def number_of_another(files: Text, dice: random.Random) -> Iterator[Slip]:
    """Give a bulletin the number of one that stands before it."""
    names = _bulletins(files)
    first, second = sorted(dice.sample(names, 2))
    number = re.search(r"^number: *(\S+)", files[first], re.MULTILINE)
    text = files[second]
    found = re.search(r"^number: *(\S+)", text, re.MULTILINE)
    assert number and found
    changed = text[: found.start(1)] + number[1] + text[found.end(1) :]
    yield Slip(second, _line(text, found.start()), changed)


def key_gone(key: str) -> Maker:
    """Leave out a whole line of the front matter."""
    return put(rf"^{key}:.*\n", "", "front", near=40, down=-200)


FAMILY = r"^family: ([A-Z]\w+)$"
PART = r"(HR-\d[\w-]+)"

MISTAKES: dict[str, Maker] = {
    # Keys
    "a letter swapped in a key": put(
        r"^(title|issued|component|symptoms|family):", swapped, "front"
    ),
    "a key that does not exist": put(r"^kind:", "urgency: high\nkind:", "front"),
    "a key twice": put(r"^(issued: .*)$", r"\1\n\1", "front", down=1),
    "no blank behind a colon": put(r"^(issued): ", r"\1:", "front"),
    "a tab before a key": put(r"^(issued:)", r"\t\1", "front"),
    "a title without quotes that holds a colon": put(r"^title: .*$", "title: Pump: hums", "front"),
    "a quote opened and not closed": put(r"^title: .*$", 'title: "Pump hums', "front", near=60),
    "a bracket opened and not closed": put(
        r"^symptoms: \[(.*)\]$", r"symptoms: [\1", "front", near=9
    ),
    "no number": key_gone("number"),
    "no title": key_gone("title"),
    "no kind": key_gone("kind"),
    "no date of issue": key_gone("issued"),
    "an empty title": put(r"^title: .*$", "title:", "front"),
    "no end of the front matter": put(r"^---$(?=\n[^-]*\Z)", "", "bulletin", near=200, down=-200),
    # Words from a list
    "a mistyped kind": put(r"^kind: (\w+)", swapped, "front"),
    "a status that does not exist": put(r"^kind:", "status: active\nkind:", "front"),
    "superseded typed as a status": put(r"^kind:", "status: superseded\nkind:", "front"),
    "a mistyped hazard": put(r"^hazards: \[(\w+)", swapped, "front"),
    # Dates
    "a 30th of February": put(r"^issued: .*$", "issued: 2026-02-30", "front"),
    "day and month the American way": put(r"^issued: .*$", "issued: 03/02/2026", "front"),
    "a date of the future": put(r"^issued: 20(\d\d)", "issued: 2031", "front"),
    "revised before issued": put(r"^(issued: .*)$", r"\1\nrevised: 2001-01-01", "front", down=1),
    "a week 53 of 52": put(r"^built: .*$", "built: 2023-W53..2024-W10", "front"),
    "a 13th month": put(r"^built: .*$", "built: 2024-13", "front"),
    "a range the wrong way round": put(r"^built: .*$", "built: 2024-W20..2024-W10", "front"),
    "three dots": put(r"^built: .*$", "built: 2024...2025", "front"),
    "a hyphen for the two dots": put(r"^built: .*$", "built: 2023-W10 - 2024-W10", "front"),
    "a range before all production": put(r"^built: .*$", "built: 1987..1990", "front"),
    # Where it applies
    "a mistyped family": put(FAMILY, swapped, "front"),
    "a family that does not exist": put(FAMILY, "family: Ullswater", "front"),
    "a model with a digit behind it": put(r"^models: \[\w\w\d+\w", r"\g<0>4", "front"),
    "a model that does not exist": put(r"^models: \[", "models: [ZX99Q, ", "front"),
    "a pattern that fits nothing": put(r"^models: \[", "models: [QQ*, ", "front"),
    "a plant that does not exist": put(FAMILY, r"\g<0>\nplant: Z", "front", down=1),
    "revisions the wrong way round": put(FAMILY, r"\g<0>\nrevision: 4..2", "front", down=1),
    "a revision that is no number": put(FAMILY, r"\g<0>\nrevision: B", "front", down=1),
    "a serial too short": put(FAMILY, r"\g<0>\nserials: [KP14]", "front", down=1),
    "a serial of no plant": put(FAMILY, r"\g<0>\nserials: [Z Z 99 99999]", "front", down=1),
    "an exception for all of it": put(FAMILY, r"\g<0>\nexcept: {family: \1}", "front", near=9),
    # Other bulletins
    "the number of another bulletin": number_of_another,
    "a related number that is none": put(r"^kind:", "related: [1999-999]\nkind:", "front"),
    "a superseded number that is none": put(r"^kind:", "supersedes: 1999-999\nkind:", "front"),
    "related to itself": put(r"^number: *(\S+)$", r"\g<0>\nrelated: [\1]", "front", down=1),
    "superseding itself": put(r"^number: *(\S+)$", r"\g<0>\nsupersedes: \1", "front", down=1),
    # Parts, checks, codes, components
    "a mistyped component": put(r"^component: ([a-z]{6,}[ a-z]*)$", swapped, "front"),
    "a component for no part": put(r"^component: .*$", "component: gramophone horn", "front"),
    "a part number with a wrong digit": put(rf"number: {PART}", digits_swapped, "front"),
    "a part number of a check with a wrong digit": put(
        rf"^ +parts: \[{PART}", digits_swapped, "front"
    ),
    "a part to keep that is none": put(r"^kind:", "keep: [ZZ-999-1]\nkind:", "front"),
    "a part with no number": put(rf"number: {PART}", "quantity: 1", "front", near=2, down=-1),
    "a quantity of none": put(rf"(number: {PART})", r"\1, quantity: none", "front", near=1),
    "a likelihood in per cent": put(r"likelihood: 0\.\d+", "likelihood: 50", "front"),
    "a likelihood with a comma": put(r"likelihood: 0\.", "likelihood: 0,", "front"),
    "likelihoods over one": put(
        r"likelihood: 0\.\d+", "likelihood: 0.99", "front", near=40, down=-60
    ),
    "minutes in words": put(r"^( +)minutes: \d+", r"\1minutes: ten", "front"),
    "before a cause that is none": put(
        r"^( +)likelihood: .*$", r"\g<0>\n\1before: [no such cause]", "front", down=1
    ),
    "a check that waits for itself": put(
        r"^  - cause: (.*)$", r'\g<0>\n    before: ["\1"]', "front", down=1
    ),
    "a key of a check mistyped": put(r"^ +(likelihood|minutes):", swapped, "front"),
    # The body
    "a panel that is not closed": put(r"^::: \w+\n(?:.+\n)+?:::\n", lambda m, _: m[0][:-4], "body"),
    "a panel with a word that is none": put(
        r"^::: (danger|warning|caution|notice)", swapped, "body"
    ),
    "a panel closed and never opened": put(r"\n\n(?=\w)", "\n\n:::\n\n", "body", down=2),
    "a picture that is missing": put(r"(!\[[^\]]*\]\([^)]*)\.svg\)", r"\1-2.svg)", "body"),
    "a picture without words": put(r"!\[[^\]]*\]\(", "![](", "body"),
    "a picture from the web": put(r"(!\[[^\]]*\]\()", r"\1https://example.org/", "body"),
    "a picture above the house": put(r"(!\[[^\]]*\]\()", r"\1../../../", "body"),
    "a link that runs a script": put(
        r"\n\n(?=\w)", "\n\n[look](javascript:alert)\n\n", "body", down=2
    ),
    "a quantity with a unit that is none": put(r"\n\n(?=\w)", "\n\n{12 Nmx}\n\n", "body", down=2),
    "a bulletin number that is none": put(
        r"\n\n(?=\w)", "\n\nSee 1999-999 too.\n\n", "body", down=2
    ),
    # The tables
    "a row with a cell too many": row(lambda cells: [*cells, "x"], "parts.csv"),
    "a row with a cell too few": row(lambda cells: cells[:-2], "parts.csv"),
    "a row twice": again,
    "a status that is none": row(cell(3, "sold out"), "parts.csv"),
    "a successor that is none": row(cell(4, "ZZ-999-1"), "parts.csv", r",(same|forward),"),
    "a part that follows itself": row(lambda c: cell(4, c[0])(c), "parts.csv", r",(same|forward),"),
    "a relation that is none": row(cell(5, "equal"), "parts.csv", r",(same|forward|kit),"),
    "a changed part without note": row(cell(8, ""), "parts.csv", r",changed,.*,[^,]+$"),
    "a part for a model that is none": row(
        cell(6, "ZX99Q"), "parts.csv", r"^[^,]+,[^,]+,[^,]+,current"
    ),
    "a formula for a name": row(cell(1, "=1+1"), "parts.csv"),
    "a date that is none": row(cell(7, "spring 24"), "parts.csv"),
    "a part sold in what is no kit": row(lambda c: cell(4, c[0])(c), "parts.csv", ",kit,"),
    "a kit with an unknown part": row(cell(1, "ZZ-999-1"), "kits.csv"),
    "a kit that is unknown": row(cell(0, "ZZ-999-1"), "kits.csv"),
    "a kit that holds itself": row(lambda cells: cell(1, cells[0])(cells), "kits.csv"),
    "a quantity that is no number": row(cell(2, "some"), "kits.csv"),
    "semicolons for commas": put(
        r"\A.*$", lambda m, _: m[0].replace(",", ";"), "reference/parts.csv"
    ),
    "an example with a wrong week": put(
        r"built: (20\d\d-W)(\d\d)", r"built: \g<1>31", "reference/serials.yaml"
    ),
    "an example with a wrong plant": put(r"plant: K,", "plant: Q,", "reference/serials.yaml"),
    "a scheme that is none": put(r"scheme: (hollin)", swapped, "reference/families.yaml"),
    "units that are none": put(r"^units: (metric)", swapped, "reference/house.yaml"),
    "a key of the house mistyped": put(r"^(contact|language):", swapped, "reference/house.yaml"),
    "a wrong word made itself": put(
        r"^( +)(\w+): (\w+)$", r"\1\3: \3", "reference/words.yaml", near=99, down=-99
    ),
}


def _demo() -> Text:
    names = [p for p in sorted(DEMO.rglob("*")) if p.suffix in (".md", ".csv", ".yaml", ".svg")]
    return {p.relative_to(DEMO).as_posix(): p.read_text("utf-8") for p in names}


class Sound(NamedTuple):
    """A sound house in a folder, its texts, and what the proof says of it untouched."""

    name: str
    folder: Path
    files: Text
    known: frozenset[tuple[str, str, str]]


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Sound]:
    """Both houses by name, each written and proofed once for all mistakes."""
    small, demo = (tmp_path_factory.mktemp(name) for name in PLACES)
    write(small, load().house)
    shutil.copytree(DEMO, demo, dirs_exist_ok=True)
    return {
        name: Sound(name, folder, files, frozenset(map(_key, _proofed(folder))))
        for name, folder, files in (("small", small, load().house), ("demo", demo, _demo()))
    }


def _proofed(folder: Path) -> list[Problem]:
    return run(read_house(folder), TODAY)


def _key(problem: Problem) -> tuple[str, str, str]:
    """What is said, but for the line: a line put in moves all that stand below it."""
    return problem.file, problem.rule, problem.message


def missed(house: Sound, slip: Slip) -> str:
    """Make one mistake, and return what is said instead where it is not told in its place."""
    path = house.folder / slip.file
    path.write_text(slip.text, "utf-8")
    try:
        new = [p for p in _proofed(house.folder) if _key(p) not in house.known]
    finally:
        path.write_text(house.files[slip.file], "utf-8")
    if any(p.file == slip.file and p.line in _around(slip) for p in new):
        return ""
    return f"not told at {slip.file}:{slip.line}\n" + "\n".join(map(told, new))


def _fits(mistake: str, files: Text) -> bool:
    return any(True for _ in MISTAKES[mistake](files, random.Random(f"{SEED} {mistake}")))


# The small house takes every mistake that it has a place for; the demo house, which takes far
# longer to read, those that are left and every fourth.
TRIED = [("small", mistake) for mistake in MISTAKES if _fits(mistake, load().house)]
TRIED += [("demo", m) for n, m in enumerate(MISTAKES) if n % 4 == 0 or ("small", m) not in TRIED]


@pytest.mark.parametrize(("name", "mistake"), TRIED)
def test_a_mistake_is_told_where_it_stands(
    name: str, mistake: str, houses: dict[str, Sound]
) -> None:
    house = houses[name]
    dice = random.Random(f"{SEED} {mistake}")
    slips = list(islice(MISTAKES[mistake](house.files, dice), PLACES[house.name]))
    assert slips, f"{mistake} is never tried"
    assert [missed(house, slip) for slip in slips] == [""] * len(slips)


def _around(slip: Slip) -> range:
    """Return the lines on which it is as well told: *near* lines from its own on."""
    first = max(1, slip.line)
    return range(first, first + max(slip.near, first - slip.line) + 1)


def test_every_mistake_is_tried() -> None:
    assert {mistake for _, mistake in TRIED} == set(MISTAKES)
    assert len(MISTAKES) >= 60


def test_the_demo_house_has_no_error() -> None:
    found = run(read_house(DEMO), TODAY)
    assert [told(problem) for problem in found if problem.level == "error"] == []
