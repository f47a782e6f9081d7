"""The answer to a typed line: bulletins in order, each with why it is there and if it applies."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from kb.applies import answer
from kb.asking import Asked, read_line
from kb.dates import show_days
from kb.folding import fold
from kb.fulltext import FullText
from kb.hits import Fit, Hit
from kb.known import KnownNumbers
from kb.lookup import Card, Lookup
from kb.matching import Matcher
from kb.plate import RANK, Line, plate_of
from kb.ranking import Ranking
from kb.reasons import Reasons
from kb.records import Answer, Block, Unit
from kb.units import make_unit, split_model
from kb.wording import Wording

_BEST = 20  # hits that are looked at to tell an answer from noise


@dataclass(frozen=True, slots=True)
class Result:
    """One bulletin of the answer; *answer* is None where no unit was named."""

    card: Card
    score: float
    why: str
    answer: Answer | None = None

    def as_json(self) -> dict[str, Any]:
        """Return the result as `kb find --json` gives it."""
        return {
            "number": self.card.number,
            "title": self.card.title,
            "kind": self.card.kind,
            "score": round(self.score, 3),
            "applies": self.answer.applies if self.answer else None,
            "why": self.why,
            "settle": self.answer.settle if self.answer else "",
            "superseded_by": self.card.superseded_by,
        }


@dataclass(frozen=True, slots=True)
class Found:
    """The whole answer: what was understood, what fits, and a word where nothing does.

    *others* are the further bulletins that apply or may apply to the unit, *safety* those of them
    that nobody who works on it may miss.
    """

    asked: Asked
    unit: Unit | None
    results: tuple[Result, ...]
    note: str = ""
    others: tuple[Line, ...] = ()

    @property
    def safety(self) -> tuple[Line, ...]:
        """The safety bulletins among the others."""
        return tuple(line for line in self.others if _is_safety(line))

    def as_json(self) -> dict[str, Any]:
        """Return the answer as `kb find --json` gives it."""
        asked = self.asked
        return {
            "asked": asked.text,
            "read_as": {
                "words": list(asked.words),
                "model": asked.model or None,
                "revision": asked.revision,
                "serial": asked.serial or None,
                "codes": list(asked.codes),
                "parts": list(asked.parts),
                "bulletins": list(asked.numbers),
                "unreadable": self.unit.unreadable if self.unit else "",
            },
            "results": [result.as_json() for result in self.results],
            "others": [line.card.number for line in self.others],
            "safety": [line.card.number for line in self.safety],
            "note": self.note,
        }


class Finder:
    """Answers typed lines from one store and one index."""

    def __init__(self, lookup: Lookup, index: FullText, wording: Wording, today: date) -> None:
        self._lookup = lookup
        self._index = index
        self._wording = wording
        self._today = today
        self._known = KnownNumbers(lookup, today, index)
        self._matcher = Matcher(wording, index)
        self._ranking = Ranking(index, wording)

    def find(
        self,
        text: str,
        model: str = "",
        serial: str = "",
        limit: int = 20,
        everything: bool = False,
    ) -> Found:
        """Return the bulletins that answer *text*, those that apply to the unit first.

        *everything* keeps what does not apply to the unit. NotFound for an unknown *model*.
        """
        if model:
            split_model(model, (m for f in self._lookup.families.values() for m in f.models))
        asked = read_line(text, self._known, self._wording, model, serial)
        unit = self._unit(asked, model)
        if unit:
            asked = replace(asked, model=unit.model, revision=unit.revision)
        lines = self._lines(unit)
        results = self._by_number(asked, unit)
        most = limit + len(results)  # a bulletin named by its number may be found by words too
        fitting, held = self._by_words(asked, unit, lines, everything, most)
        results += fitting
        if unit and not results and _barely_begun(asked, 2):
            results = _whole_plate(lines.values(), everything)
        firsts: dict[str, Result] = {}
        for result in results:
            firsts.setdefault(result.card.number, result)
        shown = firsts.keys() | held
        others = [
            line for line in lines.values() if _can(line.answer) and line.card.number not in shown
        ]
        note = self._serial_alone(asked) or ("" if firsts else self._nothing(asked))
        return Found(asked, unit, tuple(firsts.values())[:limit], note, tuple(others))

    def _unit(self, asked: Asked, given: str) -> Unit | None:
        if not asked.model:
            return None
        digit = "" if asked.revision is None else f"/{asked.revision}"
        return make_unit(self._lookup, given or f"{asked.model}{digit}", asked.serial, self._today)

    def _by_number(self, asked: Asked, unit: Unit | None) -> list[Result]:
        """Return the bulletins named by number, whatever their standing, successors behind them."""
        results: list[Result] = []
        for number in asked.numbers:
            card = self._lookup.card(number)
            while card and card.number not in {r.card.number for r in results}:
                results.append(Result(card, 1000.0, _standing(card), self._answer(card, unit)))
                card = self._lookup.card(card.superseded_by) if card.superseded_by else None
        return results

    def _answer(self, card: Card, unit: Unit | None) -> Answer | None:
        if unit is None:
            return None
        return answer(card.where, unit, self._lookup, self._today)

    def _by_words(
        self,
        asked: Asked,
        unit: Unit | None,
        lines: Mapping[str, Line],
        everything: bool,
        most: int,
    ) -> tuple[list[Result], Collection[str]]:
        """Return at most *most* results, and the numbers of all of the unit's lines that fit."""
        nothing_asked = not (asked.words or asked.codes or asked.parts or asked.quotes)
        if nothing_asked or (unit and _barely_begun(asked, 1)):
            return ([] if asked.numbers else _whole_plate(lines.values(), everything)), ()
        if self._asks_elsewhere(asked):
            return [], ()
        groups = self._matcher.groups(asked.words, asked.unfinished)
        fit = self._ranking.fit(asked, groups, self._numbers(asked.parts))
        if unit is None:
            return self._results(self._fitting(fit, asked, most)[:most], {}), ()
        places = {self._index.document(number): line for number, line in lines.items()}
        held = {place: line for place, line in places.items() if place is not None}
        # What cannot apply goes first, so that it does not set the measure for what can.
        able = None if everything else {d for d, line in held.items() if _can(line.answer)}
        hits = self._by_applicability(self._fitting_unit(fit, asked, able), held)
        answers = {number: line.answer for number, line in lines.items()}
        found = [held[hit.document].card.number for hit in hits if hit.document in held]
        return self._results(hits[:most], answers), found

    def _asks_elsewhere(self, asked: Asked) -> bool:
        """Tell whether the line is about a thing that no bulletin speaks of (a coffee machine)."""
        if asked.codes or asked.parts or asked.model:
            return False
        stems = [self._wording.stem(word) for word in self._full_words(asked)]
        thing = self._wording.stems(self._wording.elsewhere(stems))
        products = self._wording.products([stem for stem in stems if stem not in thing])
        if any(self._index.frequency(f"={product}") for product in products):
            return False
        things = [thing]
        things += [self._wording.stems(product) for product in sorted(products)]
        return any(each and not self._is_subject(each) for each in things)

    def _full_words(self, asked: Asked) -> Sequence[str]:
        """Return the words without one that seems half typed ("car" alone, for "card")."""
        last = asked.words[-1] if asked.words and asked.unfinished else ""
        short = len(last) < 3 or len(asked.words) == 1
        half = last and short and self._index.words_starting(last)
        return asked.words[:-1] if half else asked.words

    def _is_subject(self, thing: Sequence[str]) -> bool:
        """Tell whether a bulletin speaks of *thing* in its title or a symptom, not in passing."""
        holders = [set(self._index.postings(stem)) for stem in thing]
        phrase = f" {' '.join(thing)} "
        return any(
            phrase in f" {line} "
            for document in set.intersection(*holders)
            for line in self._index.lines(document)
        )

    def _numbers(self, parts: Sequence[str]) -> Mapping[str, float]:
        factor = self._wording.weights["substitution"]
        found: dict[str, float] = {}
        for part in parts:
            for number, steps in self._lookup.related_numbers(fold(part)).items():
                found[number] = max(found.get(number, 0.0), factor**steps)
        return found

    def _fitting(self, fit: Fit, asked: Asked, most: int) -> list[Hit]:
        """Return the hits worth showing: none where even the best holds too little of the line."""
        best = max((hit.share for hit in fit.first[:_BEST]), default=0.0)
        exact = any(hit.exact for hit in fit.first[:1])
        if not exact and self._is_noise(fit.first, best):
            return []
        # Where nothing but a number was asked for, only what names it is an answer.
        number_alone = exact and not asked.words
        floor = math.inf if number_alone else self._wording.thresholds["least_share"] * best
        hits = [hit for hit in fit.first if hit.exact or hit.share >= floor]
        return hits + (fit.rest(floor, most - len(hits)) if len(hits) < most else [])

    def _fitting_unit(self, fit: Fit, asked: Asked, able: Collection[int] | None) -> list[Hit]:
        """Return the hits for a unit, to the last: what can apply to it is little, and well aimed.

        *able* are the documents that can apply, or None where all are wanted.
        """
        first = [hit for hit in fit.first if able is None or hit.document in able]
        hits = first + fit.rest(within=able)
        if not asked.words and any(hit.exact for hit in hits[:1]):
            return [hit for hit in hits if hit.exact]
        return hits

    def _is_noise(self, hits: Sequence[Hit], best: float) -> bool:
        """Tell whether too little was found: a small share of the line, and not a telling one.

        A caller's long story holds much that no bulletin has; two telling words are enough.
        """
        thresholds = self._wording.thresholds
        telling = max((hit.weighed for hit in hits[:_BEST]), default=0.0) / self._ranking.idf("")
        small = best < float(thresholds["nothing_share"])
        return small and telling < float(thresholds["nothing_telling"])

    def _results(self, hits: Sequence[Hit], answers: Mapping[str, Answer]) -> list[Result]:
        """Return hits as results; *answers* is empty where no unit is known."""
        numbers = {hit.document: self._index.stored(hit.document).number for hit in hits}
        cards = self._lookup.cards(numbers[hit.document] for hit in hits)
        reasons = Reasons(self._index, self._wording)
        return [
            Result(
                card=cards[numbers[hit.document]],
                score=hit.score,
                why=reasons.why(hit),
                answer=answers.get(numbers[hit.document], _OTHER_MODEL) if answers else None,
            )
            for hit in hits
        ]

    def _lines(self, unit: Unit | None) -> dict[str, Line]:
        if unit is None:
            return {}
        plate = plate_of(self._lookup, unit, self._today)
        return {line.card.number: line for line in plate.lines}

    def _by_applicability(self, hits: Sequence[Hit], held: Mapping[int, Line]) -> list[Hit]:
        """Order hits for a unit: what fits well first, then the rest; in each, yes before maybe.

        *held* gives the unit's lines by document. A safety bulletin that fits well and can apply
        stands before all of them.
        """
        narrower = self._wording.weights["narrower"]
        verdicts: dict[int, int] = {}
        safety: set[int] = set()
        for hit in hits:
            line = held.get(hit.document)
            verdicts[hit.document] = RANK[line.answer.applies if line else "no"]
            if line and _is_safety(line):
                safety.add(hit.document)
            hit.score *= 1 + narrower * (_narrowness(line.card.where) if line else 0.0)
        best = max((hit.score for hit in hits), default=0.0)
        well = self._wording.thresholds["fits_well"] * best
        clear = self._wording.thresholds["safety_first"] * best

        def place(hit: Hit) -> tuple[bool, bool, int, float, int]:
            other = hit.document not in safety or hit.score < clear
            return (hit.score < well, other, verdicts[hit.document], -hit.score, hit.document)

        return sorted(hits, key=place)

    def _serial_alone(self, asked: Asked) -> str:
        """Say of a serial without a model what it can be of, and that the model is wanting."""
        if not asked.serial or asked.model:
            return ""
        found = self._known.families_of_serial(fold(asked.serial))
        if len(found) != 1:
            names = ", ".join(family.name for family, _ in found)
            return f"the serial {asked.serial} alone can be of {names}: add the model"
        ((family, readings),) = found
        built = " or ".join(dict.fromkeys(show_days(reading.built) for reading in readings))
        return (
            f"the serial {asked.serial} alone is that of a {family.product} ({family.name}) "
            f"built {built}: add the model"
        )

    def _nothing(self, asked: Asked) -> str:
        if asked.unknown_codes and not asked.words:
            return f"no bulletin knows the code {', '.join(asked.unknown_codes)}"
        if asked.parts and not asked.words:
            return f"no bulletin names {', '.join(asked.parts)}; `kb part` says what to order"
        return "no bulletin answers this"


_OTHER_MODEL = Answer("no", "it is about other models")


def _can(answer: Answer | None) -> bool:
    return answer is not None and answer.applies != "no"


def _barely_begun(asked: Asked, letters: int) -> bool:
    """Tell whether all that is asked is a word of which at most so many letters are typed."""
    other = asked.codes or asked.parts or asked.quotes or asked.numbers
    return asked.unfinished and not other and len("".join(asked.words)) <= letters


def _is_safety(line: Line) -> bool:
    return line.card.kind == "safety" and _can(line.answer)


def _whole_plate(lines: Iterable[Line], everything: bool) -> list[Result]:
    """Return everything for a unit, as where nothing but its plate was typed."""
    return [
        Result(line.card, 0.0, line.answer.why, line.answer)
        for line in lines
        if everything or _can(line.answer)
    ]


def _standing(card: Card) -> str:
    if card.superseded_by:
        return f"its number; superseded by {card.superseded_by}"
    return "its number" if card.status == "in-force" else f"its number; {card.status}"


def _narrowness(where: Sequence[Block]) -> float:
    """Return how narrowly a bulletin is aimed: 1 at dates or digits, ½ at models, 0 at families."""
    if any(b.built or b.serials or b.revision or b.plants for b in where):
        return 1.0
    return 0.5 if any(block.models for block in where) else 0.0
