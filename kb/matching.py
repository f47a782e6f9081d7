"""What each asked word can match in the index, and how much such a match counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from kb.spelling import distance, slips, sound
from kb.wording import NOT, Wording

_MOST_WORDS = 40
_MOST_SLIPS = 4


class Index(Protocol):
    """The part of the index that matching looks at."""

    def frequency(self, term: str) -> int:
        """How many bulletins hold *term*."""

    def words(self) -> Iterable[str]:
        """Every word of the house as written."""

    def words_starting(self, prefix: str) -> list[str]:
        """The words as written that begin with *prefix*."""


@dataclass(frozen=True, slots=True)
class Variant:
    """A term that stands for an asked word, with the *factor* by which a match of it counts.

    *through* says how: ``own``, ``form`` (another word form), ``ring``, ``spelling``, ``start``
    (the beginning of a word), ``near``, ``joined`` or ``split``; *shown* is the word found.
    """

    term: str
    factor: float
    through: str
    shown: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """An asked word with its variants; a *light* one (product, "machine") need not be found."""

    text: str
    variants: tuple[Variant, ...]
    light: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Words that count as one: a phrase of the rings, or a word by itself."""

    words: tuple[Word, ...]
    phrase: tuple[Variant, ...] = ()


class Matcher:
    """Turns asked words into groups of variants, for one house."""

    def __init__(self, wording: Wording, index: Index) -> None:
        self._wording = wording
        self._index = index
        self._weights = wording.weights

    def groups(self, words: Sequence[str], unfinished: bool) -> list[Group]:
        """Return the groups of *words* (lower case, as typed); the last may be *unfinished*."""
        words = words[:_MOST_WORDS]
        stems = [self._wording.stem(word) for word in words]
        starts = dict(self._phrases(stems))
        groups: list[Group] = []
        place = 0
        while place < len(words):
            end = starts.get(place, place + 1)
            last = unfinished and end == len(words)
            made = [
                self._word(words[at], stems[at], last and at == end - 1) for at in range(place, end)
            ]
            rings = self._phrase_rings(stems[place:end]) if end > place + 1 else ()
            groups.append(Group(tuple(made), tuple(rings)))
            place = end
        return self._join(words, groups)

    def _phrases(self, stems: Sequence[str]) -> Iterator[tuple[int, int]]:
        """Yield the ring phrases of two words and more, the longest first, none overlapping."""
        taken: set[int] = set()
        several = [p for p in self._wording.phrases(stems) if p.end - p.start > 1]
        for phrase in sorted(several, key=lambda p: (p.start - p.end, p.start)):
            places = set(range(phrase.start, phrase.end))
            if not places & taken:
                taken |= places
                yield phrase.start, phrase.end

    def _phrase_rings(self, stems: Sequence[str]) -> Iterator[Variant]:
        for phrase in self._wording.phrases(stems):
            if phrase.end - phrase.start == len(stems):
                for ring in phrase.rings:
                    yield Variant(f"~{ring}", self._weights["ring"], "ring")

    def _word(self, text: str, stem: str, growing: bool) -> Word:
        light = stem in self._wording.generic or bool(self._wording.products([stem]))
        light = light or (growing and len(text) == 1)  # no word yet: nothing is lost for want of it
        variants = {v.term: v for v in self._sure(text, stem)}
        known = any(self._index.frequency(term) for term in variants)
        if growing or not known:
            self._add(variants, self._starting(text, stem))
        if not known and stem != NOT and not self._wording.is_stop(text):
            self._add(variants, self._misspelled(text))
            self._add(variants, self._parted(text))
        kept = (v for v in variants.values() if self._index.frequency(v.term))
        return Word(text, tuple(sorted(kept, key=lambda v: (-v.factor, v.term))), light)

    def _add(self, variants: dict[str, Variant], more: Iterable[Variant]) -> None:
        for variant in more:
            held = variants.get(variant.term)
            if held is None or held.factor < variant.factor:
                variants[variant.term] = variant

    def _sure(self, text: str, stem: str, factor: float = 1.0) -> Iterator[Variant]:
        """Yield what a rightly spelled word stands for: itself, its rings, words near it."""
        yield Variant(stem, factor * self._weights["own"], "own" if factor == 1 else "", text)
        for phrase in self._wording.phrases([stem]):
            for ring in phrase.rings:
                yield Variant(f"~{ring}", factor * self._weights["ring"], "ring")
        for other, weight in self._wording.near(stem):
            yield Variant(other, factor * weight, "near", other)

    def _starting(self, text: str, stem: str) -> Iterator[Variant]:
        if len(text) < self._wording.thresholds["prefix"]:
            return
        for word in self._index.words_starting(text):
            longer = self._wording.stem(word)
            if longer != stem:
                share = len(text) / len(word)
                yield Variant(longer, self._weights["prefix"] * (0.5 + share / 2), "start", word)

    def _misspelled(self, text: str) -> Iterator[Variant]:
        most = max(
            (
                s["at_most"]
                for s in self._wording.thresholds["distance"]
                if len(text) >= s["letters"]
            ),
            default=0,
        )
        if not most or any(c.isdigit() for c in text):
            return
        doubt = 1.0
        if self._wording.stem(text) in self._wording.common:
            doubt = self._weights["english"]
        for word, likeness in self._alike(text, most):
            factor = doubt * likeness
            for variant in self._sure(word, self._wording.stem(word), factor):
                yield Variant(variant.term, variant.factor, "spelling", word)

    def _alike(self, text: str, most: int) -> Iterator[tuple[str, float]]:
        """Yield known words like *text* with how like they are, the likest first."""
        near = slips(text, self._beginning_alike(text), most) or slips(text, self._vocabulary, most)
        for apart, word in near[:_MOST_SLIPS]:
            yield word, self._weights["spelling"] * (1 - apart / max(len(text), len(word)))
        heard = sound(text)
        if len(heard) > 1:
            half = len(text) // 2  # heard alike, but not a jumble of other letters
            alike = [w for w in self._sounds.get(heard, ()) if distance(text, w, half) <= half]
            yield from ((word, self._weights["sound"]) for word in alike[:_MOST_SLIPS])

    @cached_property
    def _vocabulary(self) -> tuple[str, ...]:
        """The words that a slip can have been meant for: the house's, and those of the rings."""
        house = (word for word in self._index.words() if len(word) > 2 and word.isalpha())
        return tuple(sorted({*house, *self._wording.ring_words}))

    @cached_property
    def _by_letter(self) -> dict[str, list[str]]:
        table: dict[str, list[str]] = {}
        for word in self._vocabulary:
            table.setdefault(word[0], []).append(word)
        return table

    def _beginning_alike(self, text: str) -> list[str]:
        """Return the known words that begin with the first or the second letter of *text*.

        A slip hardly ever changes the first letter; every word is looked at where none is like it.
        """
        letters = sorted(set(text[:2]))
        return [word for letter in letters for word in self._by_letter.get(letter, ())]

    @cached_property
    def _sounds(self) -> dict[str, list[str]]:
        table: dict[str, list[str]] = {}
        for word in self._vocabulary:
            table.setdefault(sound(word), []).append(word)
        return table

    def _parted(self, text: str) -> Iterator[Variant]:
        """Yield the rarer half of a word that is two known words written as one."""
        for cut in range(3, len(text) - 2):
            halves = [self._wording.stem(text[:cut]), self._wording.stem(text[cut:])]
            counts = [self._index.frequency(half) for half in halves]
            if all(counts):
                for half, shown in zip(halves, (text[:cut], text[cut:]), strict=True):
                    yield Variant(half, self._weights["spelling"], "split", shown)
            for phrase in self._wording.phrases(halves):
                if phrase.end - phrase.start == 2:
                    for ring in phrase.rings:
                        yield Variant(f"~{ring}", self._weights["ring"], "ring")

    def _join(self, words: Sequence[str], groups: list[Group]) -> list[Group]:
        """Let two neighbouring words that the house writes as one stand for it as a phrase."""
        singles = [g for g in groups if len(g.words) == 1]
        if len(singles) < 2:
            return groups
        joined: list[Group] = []
        for group in groups:
            before = joined[-1] if joined else None
            whole = self._joined(before, group)
            if before and whole:
                joined[-1] = Group(before.words + group.words, whole)
            else:
                joined.append(group)
        return joined

    def _joined(self, one: Group | None, other: Group) -> tuple[Variant, ...]:
        if one is None or len(one.words) > 1 or len(other.words) > 1:
            return ()
        text = one.words[0].text + other.words[0].text
        stem = self._wording.stem(text)
        if text.isdecimal() or not text.isalnum() or not self._index.frequency(stem):
            return ()
        return tuple(Variant(v.term, v.factor, "joined", text) for v in self._sure(text, stem))
