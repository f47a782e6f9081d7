"""Sentences for the large house: a small grammar, expanded with a Zipf-like spread of words."""

from __future__ import annotations

import re
from bisect import bisect
from itertools import accumulate
from random import Random

from tests.bench import big_words

_SLOT = re.compile(r"\{(\w+\*?)\}")
_SPREAD = 0.85  # the exponent of the spread; 1 is Zipf's own


def _choices(name: str, text: str) -> list[str]:
    """Return what may stand for a symbol."""
    if text == "{towns}":
        return big_words.towns()
    if text == "{compounds}":
        return big_words.compounds()
    return [choice.strip() for choice in (text.split("|") if "|" in text else text.split())]


def _weights(number: int, spread: bool) -> list[float]:
    return list(accumulate((at + 3) ** -_SPREAD if spread else 1 for at in range(number)))


class Speaker:
    """Says sentences of a grammar about one component at a time; the same seed, the same words."""

    def __init__(self, rng: Random) -> None:
        self._rng = rng
        self._symbols: dict[str, tuple[list[list[str]], list[float]]] = {}
        for name, text in {**big_words.SYMBOLS, "towns": "{towns}"}.items():
            choices = _choices(name, text)
            spread = name.endswith("*") or name == "towns"
            self._symbols[name] = (
                [
                    _SLOT.split(choice.replace("{{", "\x01").replace("}}", "\x02"))
                    for choice in choices
                ],
                _weights(len(choices), spread),
            )
        self._sorts = {
            "sentence": self._lines(big_words.SENTENCES),
            "symptom": self._lines(big_words.SYMPTOMS),
            "title": self._lines(big_words.TITLES),
        }

    @staticmethod
    def _lines(text: str) -> list[list[str]]:
        return [_SLOT.split(line) for line in text.strip().splitlines()]

    def say(self, sort: str, component: str) -> str:
        """Return a sentence, symptom or title about *component*, beginning with a capital."""
        line = self._fill(self._rng.choice(self._sorts[sort]), component)
        return line[0].upper() + line[1:] if sort != "symptom" else line

    def word(self, symbol: str, component: str = "") -> str:
        """Return one choice for a symbol, filled."""
        return self._one(symbol, component)

    def _one(self, symbol: str, component: str) -> str:
        if symbol == "comp":
            return component
        if symbol == "Comp":
            return component[0].upper() + component[1:]
        if symbol == "n":
            return str(self._rng.randint(2, 95))
        if symbol == "d":
            return str(self._rng.randint(1, 9))
        choices, weights = self._symbols[symbol]
        return self._fill(choices[bisect(weights, self._rng.random() * weights[-1])], component)

    def _fill(self, pieces: list[str], component: str) -> str:
        said = [self._one(piece, component) if at % 2 else piece for at, piece in enumerate(pieces)]
        return "".join(said).replace("\x01", "{").replace("\x02", "}")
