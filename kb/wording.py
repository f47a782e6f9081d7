"""Words as the search compares them: tokens, word forms, rings of like words, spellings.

Everything here is decided by one data file (``kb/data/words.json``) and the house's words.yaml,
made ready beforehand by ``kb.wordtable``; the phone reads the same table. Word forms are Snowball's
English (PyStemmer, the edition named in pyproject.toml).
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import Any, NamedTuple, TypeVar

from kb.folding import fold

NOT = "not"
LINES_APART = " | "  # no word holds a bar
_END = "\0"  # stands for the end of a line among words, and is none
_APART = f" {_END} "
_FRACTION = re.compile(r"(\d)([\u00bc-\u00be\u2150-\u215e])")
_TOKEN = re.compile(r"[^\W_]+(?:['\u2019][^\W\d_]+)*(?:[-./]+[^\W_]+(?:['\u2019][^\W\d_]+)*)*")
_JOINT = re.compile(r"[-./]+")
_MOST_KEPT = 200_000  # runs of signs between blanks that are remembered
_MOST_TEXTS = 2000  # texts remembered as counted

_Value = TypeVar("_Value")
_Ringing = tuple[list[str], Mapping[str, list[tuple[list[str], list[str]]]]]


@dataclass(frozen=True, slots=True)
class Phrase:
    """A run of tokens, ``start`` to ``end`` (not included), that stands in the rings *rings*."""

    start: int
    end: int
    rings: tuple[int, ...]


class Counted(NamedTuple):
    """A text as the index counts it.

    *written* is its words in order, lines apart; *forms* the word form of each; *counts* how often
    each word form and ring comes, *length* how many words count.
    """

    written: str
    forms: Mapping[str, str]
    counts: Mapping[str, int]
    length: int


class Kept(dict[str, _Value]):
    """What *make* gives for a text, made once and kept; begun anew when it has grown too large."""

    def __init__(self, make: Callable[[str], _Value], most: int = _MOST_KEPT) -> None:
        super().__init__()
        self._make = make
        self._most = most

    def __missing__(self, text: str) -> _Value:
        if len(self) >= self._most:
            self.clear()
        made = self[text] = self._make(text)
        return made


def plain(text: str) -> str:
    """Return *text* normalised (NFKC, fractions kept apart), in lower case, without accents."""
    if text.isascii():
        return text.lower()
    spaced = _FRACTION.sub(r"\1 \2", text)
    # A fraction typed as one character is the same as one typed with a slash.
    composed = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/")
    decomposed = unicodedata.normalize("NFKD", composed)
    return "".join(c for c in decomposed if unicodedata.category(c) != "Mn").casefold()


def raw_tokens(text: str) -> Iterator[str]:
    """Yield the words of a ``plain`` text; a word with a digit keeps its joints, folded.

    Single letters joined (``a/c``, ``d.c.``) are one word, as if written without their joints.
    """
    for match in _TOKEN.finditer(text):
        whole = match[0].replace("\u2019", "'")
        pieces = _JOINT.split(whole)
        if len(pieces) > 1 and any(c.isdigit() for c in whole):
            yield fold(whole).lower()
            yield from (piece for piece in pieces if len(piece) > 2 and piece.isalpha())
        elif len(whole) == 2 * len(pieces) - 1:
            yield "".join(pieces)
        else:
            yield from pieces


def _numbers_of(run: str) -> tuple[str, ...]:
    """Return the folded words with a digit in a run of signs without blanks."""
    return tuple(fold(word) for word in raw_tokens(run) if any(c.isdigit() for c in word))


class Wording:
    """The words of the trade and of one house, ready to compare.

    *table* is what ``kb.wordtable`` prepared from words.json and the house's words.yaml: everything
    that can be known before a question is asked.
    """

    def __init__(self, table: Mapping[str, Any]) -> None:
        self.data = table
        self.weights: Mapping[str, Any] = table["weights"]
        self.thresholds: Mapping[str, Any] = table["thresholds"]
        written = table["stems"].split()
        self._stems: dict[str, str] = dict(zip(written[::2], written[1::2], strict=True))
        self._stop = frozenset(table["stop"])
        self._not = frozenset(table["not_words"])
        self._spelled: Mapping[str, str] = table["spelled"]
        self._phrases: Mapping[str, str] = table["phrases"]
        self._starting: dict[str, list[tuple[list[str], tuple[int, ...]]]] = {}
        # A word never reaches over a blank, and houses say the same words over and over.
        self._words_in: Kept[tuple[str, ...]] = Kept(self._take_apart)
        self._stems_in: Kept[tuple[str, ...]] = Kept(
            lambda run: tuple(map(self.stem, self._words_in[run]))
        )
        self._numbers_in: Kept[tuple[str, ...]] = Kept(_numbers_of)
        self.often: Kept[Counted] = Kept(self.counted, _MOST_TEXTS)
        self._ringing: Kept[_Ringing] = Kept(self._rings_from)

    @cached_property
    def _not_phrase(self) -> re.Pattern[str]:
        longest_first = sorted(self.data["not_phrases"], key=lambda phrase: (-len(phrase), phrase))
        return re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first)) or '(?!)'})\b")

    @cached_property
    def _stemmer(self) -> Any:
        import Stemmer  # when a word comes up that the table does not know

        return Stemmer.Stemmer("english", 0)  # keeps no words itself: `stem` does

    @cached_property
    def common(self) -> frozenset[str]:
        """Everyday English words, as stems: a typed word among them is hardly a slip."""
        return frozenset(self.data["common"].split())

    @cached_property
    def generic(self) -> frozenset[str]:
        """Stems of words that stand for any appliance."""
        return frozenset(self.data["generic"])

    @cached_property
    def ring_words(self) -> frozenset[str]:
        """Every word of the rings as written, lower case."""
        return frozenset(self.data["ring_words"].split())

    @cached_property
    def unit_words(self) -> frozenset[str]:
        """Words that only announce a model, a serial or a digit."""
        return frozenset(word for words in self.data["unit_words"].values() for word in words)

    def stem(self, word: str) -> str:
        """Return the word form that stands for *word*; words with digits stay as they are."""
        known = self._stems.get(word)
        if known is None:
            known = self._stems[word] = self._find_stem(word)
        return known

    def _find_stem(self, word: str) -> str:
        bare = word.replace("'", "")
        if bare in self._not:
            return NOT
        if any(c.isdigit() for c in word):
            return word
        word = self._spelled.get(bare, self._spelled.get(word, word))
        if word.endswith("'s"):
            word = word[:-2]
        return str(self._stemmer.stemWord(word.replace("'", "")))

    def is_stop(self, word: str) -> bool:
        """Tell whether *word* counts for nothing in a search."""
        return word.replace("'", "") in self._stop

    def words(self, text: str) -> list[str]:
        """Return the words of *text* as written (lower case) that count in a search."""
        runs = self._levelled(text).split()
        return list(chain.from_iterable(map(self._words_in.__getitem__, runs)))

    def counted(self, text: str) -> Counted:
        """Return the words of *text* as the index counts them; no phrase reaches over a line."""
        level = self._levelled(text)
        runs = level.replace("\n", _APART).split()
        words = list(chain.from_iterable(map(self._words_in.__getitem__, runs)))
        stems = list(chain.from_iterable(map(self._stems_in.__getitem__, runs)))
        forms = dict(zip(words, stems, strict=True))
        counts = Counter(chain(stems, self.rings(stems)))
        ends = counts.pop(_END, 0)
        forms.pop(_END, None)
        lines = map(str.strip, " ".join(words).split(_END)) if ends else [" ".join(words)]
        return Counted(LINES_APART.join(lines), forms, counts, len(stems) - ends)

    @cached_property
    def products_in(self) -> Kept[set[str]]:
        """The product sorts named in a text."""
        return Kept(lambda text: self.products(self.stems(text)), _MOST_TEXTS)

    def numbers(self, texts: Iterable[str]) -> set[str]:
        """Return whatever in *texts* can be a number or a code, folded."""
        runs = set(chain.from_iterable(plain(text).split() for text in texts))
        return set(chain.from_iterable(map(self._numbers_in.__getitem__, runs)))

    def _levelled(self, text: str) -> str:
        """Return the ``plain`` text with every way to say *not* in several words as that word."""
        level = plain(text).replace(_END, " ")
        if any(map(level.__contains__, self.data["not_phrases"])):
            level = self._not_phrase.sub(NOT, level)
        return level

    def _take_apart(self, run: str) -> tuple[str, ...]:
        """Return the words that count in a run of signs without blanks."""
        if run == _END:
            return (_END,)
        kept: list[str] = []
        for word in raw_tokens(run):
            right = self._spelled.get(word, "")
            kept.extend(right.split() if " " in right else [word])
        return tuple(word for word in kept if not self.is_stop(word))

    def stems(self, text: str) -> list[str]:
        """Return the word forms of *text* that count in a search, in order."""
        return [self.stem(word) for word in self.words(text)]

    def phrases(self, stems: Sequence[str]) -> list[Phrase]:
        """Return every ring phrase that stands in *stems*, one word or more, overlaps included."""
        found: list[Phrase] = []
        for start, stem in enumerate(stems):
            for phrase, rings in self._phrases_from(stem):
                end = start + len(phrase)
                if list(stems[start:end]) == phrase:
                    found.append(Phrase(start, end, rings))
        return found

    def rings(self, stems: Sequence[str]) -> list[str]:
        """Return the ring of every phrase that stands in *stems*, as ``~7``, overlaps included."""
        starting = self._phrases
        found: list[str] = []
        for start in [at for at, stem in enumerate(stems) if stem in starting]:
            alone, longer = self._ringing[stems[start]]
            found += alone
            if longer:
                for phrase, rings in longer.get("".join(stems[start + 1 : start + 2]), ()):
                    if stems[start : start + len(phrase)] == phrase:
                        found += rings
        return found

    def _rings_from(self, stem: str) -> _Ringing:
        """Return the rings of *stem* alone, and those of longer phrases by their second stem."""
        alone: list[str] = []
        longer: dict[str, list[tuple[list[str], list[str]]]] = {}
        for phrase, numbers in self._phrases_from(stem):
            rings = [f"~{number}" for number in numbers]
            if len(phrase) == 1:
                alone += rings
            else:
                longer.setdefault(phrase[1], []).append((phrase, rings))
        return alone, longer

    def _phrases_from(self, stem: str) -> list[tuple[list[str], tuple[int, ...]]]:
        """Return the phrases that begin with *stem*, taken apart when first asked for."""
        if stem not in self._starting:
            pairs = [each.split("=") for each in self._phrases.get(stem, "").split("|") if each]
            self._starting[stem] = [
                (phrase.split(), tuple(map(int, rings.split(",")))) for phrase, rings in pairs
            ]
        return self._starting[stem]

    def near(self, stem: str) -> list[tuple[str, float]]:
        """Return the trade stems near an everyday stem, with how near they are (0..1)."""
        written = self.data["near"].get(stem, "").split()
        return [(other, float(weight)) for other, weight in zip(*[iter(written)] * 2, strict=True)]

    def products(self, stems: Sequence[str]) -> set[str]:
        """Return the product sorts named in *stems* (``washer``, ``dryer``…).

        A name inside a longer one does not count (the range in a range hood), unless the longer
        one only says more exactly what it is (the hob in a gas hob).
        """
        text = f" {' '.join(stems)} "
        names = [(f" {name} ", sort) for name, sort in self._pairs("products")]
        hits = [(name, sort) for name, sort in names if name in text]
        return {
            sort
            for name, sort in hits
            if not any(
                name in other and name != other and (name, of) not in hits for other, of in hits
            )
        }

    def elsewhere(self, stems: Sequence[str]) -> str:
        """Return the thing named in *stems* that no house of this trade makes, or nothing."""
        text = f" {' '.join(stems)} "
        named = [name for phrase, name in self._pairs("elsewhere") if f" {phrase} " in text]
        return max(named, key=len, default="")

    def _pairs(self, key: str) -> list[list[str]]:
        """Return a list of the table that is kept as lines: a phrase of stems, a bar, a name."""
        return [line.split("|") for line in self.data[key].split("\n")]
