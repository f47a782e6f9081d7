"""Why a bulletin was found, in words: which asked words it holds, and through what."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from kb.hits import Hit
from kb.matching import Variant
from kb.wording import Wording


class Texts(Protocol):
    """The part of the index that holds the words in order."""

    def text(self, document: int) -> str:
        """The words of a document in order, as written; lines are parted by ``|``."""


class Reasons:
    """Tells the reasons of hits in one index."""

    def __init__(self, index: Texts, wording: Wording) -> None:
        self._index = index
        self._wording = wording

    def why(self, hit: Hit) -> str:
        """Return a line such as ``"drain"; "puddle" as "leak" (like word)``."""
        words = self._index.text(hit.document).split()
        seen: dict[str, None] = {}
        for asked, variant in hit.through:
            seen.setdefault(self._reason(asked, variant, words))
        return "; ".join(filter(None, seen))

    def _reason(self, asked: str, variant: Variant, words: list[str]) -> str:
        match variant.through:
            case "code":
                return f"code {asked}"
            case "part":
                return f"part {asked}"
            case "substitution":
                return f"a part that {asked} leads to or comes from"
        if variant.term.startswith("~"):
            held = self._ring_word(int(variant.term[1:]), words)
            how = "spelling, like word" if variant.through == "spelling" else "like word"
            return f'"{asked}" as "{held}" ({how})' if held and held != asked else f'"{asked}"'
        held = self._held(variant.term, words)
        if held == asked:
            return f'"{asked}"'
        how = _HOW.get(variant.through, "word form")
        return f'"{asked}" as "{held or variant.shown}" ({how})'

    def _held(self, stem: str, words: Iterable[str]) -> str:
        return next((word for word in words if self._wording.stem(word) == stem), "")

    def _ring_word(self, ring: int, words: list[str]) -> str:
        """Return the first phrase of a ring that stands in the words, as written there."""
        stems = [self._wording.stem(word) for word in words]
        for phrase in self._wording.phrases(stems):
            if ring in phrase.rings:
                return " ".join(words[phrase.start : phrase.end])
        return ""


_HOW = {
    "own": "word form",
    "form": "word form",
    "spelling": "spelling",
    "start": "beginning",
    "near": "near word",
    "joined": "written as one",
    "split": "written apart",
}
