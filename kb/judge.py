"""The conditions of a block held against what is known of a unit: yes, no or maybe, no words."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from kb.dates import Days
from kb.folding import fold, fold_name
from kb.kleene import agreed, every, opposite, some
from kb.ranges import Ranges, key_of
from kb.records import Block, Reading, SerialRange, Verdict
from kb.serials import Use


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One way a unit can be: a reading of its serial, or all that its production allows.

    *plants* is None where the plant cannot be known; *reading* is None without a serial.
    """

    model: str
    family: str
    ranges: Ranges
    built: Days
    plants: frozenset[str] | None
    revision: int | None = None
    reading: Reading | None = None
    serial: str = ""


def plants_of(uses: Sequence[Use]) -> frozenset[str] | None:
    """Return the plants whose units the schemes can tell; None where a scheme names none."""
    tables = [frozenset(fold(code) for code in scheme.plants) for scheme, _ in uses]
    return frozenset().union(*tables) if tables and all(tables) else None


@lru_cache(maxsize=8192)
def _pattern(pattern: str) -> re.Pattern[str]:
    wild = {"*": ".*", "?": "."}
    return re.compile("".join(wild.get(c, re.escape(c)) for c in fold(pattern)))


def model_matches(pattern: str, model: str) -> bool:
    """Tell whether *pattern* fits *model*; `*` is any characters, `?` one, case never matters."""
    return _pattern(pattern).fullmatch(_folded(model)) is not None


@lru_cache(maxsize=16384)
def _folded(model: str) -> str:
    return fold(model)


@lru_cache(maxsize=1024)
def _family(name: str) -> str:
    return fold_name(name)


def verdict(holds: bool) -> Verdict:
    """Return yes or no."""
    return "yes" if holds else "no"


def family_named(block: Block, family: str) -> bool:
    """Tell whether the block is open to *family*; one that names no family is open to all."""
    return not block.families or _family(family) in map(_family, block.families)


def model_named(block: Block, model: str) -> bool:
    """Tell whether the block is open to *model*; one that names no model is open to all."""
    return not block.models or any(model_matches(pattern, model) for pattern in block.models)


def reaches(block: Block, family: str, model: str) -> bool:
    """Tell whether the block can hold for any unit of that family and model."""
    return family_named(block, family) and model_named(block, model)


def reached(where: Sequence[Block], family: str, model: str) -> tuple[Hashable, ...]:
    """Return which of the blocks, and of what they leave out, reach the model.

    What reaches is marked by its exceptions, the rest by nothing: models with equal marks get
    equal answers.
    """
    return tuple(
        (reached(block.but_not, family, model),) if reaches(block, family, model) else ()
        for block in where
    )


def judge_model(block: Block, case: Case) -> Verdict:
    """Judge family and model together: always yes or no."""
    return verdict(reaches(block, case.family, case.model))


def judge_revision(block: Block, case: Case) -> Verdict:
    """Judge the revision; maybe where it is not known and some revision would not do."""
    wanted = block.revision
    if wanted is None or (not wanted.low and wanted.high is None):
        return "yes"  # no revision is below 0
    return "maybe" if case.revision is None else verdict(case.revision in wanted)


def judge_built(block: Block, case: Case) -> Verdict:
    """Judge the date: yes where every possible day lies inside, no where none does."""
    if block.built is None or block.built.covers(case.built):
        return "yes"
    return "maybe" if block.built.meet(case.built) else "no"


def judge_plant(block: Block, case: Case) -> Verdict:
    """Judge the plant: yes where every possible plant is named, no where none is."""
    if not block.plants:
        return "yes"
    if case.plants is None:
        return "maybe"
    named = {fold(plant) for plant in block.plants}
    if case.plants <= named:
        return "yes"
    return "maybe" if case.plants & named else "no"


def _within(serials: SerialRange, reading: Reading, case: Case) -> Verdict:
    if case.serial and case.serial in (fold(serials.first), fold(serials.last)):
        # The very serial stands in the bulletin: no second meaning of its year can matter.
        return verdict(bool(case.ranges.of(serials, reading.scheme)))
    found = [
        ends.plant == reading.plant and ends.first <= key_of(reading) <= ends.last
        for ends in case.ranges.of(serials, reading.scheme)
    ]
    return agreed(map(verdict, found)) if found else "no"


def _possible(serials: SerialRange, case: Case) -> Verdict:
    """Judge a range without a serial: maybe, but no where dates or plant rule it out."""
    possible = any(
        ends.days.meet(case.built)
        and (case.plants is None or ends.plant is None or ends.plant in case.plants)
        for ends in case.ranges.of(serials)
    )
    return "maybe" if possible else "no"


def judge_serials(block: Block, case: Case) -> Verdict:
    """Judge the serial ranges, any one of which is enough."""
    if not block.serials:
        return "yes"
    if case.reading is None:
        return some(_possible(serials, case) for serials in block.serials)
    return some(_within(serials, case.reading, case) for serials in block.serials)


CONDITIONS: dict[str, Callable[[Block, Case], Verdict]] = {
    "model": judge_model,
    "revision": judge_revision,
    "built": judge_built,
    "plant": judge_plant,
    "serials": judge_serials,
}


_OTHERS = tuple(judge for name, judge in CONDITIONS.items() if name != "model")


def judge_block(block: Block, case: Case) -> Verdict:
    """Judge one block: all its conditions, and none of its exceptions."""
    if not reaches(block, case.family, case.model):
        return "no"
    own = every([judge(block, case) for judge in _OTHERS])
    if own == "no" or not block.but_not:
        return own
    return every((own, opposite(judge_blocks(block.but_not, case))))


def judge_blocks(where: Sequence[Block], case: Case) -> Verdict:
    """Judge alternatives: any one that holds is enough."""
    return some(judge_block(block, case) for block in where)
