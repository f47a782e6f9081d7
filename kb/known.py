"""What the house knows by number, as the reading of a typed line asks for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Protocol

from kb.folding import fold
from kb.lookup import Lookup
from kb.places import begins
from kb.records import Family, Reading
from kb.serials import SerialError, Use, read_serial, uses_of
from kb.units import family_of, known_model, split_model

_FEW = 4  # part numbers that a beginning or an end may stand for


class Words(Protocol):
    """The part of the index that knows the words of the bulletins."""

    def words_starting(self, prefix: str) -> list[str]:
        """The words as written that begin with *prefix*."""


class KnownNumbers:
    """Answers for one store on one day."""

    def __init__(self, lookup: Lookup, today: date, words: Words) -> None:
        self._lookup = lookup
        self._today = today
        self._words = words

    @cached_property
    def _models(self) -> tuple[str, ...]:
        return tuple(m for family in self._lookup.families.values() for m in family.models)

    @cached_property
    def _model_starts(self) -> frozenset[str]:
        return frozenset(fold(model)[:2] for model in self._models)

    def codes(self) -> Mapping[str, str]:
        """Return every fault code: folded, and as displayed."""
        return self._codes

    @cached_property
    def _codes(self) -> Mapping[str, str]:
        return self._lookup.codes()

    def bulletin_number(self, folded: str) -> str:
        """Return the bulletin number that *folded* stands for, or nothing."""
        return self._lookup.number_of(folded)

    def part_number(self, folded: str) -> str:
        """Return the part number that *folded* stands for, or nothing."""
        return self._lookup.part_number(folded)

    def parts_like(self, folded: str) -> Sequence[str]:
        """Return the part numbers that begin or end with *folded*, if only a few do."""
        found = self._lookup.numbers_like(folded, _FEW + 1)
        return found if len(found) <= _FEW else ()

    def model_digit(self, folded: str) -> tuple[str, int | None] | None:
        """Return the model, and its digit, that *folded* stands for."""
        if folded[:2] not in self._model_starts:
            return None
        return known_model(folded, self._models)

    def is_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* reads as a serial (of *model*, where one is known)."""
        for use in self._uses(model):
            try:
                if read_serial(folded, [use], self._today):
                    return True
            except SerialError:
                continue
        return False

    def looks_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* has the length of a serial and is mostly figures."""
        figures = sum(c.isdigit() for c in folded)
        lengths = {len(scheme.layout.replace(" ", "")) for scheme, _ in self._uses(model)}
        near = {length + off for length in lengths for off in (-1, 0, 1)}
        return len(folded) in near and figures * 2 > len(folded) and figures > 3

    def begins_serial(self, folded: str, model: str) -> bool:
        """Tell whether *folded* can grow into a serial of *model*, and into no word or code."""
        if not any(begins(folded, scheme) for scheme, _ in self._uses(model)):
            return False
        code = any(code.startswith(folded) for code in self.codes())
        return not code and not any(map(str.isalpha, self._words.words_starting(folded.lower())))

    def families_of_serial(self, folded: str) -> list[tuple[Family, tuple[Reading, ...]]]:
        """Return the families of which *folded* reads as a serial, with how it reads."""
        found: list[tuple[Family, tuple[Reading, ...]]] = []
        for family in self._lookup.families.values():
            try:
                uses = uses_of(family, self._lookup.schemes)
                found.append((family, read_serial(folded, uses, self._today)))
            except SerialError:
                continue
        return found

    def is_word(self, text: str, growing: bool) -> bool:
        """Tell whether *text* is a word of a bulletin or, *growing*, the beginning of one.

        The beginning of a code is none: another code than the one typed is no answer to it.
        """
        codes = self.codes()
        found = self._words.words_starting(text)
        return any(word == text or (growing and fold(word) not in codes) for word in found)

    def _uses(self, model: str) -> tuple[Use, ...]:
        lookup = self._lookup
        if model:
            return uses_of(family_of(lookup, split_model(model, self._models)[0]), lookup.schemes)
        every = [uses_of(family, lookup.schemes) for family in lookup.families.values()]
        return tuple({(s.name, days): (s, days) for uses in every for s, days in uses}.values())
