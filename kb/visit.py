"""Before the visit: what to pack for a complaint and a rating plate, the answer of `kb visit`.

The bulletins named are those that answer the words as well as ``fits_well`` asks (of the best
score) and that can apply to the unit. Each that speaks of a fault (kinds repair, normal and
safety, and any other with checks or parts) is a rival explanation, weighted by its score; one
that only may apply counts half. What any of them says to keep is not packed for another.

Safety bulletins that apply, or may, are named on any visit, whatever the complaint; one with
advice by age only once it falls due. Their work is certain to be due where they apply, and one
half where they may although the serial was read; without a serial their parts are not packed,
since the serial is the first thing to ask for. Where the words find nothing, nothing is packed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kb.catalogue import Catalogue
from kb.desk import Desk
from kb.errors import KbError
from kb.finding import Found, Result
from kb.folding import fold, fold_name
from kb.jobs import Job, jobs
from kb.keeping import kept_numbers
from kb.lookup import Lookup
from kb.packing import Candidate, Missing, Pack, Part, covered, expected_labour, pack, parts
from kb.plate import Line, plate_of
from kb.records import HAZARDS, Unit, Verdict
from kb.supply import Supplier

_FAULTS = ("repair", "normal", "safety")
_TRUST: Mapping[Verdict, float] = {"yes": 1.0, "maybe": 0.5, "no": 0.0}
_MOST = 200


@dataclass(frozen=True, slots=True)
class Named:
    """One bulletin of a visit: how it concerns the unit and how much it counts."""

    line: Line
    found: bool
    candidate: Candidate

    @property
    def number(self) -> str:
        """The bulletin's number."""
        return self.line.card.number

    def as_json(self) -> dict[str, Any]:
        """Return what is told of the bulletin beside its number."""
        return {
            **self.line.as_json(),
            "found": self.found,
            "weight": round(self.candidate.weight, 4),
            "on-any-visit": round(self.candidate.due, 4),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """What to pack. *named* holds the bulletins found first, then the safety ones that are due.

    *keep* gives for each part to leave in the bulletin that says so. *note* says why nothing is
    packed where the words found no bulletin.
    """

    asked: str
    unit: Unit
    named: tuple[Named, ...]
    parts: tuple[Part, ...]
    missing: tuple[Missing, ...]
    keep: tuple[tuple[str, str], ...]
    covered: float
    minutes: float
    tools: tuple[str, ...]
    consumables: tuple[str, ...]
    hazards: tuple[str, ...]
    note: str = ""

    @property
    def found(self) -> bool:
        """Whether the words found any bulletin."""
        return any(each.found for each in self.named)

    @property
    def people(self) -> int:
        """How many people go: two where something heavy is lifted."""
        return 2 if "heavy" in self.hazards else 1

    def as_json(self) -> dict[str, Any]:
        """Return the answer of `kb visit --json`."""
        return {
            "asked": self.asked,
            "model": self.unit.model,
            "serial": self.unit.serial or None,
            "bulletins": [each.number for each in self.named] if self.found else [],
            "parts": [_part_json(part) for part in self.parts],
            "covered": round(self.covered, 4),
            "tools": list(self.tools),
            "consumables": list(self.consumables),
            "hazards": list(self.hazards),
            "minutes": round(self.minutes, 1),
            "revision": self.unit.revision,
            "unreadable": self.unit.unreadable,
            "people": self.people,
            "keep": [{"number": number, "for": [by]} for number, by in self.keep],
            "missing": [
                {"number": each.number, "for": [each.bulletin], "why": each.why}
                for each in self.missing
            ],
            "safety": [each.number for each in self.named if each.line.card.kind == "safety"],
            "about": [each.as_json() for each in self.named],
            "note": self.note,
        }


def _part_json(part: Part) -> dict[str, Any]:
    return {
        "number": part.number,
        "quantity": part.quantity,
        "name": part.name,
        "status": part.status,
        "likelihood": round(part.likelihood, 4),
        "in-hand": part.in_hand,
        "all": part.together,
        "for": list(part.bulletins),
    }


class NoMachine(KbError):
    """Neither the words nor an option name the model: there is no unit to pack for."""


def visit(desk: Desk, asked: str, model: str = "", serial: str = "") -> Visit:
    """Return what to pack for the complaint *asked* at one unit.

    The unit may also stand in the words. NoMachine where no model is named, NotFound for an
    unknown one.
    """
    answer = desk.finder.find(asked, model, serial, _MOST)
    if answer.unit is None:
        raise NoMachine("no model is named", "say which machine: --model TD45A3")
    lines = plate_of(desk.lookup, answer.unit, desk.today).lines
    fitting = _fitting(answer, float(desk.wording.thresholds["fits_well"]))
    weights = _weights(fitting, _jobs(desk.lookup, fitting))
    due = {line.card.number: chance for line in lines if (chance := _due(line))}
    numbers = list(dict.fromkeys([*weights, *due]))
    by_number = {line.card.number: line for line in lines}
    work = jobs(desk.lookup, numbers)
    named = [
        Named(
            by_number[number],
            number in weights,
            Candidate(work[number], weights.get(number, 0.0), _sure(due, number, answer.unit)),
        )
        for number in numbers
    ]
    return _packed(desk.lookup, answer, named)


def _jobs(lookup: Lookup, results: Iterable[Result]) -> dict[str, Job]:
    return jobs(lookup, [result.card.number for result in results])


def _says_nothing(answer: Found) -> bool:
    asked = answer.asked
    return not (asked.words or asked.codes or asked.parts or asked.quotes or asked.numbers)


def _fitting(answer: Found, fits_well: float) -> list[Result]:
    """Return the results that stand, can apply and fit well, the best first."""
    if _says_nothing(answer):
        return []
    standing = [
        result
        for result in answer.results
        if result.card.stands and result.answer and result.answer.applies != "no"
    ]
    best = max((result.score for result in standing), default=0.0)
    fitting = [r for r in standing if r.score > 0 and r.score >= fits_well * best]
    return sorted(fitting, key=lambda r: -r.score)


def _weights(fitting: Sequence[Result], work: Mapping[str, Job]) -> dict[str, float]:
    """Return the weight of each result as rival explanation.

    Those that speak of no fault weigh nothing, unless all are such.
    """
    faults = [result for result in fitting if _speaks_of_fault(result, work[result.card.number])]
    rivals = {result.card.number: _raw(result) for result in faults or fitting}
    whole = sum(rivals.values())
    numbers = [result.card.number for result in fitting]
    return {number: rivals.get(number, 0.0) / whole if whole else 0.0 for number in numbers}


def _speaks_of_fault(result: Result, job: Job) -> bool:
    return result.card.kind in _FAULTS or bool(job.checks or job.lines)


def _raw(result: Result) -> float:
    return result.score * _TRUST[result.answer.applies if result.answer else "no"]


def _due(line: Line) -> float:
    """Return how sure it is that a bulletin's work is due on any visit to the unit."""
    if line.card.kind != "safety":
        return 0.0
    return _TRUST[line.answer.applies] * _TRUST[line.due or "yes"]


def _sure(due: Mapping[str, float], number: str, unit: Unit) -> float:
    """Return how sure the work is to be packed for: not on a guess without any serial."""
    chance = due.get(number, 0.0)
    return chance if unit.readings or chance == 1 else 0.0


def _packed(lookup: Lookup, answer: Found, named: Sequence[Named]) -> Visit:
    unit = answer.unit
    assert unit is not None
    every = [each.candidate for each in named] if any(each.found for each in named) else []
    unsure = [each.candidate for each in named if not (each.found or each.candidate.due)]
    going = [candidate for candidate in every if candidate not in unsure]
    work = [candidate.job for candidate in every]
    left_in = kept_numbers(lookup, work)
    supplier = Supplier(_catalogue(lookup, work, left_in), unit.model)
    kept = {same: by for number, by in left_in.items() for same in supplier.same_place(number)}
    keep = {fold(n): (n, job.number) for job in reversed(work) for n in reversed(job.keep)}
    packs = [(candidate, pack(candidate, supplier, kept)) for candidate in going]
    packed = parts(packs)
    taken = {fold(part.number) for part in packed}
    mentioned = {hazard for job in work for hazard in job.hazards}
    return Visit(
        asked=answer.asked.text,
        unit=unit,
        named=tuple(named),
        parts=tuple(packed),
        missing=(*_missing(packs), *(_waiting(unsure) if every else ())),
        keep=tuple(pair for key, pair in reversed(keep.items()) if key not in taken),
        covered=covered(packs),
        minutes=expected_labour(going),
        tools=_united(job.tools for job in work),
        consumables=_united(job.consumables for job in work),
        hazards=tuple(hazard for hazard in HAZARDS if hazard in mentioned),
        note="" if every else _nothing(answer),
    )


def _waiting(unsure: Iterable[Candidate]) -> Iterator[Missing]:
    """Yield the parts of safety bulletins of which nobody can say yet whether they apply."""
    for candidate in unsure:
        for line in candidate.job.lines:
            why = "not sure to be due on this unit: give the serial"
            yield Missing(line.number, candidate.job.number, why)


def _nothing(answer: Found) -> str:
    if _says_nothing(answer):
        return "say what is wrong, or what code is shown"
    return answer.note or "no bulletin that answers this applies to the unit"


def _missing(packs: Iterable[tuple[Candidate, Pack]]) -> tuple[Missing, ...]:
    return tuple(missing for _, packed in packs for missing in packed.missing)


def _united(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    """Return each name once, as first written, in order of first mention."""
    names: dict[str, str] = {}
    for name in (name for each in lists for name in each):
        names.setdefault(fold_name(name), name)
    return tuple(names.values())


def _catalogue(lookup: Lookup, work: Iterable[Job], left_in: Iterable[str]) -> Catalogue:
    """Return the rows of the parts tables that the orders for this work can lead through."""
    reached: set[str] = set()
    for number in sorted({number for job in work for number in job.numbers}.union(left_in)):
        if number and number not in reached:
            reached |= lookup.newer_numbers(number)
    return Catalogue(
        lookup.part_rows(sorted(reached)), lookup.kit_rows(sorted(reached)), lookup.model_names
    )
