"""Whether a bulletin applies to a unit: yes, no or maybe, why, and what would settle a maybe."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from kb.dates import Days, add_months, show_days
from kb.folding import fold
from kb.judge import Case, judge_blocks, model_matches, plants_of, reaches
from kb.kleene import agreed
from kb.ranges import Ranges
from kb.records import Age, Answer, Block, Family, Reading, Unit, Verdict
from kb.serials import uses_of
from kb.settle import settle_case, why_case
from kb.units import Reference

__all__ = ["answer", "answer_for", "cases_of", "due", "model_matches", "possible_days"]


def possible_days(family: Family, today: date) -> Days:
    """Return the days on which a unit without a serial can have been built.

    Where production has not begun yet, the planned days stand for it.
    """
    return family.produced.meet(Days(None, today)) or family.produced


def cases_of(unit: Unit, house: Reference, today: date) -> tuple[Case, ...]:
    """Return every way the unit can be: one for each reading, or one for all of production."""
    uses = uses_of(unit.family, house.schemes)
    ranges = Ranges(uses, today)

    def case(built: Days, plants: frozenset[str] | None, reading: Reading | None) -> Case:
        return Case(
            model=unit.model,
            family=unit.family.name,
            ranges=ranges,
            built=built,
            plants=plants,
            revision=unit.revision,
            reading=reading,
            serial=fold(unit.serial),
        )

    if not unit.readings:
        return (case(possible_days(unit.family, today), plants_of(uses), None),)
    return tuple(case(reading.built, _plants(reading, house), reading) for reading in unit.readings)


def _plants(reading: Reading, house: Reference) -> frozenset[str] | None:
    if reading.plant is not None:
        return frozenset({reading.plant})
    scheme = house.schemes.get(reading.scheme)
    return frozenset(map(fold, scheme.plants)) or None if scheme else None


def answer(where: tuple[Block, ...], unit: Unit, house: Reference, today: date) -> Answer:
    """Return whether the blocks *where* hold for *unit*, why, and what would settle a maybe."""
    return answer_for(where, cases_of(unit, house, today))


def answer_for(where: tuple[Block, ...], cases: Sequence[Case]) -> Answer:
    """Return the same for a unit that is known by its *cases*, which serve for many bulletins."""
    verdicts = [judge_blocks(where, case) for case in cases]
    found = agreed(verdicts)
    if found != "maybe":
        told = dict.fromkeys(why_case(where, case, found) for case in cases)
        return Answer(found, "; or ".join(told))
    if len(cases) == 1:
        return Answer("maybe", why_case(where, cases[0], "maybe"), settle_case(where, cases[0]))
    return _undecided(where, cases, verdicts)


def _reading_named(case: Case) -> str:
    plant = f", plant {case.reading.plant}" if case.reading and case.reading.plant else ""
    return f"built {show_days(case.built)}{plant}"


def _undecided(
    where: tuple[Block, ...], cases: Sequence[Case], verdicts: Sequence[Verdict]
) -> Answer:
    """Return the maybe of a serial with several readings that do not all say the same."""
    why: list[str] = []
    settle: list[str] = []
    for case, found in zip(cases, verdicts, strict=True):
        told = why_case(where, case, found).removeprefix(f"built {show_days(case.built)}, ")
        why.append(f"if {_reading_named(case)}: {found}, {told}")
        if found == "maybe":
            settle.append(f"if {_reading_named(case)}: {settle_case(where, case)}")
    if len(set(verdicts)) > 1:
        named = [f"{_reading_named(c)} ({v})" for c, v in zip(cases, verdicts, strict=True)]
        settle.insert(0, f"which of these the serial means: {' or '.join(named)}")
    return Answer("maybe", "; ".join(why), "; ".join(settle))


def due(age: Age, unit: Unit, today: date) -> Verdict:
    """Return whether the unit has come of *age*, reckoned from the days it can have been built.

    Fractions of a year count by whole months.
    """
    months = round(age.years * 12)
    readings = [reading.built for reading in unit.readings]
    return agreed(
        _due(days, months, today) for days in readings or [possible_days(unit.family, today)]
    )


def _due(built: Days, months: int, today: date) -> Verdict:
    if built.last and add_months(built.last, months) <= today:
        return "yes"
    if built.first and add_months(built.first, months) > today:
        return "no"
    return "maybe"


def can_apply(where: Sequence[Block], family: str, model: str) -> bool:
    """Tell whether any block is open to that family and model, whatever the unit."""
    return any(reaches(block, family, model) for block in where)
