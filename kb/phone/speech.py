"""Words for the phone: the word table by first letters, and the house's own vocabulary."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import Any

from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, atom, in_order, layer
from kb.spelling import sound

TABLE = Sizes(least=1000, usual=3000, most=6000)
WORDS = Sizes(least=2000, usual=5000, most=10000)
SMALL = (
    "weights", "thresholds", "stop", "not_words", "not_phrases", "generic", "products",
    "elsewhere", "code_words", "part_words", "unit_words",
)  # fmt: skip


def small_table(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return what every question needs of the word table, and what is too small to be cut."""
    return {key: table[key] for key in SMALL}


def layers(gathered: Gathered) -> Iterator[Layer]:
    """Yield the layers of words."""
    table, terms, spoken = gathered.wording.data, gathered.terms, gathered.spoken
    ring_words = table["ring_words"].split()
    yield words_layer(table, terms)
    yield layer("spoken", _list(spoken), WORDS, joined)
    yield layer("rings", _list(ring_words), WORDS, joined)
    yield layer("common", _list(table["common"].split()), WORDS, joined)
    heard: dict[str, list[str]] = {}
    for word in sorted({*filter(is_heard, spoken), *ring_words}, key=in_order):
        heard.setdefault(sound(word), []).append(word)
    yield layer("sounds", _sounds(heard), WORDS)
    yield alike_layer(table, terms)


def words_layer(table: Mapping[str, Any], terms: Container[str]) -> Layer:
    """Return the word table by first letters, as far as it leads to *terms*."""
    return layer("words", _table_atoms(table, terms), TABLE)


def alike_layer(table: Mapping[str, Any], terms: Container[str]) -> Layer:
    """Return the phrases of the rings, as far as they can be made of *terms*."""
    return layer("alike", _ring_atoms(table["phrases"], terms), TABLE)


def told_by_table(table: Mapping[str, Any]) -> set[str]:
    """Return the terms on which the two layers of the word table depend."""
    phrases = [each for written in table["phrases"].values() for each in written.split("|")]
    stems = {stem for each in phrases for stem in each.partition("=")[0].split()}
    rings = {f"~{ring}" for each in phrases for ring in each.partition("=")[2].split(",")}
    near = {other for written in table["near"].values() for other in written.split()[::2]}
    return stems | rings | near


def is_heard(word: str) -> bool:
    """Tell whether a word of the house is one that can be written by ear."""
    return len(word) > 2 and word.isalpha()


def _sounds(heard: Mapping[str, Sequence[str]]) -> Iterator[Atom]:
    for key in sorted(heard, key=in_order):
        yield atom(key, " ".join(heard[key]))


def _list(words: Iterable[str]) -> Iterator[Atom]:
    for word in sorted(words, key=in_order):
        yield word_atom(word)


def word_atom(word: str) -> Atom:
    """Return the atom of a word that stands for itself."""
    return Atom(word, word, word, len(word) + 1)


def joined(run: Sequence[Atom]) -> tuple[object]:
    """Return the words of a run as one text."""
    return (" ".join(each.value for each in run),)


def start_of(word: str) -> str:
    """Return the beginning by which a word's rows of the table are found."""
    return word.replace("'", "")[:2]


def _table_atoms(table: Mapping[str, Any], terms: Container[str]) -> Iterator[Atom]:
    """Yield the rows of the word table by the beginning of their words."""
    kinds: tuple[tuple[str, Mapping[str, str]], ...] = (
        ("spelled", table["spelled"]),
        ("phrases", _living_phrases(table["phrases"], terms)),
        ("near", _living_near(table["near"], terms)),
    )
    found: dict[str, dict[str, dict[str, str]]] = {}
    for kind, rows in kinds:
        for word in sorted(rows, key=in_order):
            found.setdefault(start_of(word), {}).setdefault(kind, {})[word] = rows[word]
    for start in sorted(found, key=in_order):
        yield atom(start, found[start])


def _living_phrases(phrases: Mapping[str, str], terms: Container[str]) -> dict[str, str]:
    """Return the ring phrases without the single words that lead to no bulletin.

    Phrases of several words stay: they tell which of the asked words belong together.
    """
    kept = {
        first: "|".join(filter(None, (_living(each, terms) for each in written.split("|"))))
        for first, written in phrases.items()
    }
    return {first: written for first, written in kept.items() if written}


def _living(phrase: str, terms: Container[str]) -> str:
    words, _, rings = phrase.partition("=")
    living = [ring for ring in rings.split(",") if f"~{ring}" in terms]
    if not living and " " in words:
        living = rings.split(",")[:1]
    return f"{words}={','.join(living)}" if living else ""


def _ring_atoms(phrases: Mapping[str, str], terms: Container[str]) -> Iterator[Atom]:
    """Yield the phrases of each ring, the longest first, as far as bulletins can hold them.

    They tell through which word a bulletin was found.
    """
    found: dict[str, list[str]] = {}
    for written in phrases.values():
        for phrase, _, rings in (each.partition("=") for each in written.split("|")):
            if all(stem in terms for stem in phrase.split()):
                for ring in rings.split(","):
                    found.setdefault(ring, []).append(phrase)
    for ring in sorted(found, key=in_order):
        yield atom(ring, "|".join(sorted(found[ring], key=lambda p: (-p.count(" "), p))))


def _living_near(near: Mapping[str, str], terms: Container[str]) -> dict[str, str]:
    """Return for each everyday stem the stems near it that a bulletin holds."""
    kept = {}
    for stem, written in near.items():
        pairs = zip(*[iter(written.split())] * 2, strict=True)
        kept[stem] = " ".join(f"{other} {weight}" for other, weight in pairs if other in terms)
    return {stem: written for stem, written in kept.items() if written}
