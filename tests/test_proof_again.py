"""A proof that goes by the last one says exactly what a proof of the whole house says."""

from __future__ import annotations

import pickle
import random
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date, timedelta
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import Problem
from kb.folding import fold
from kb.house import read_again, read_house
from kb.kept import KeptHouse
from kb.proof import RULES, run, run_again
from kb.proof.again import Proofed
from kb.proof.base import Each, Found
from kb.proof.look import PARTS, Look
from kb.proof.numbers import folded, shape, shapes
from kb.records import Block, Bulletin, House, SerialRange
from tests.proof_cases import TODAY, load, write
from tests.proof_edits import DOOR, DRAWING, PUMP, WORDS, edited
from tests.proof_many import every_house
from tests.test_proof_properties import WRONG

DEMO = Path(__file__).parent.parent / "bulletins"
FIELDS = [field.name for field in fields(Bulletin) if field.name not in ("number", "file")]
TEXTS = (
    "\nFit it to {2 Nmm}.\n", "\n::: warnnig\nHot.\n:::\n", "\n![](nowhere.svg)\n",
    "\n1. See 2024-071.\n",
    "\nHR-1001-99 and HR-1001-20.\n", "\nIn rare situations it burns.\n", "\nA plain sentence.\n",
    "\n![pump](2026-001/pmup.svg)\n", "\nSee 2026-002, TD45A and E21.\n",
)  # fmt: skip
NAMES: dict[str, tuple[str, ...]] = {
    "codes": ("E21", "E2I", "F9", "E 21"),
    "component": ("drain pump", "drain pmup", "gramophone", "heater"),
    "symptoms": ("hums but does not drain", "water left in the sump"),
    "keep": ("drain pump", "HR-1001-20", "HR-1001-99"),
    "supersedes": ("2024-007", "2026-002", "2026-999"),
    "related": ("2024-007", "2026-001", "2026-999"),
    "hazards": ("electricity", "gas"),
}
WHERE = (
    Block(families=("Tran",)),
    Block(families=("Cairn",), models=("TD45*",)),
    Block(families=("Tarn",), models=("TD45A", "T?")),
    Block(families=("Tarn",), serials=(SerialRange("K P 20 00500", "L P 10 00001"),)),
    Block(families=("Tarn",), plants=("K", "S")),
)


@cache
def wrong_house(folder: Path) -> House:
    return read_house(write(folder, edited(WRONG)))


@cache
def demo_house() -> House:
    """A third of the demo house."""
    whole = read_house(DEMO)
    return replace(whole, bulletins=whole.bulletins[::3])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("wrong")


# Changes, each made at random


def _put(house: House, old: Bulletin, new: Bulletin) -> House:
    def among(held: tuple[Bulletin, ...]) -> tuple[Bulletin, ...]:
        return tuple(new if each is old else each for each in held)

    return replace(house, bulletins=among(house.bulletins), unsound=among(house.unsound))


def _any(house: House, dice: random.Random) -> Bulletin:
    return dice.choice((*house.bulletins, *house.unsound))


def _text(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(house, old, replace(old, body=old.body + dice.choice(TEXTS)))


def _no_text(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(house, old, replace(old, body=old.body[: dice.randrange(len(old.body) + 1)]))


def _copied(house: House, dice: random.Random) -> House:
    """Give a bulletin what another has in one of its keys."""
    old, key = _any(house, dice), dice.choice(FIELDS)
    given: Any = {key: getattr(_any(house, dice), key)}
    return _put(house, old, replace(old, **given))


def _named(house: House, dice: random.Random) -> House:
    old, key = _any(house, dice), dice.choice(sorted(NAMES))
    names = (*NAMES[key], *(b.number for b in house.bulletins[:2] if key == "supersedes"))
    given: Any = {key: tuple(dice.choices(names, k=dice.randrange(1, 3)))}
    return _put(house, old, replace(old, **given))


def _where(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(house, old, replace(old, where=(dice.choice(WHERE),)))


def _safety(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(house, old, replace(old, kind="safety", status="in-force"))


def _standing(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(house, old, replace(old, status=dice.choice(("draft", "in-force", "withdrawn"))))


def _lower(house: House, dice: random.Random) -> House:
    """Put a line into the front matter, below which all stands lower."""
    old, at = _any(house, dice), dice.randrange(2, 12)
    lines = {path: line + (line >= at) for path, line in old.lines.items()}
    return _put(house, old, replace(old, lines=lines, body_line=old.body_line + 1))


def _dated(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    day = TODAY + timedelta(days=dice.randrange(-900, 20))
    given: Any = {dice.choice(("issued", "revised")): day}
    return _put(house, old, replace(old, **given))


def _renumbered(house: House, dice: random.Random) -> House:
    old = _any(house, dice)
    return _put(
        house, old, replace(old, number=f"20{dice.randrange(24, 27)}-{dice.randrange(9):03}")
    )


def _added(house: House, dice: random.Random) -> House:
    number = f"2026-9{dice.randrange(99):02}"
    fresh = replace(_any(house, dice), number=number, file=f"2026/{number}.md")
    if any(fresh.file == each.file for each in (*house.bulletins, *house.unsound)):
        return house
    sound = (*house.bulletins, fresh)
    return replace(house, bulletins=sound, files=(*house.files, fresh.file))


def _removed(house: House, dice: random.Random) -> House:
    gone = dice.choice(house.bulletins)
    left = tuple(each for each in house.bulletins if each is not gone)
    files = tuple(f for f in house.files if f != gone.file or dice.random() < 0.3)
    return replace(house, bulletins=left, files=files) if len(left) > 1 else house


def _unsound(house: House, dice: random.Random) -> House:
    """Let a sound bulletin be taken for unsound, or the other way round."""
    each = _any(house, dice)
    sound = tuple(b for b in house.bulletins if b is not each)
    unsound = tuple(b for b in house.unsound if b is not each)
    if len(sound) == len(house.bulletins):
        return replace(house, bulletins=(*sound, each), unsound=unsound)
    return replace(house, bulletins=sound, unsound=(*unsound, each)) if sound else house


def _part_row(house: House, dice: random.Random) -> House:
    rows = list(house.parts)
    at = dice.randrange(len(rows))
    other = dice.choice(rows)
    changed = (
        rows[at]._replace(status=dice.choice(("gone", "pending", "current"))),
        rows[at]._replace(replaced_by=other.number, relation=dice.choice(("same", "kit", None))),
        rows[at]._replace(number=f"{rows[at].number}9"),
        rows[at]._replace(component=other.component, name=other.name),
        rows[at]._replace(line=rows[at].line + 1),
    )
    rows[at] = dice.choice(changed)
    return replace(house, parts=tuple(rows if dice.random() < 0.8 else rows[:at] + rows[at + 1 :]))


def _kits(house: House, dice: random.Random) -> House:
    return replace(house, kits=tuple(dice.sample(house.kits, len(house.kits) // 2)))


def _families(house: House, dice: random.Random) -> House:
    name = dice.choice(sorted(house.families))
    family = house.families[name]
    changed = (
        replace(family, models=family.models[1:]),
        replace(family, codes=("E21",)),
        replace(family, components=("gramophone",)),
        replace(family, lines={path: line + 1 for path, line in family.lines.items()}),
    )
    families = dict(house.families) | {name: dice.choice(changed)}
    order = dice.sample(sorted(families), len(families))
    return replace(house, families={each: families[each] for each in order})


def _tables(house: House, dice: random.Random) -> House:
    trouble = Problem(
        file=PARTS, line=3, level="error", rule="form", message="it is broken", remedy="mend it"
    )
    given: list[dict[str, Any]] = [
        {"contact": ""}, {"contact": "desk"}, {"codes": ("E21",)}, {"components": ("gramophone",)},
        {"schemes": {}}, {"problems": (*house.problems, trouble)}, {"problems": ()},
    ]  # fmt: skip
    return replace(house, **dice.choice(given))


def _files(house: House, dice: random.Random) -> House:
    pictures = [file for file in house.files if file.endswith(".svg")]
    gone = dice.choice(pictures) if pictures else ""
    return replace(house, files=tuple(file for file in house.files if file != gone))


Change = Callable[[House, random.Random], House]
CHANGES: tuple[Change, ...] = (
    _text, _text, _no_text, _copied, _copied, _copied, _copied, _named, _named, _where, _safety,
    _standing, _lower, _lower, _dated, _renumbered, _added, _removed, _unsound, _part_row,
    _part_row, _kits, _families, _tables, _files,
)  # fmt: skip


def _hold(house: House, steps: list[tuple[int, list[Change]]]) -> None:
    """Change *house* step by step, and hold each proof that goes by the last to a whole one."""
    before = run_again(house, TODAY, None)[1]
    for seed, changes in steps:
        dice = random.Random(seed)
        for change in changes:
            house = change(house, dice)
        again, before = run_again(house, TODAY, before)
        assert again == run(house, TODAY)


STEPS = st.lists(
    st.tuples(st.integers(0, 2**32), st.lists(st.sampled_from(CHANGES), min_size=1, max_size=3)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=150, deadline=None)
@given(steps=STEPS)
def test_whatever_changes_in_a_small_house_full_of_mistakes(
    steps: list[tuple[int, list[Change]]], folder: Path
) -> None:
    _hold(wrong_house(folder), steps)


@settings(max_examples=30, deadline=None)
@given(steps=STEPS)
def test_whatever_changes_in_a_third_of_the_demo_house(
    steps: list[tuple[int, list[Change]]],
) -> None:
    _hold(demo_house(), steps)


def test_from_each_small_house_to_the_next(tmp_path: Path) -> None:
    """The files of one house are made those of the next; only what has changed is read."""
    before: Proofed | None = None
    kept = KeptHouse()
    for files in islice(every_house(), 0, None, 4):
        for path in tmp_path.rglob("*.*"):
            if path.relative_to(tmp_path).as_posix() not in files:
                path.unlink()
        house, kept = read_again(write(tmp_path, files), kept)
        again, before = run_again(house, TODAY, before)
        assert again == run(read_house(tmp_path), TODAY)


def test_another_day_is_a_proof_of_the_whole_house(folder: Path) -> None:
    house = wrong_house(folder)
    before = run_again(house, date(2025, 1, 1), None)[1]
    assert run_again(house, TODAY, before)[0] == run(house, TODAY)


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [(WORDS, "same:", "# words\nsame:"), (DRAWING, 'r="12"', 'r="12" onclick="a()"')],
)
def test_what_no_record_tells_is_seen_in_the_file(
    file: str, old: str, new: str, tmp_path: Path
) -> None:
    house = read_house(write(tmp_path, edited(WRONG)))
    first, before = run_again(house, TODAY, None)
    write(tmp_path, edited((*WRONG, (file, old, new))))
    again = run_again(read_house(tmp_path), TODAY, before)[0]
    assert again == run(read_house(tmp_path), TODAY)
    assert again != first


def test_what_is_kept_can_be_pickled_with_the_house(tmp_path: Path) -> None:
    house = read_house(write(tmp_path, edited(WRONG)))
    house, before = pickle.loads(pickle.dumps((house, run_again(house, TODAY, None)[1])))
    assert before.house is house
    assert run_again(house, TODAY, before)[0] == run(house, TODAY)


def test_a_changed_text_asks_nothing_of_other_bulletins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What makes a proof after a change of a text cheap: no rule goes over the whole house."""
    house = read_house(write(tmp_path, load().house))
    before = run_again(house, TODAY, None)[1]
    gone_over: list[Each] = []

    def go_over(rule: Each, look: Look) -> tuple[Found, ...]:
        gone_over.append(rule)
        return ()

    monkeypatch.setattr(Each, "__call__", go_over)
    old = next(b for b in house.bulletins if b.file == PUMP)
    changed = _put(house, old, replace(old, body=f"{old.body}\nSee 2024-071.\n", summary="Short."))
    (found,) = run_again(changed, TODAY, before)[0]
    assert found.rule == "text-bulletin-unknown"
    assert not gone_over
    old = next(b for b in house.bulletins if b.file == DOOR)
    run_again(_put(house, old, replace(old, component=("door",))), TODAY, before)
    assert gone_over, "a component is looked for in other bulletins too"


NUMBERS = st.lists(
    st.text("HR01239-. \n\t\u2011aé\x1f", max_size=8) | st.from_regex(r"\A[A-Z]{2}-\d{3}\Z")
)


@given(NUMBERS)
def test_many_numbers_fold_as_one_by_one(numbers: list[str]) -> None:
    assert folded(numbers) == [fold(each) for each in numbers]


@given(NUMBERS)
def test_shapes_are_those_that_three_numbers_have(numbers: list[str]) -> None:
    built = [shape(each) for each in numbers]
    assert shapes(numbers) == {each for each in built if built.count(each) > 2 and "9" in each}


def test_every_rule_says_what_it_looks_at() -> None:
    whole = {"picture-acts"}  # what is in a drawing is looked at each time
    assert {rule.name for rule in RULES if "disk" in rule.over} == whole
