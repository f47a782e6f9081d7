"""Bulletins by a name that they give, such as a component; each such name has a page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import nlargest

from kb.folding import fold_name
from kb.making import facts
from kb.pages.page import Way, address
from kb.records import Bulletin
from kb.slugs import folders


@dataclass(frozen=True)
class Index:
    """Bulletins in force by a name that they give: as mostly written, under one folder each.

    *kind* is the folder above, such as ``components``; *fold* makes names comparable.
    """

    kind: str
    fold: Callable[[str], str]
    names: Mapping[str, str]
    bulletins: Mapping[str, Sequence[Bulletin]]
    places: Mapping[str, str]
    saw: Callable[[str], None]

    def of(self, key: str) -> Sequence[Bulletin]:
        """Return the bulletins that give the name folded to *key*."""
        self.saw(facts.member(self.kind, key))
        return self.bulletins.get(key, ())

    def place(self, key: str) -> str:
        """Return the folder of the page for the name folded to *key*."""
        self.saw(facts.named(self.kind, key))
        return self.places[key]

    def shown(self, key: str) -> str | None:
        """Return how the name folded to *key* is written, None where no bulletin gives it."""
        self.saw(facts.named(self.kind, key))
        return self.names.get(key)

    def href(self, name: str) -> str | None:
        """Return the address below the site of the page for *name*, or None without one."""
        key = self.fold(name)
        self.saw(facts.named(self.kind, key))
        place = self.places.get(key)
        return None if place is None else address(self.kind, place)

    def way(self, name: str) -> Way:
        """Return *name* with its address; the address is empty where there is no page."""
        return Way(name, self.href(name) or "")

    def ways(self) -> list[Way]:
        """Return every name with its address and how many bulletins it leads to, by name."""
        self.saw(facts.ways(self.kind))
        return [self._counted(key) for key in self._by_name(self.names)]

    def common(self, few: int) -> list[Way]:
        """Return the names with the most bulletins, by name; ties go to the first by name."""
        self.saw(facts.ways(self.kind))
        counts = {key: len(self.bulletins[key]) for key in self.names}
        least = min(nlargest(few, counts.values()), default=0)
        likely = self._by_name(key for key, count in counts.items() if count >= least)
        chosen = sorted(likely, key=lambda key: -counts[key])[:few]
        return [self._counted(key) for key in likely if key in chosen]

    def _by_name(self, keys: Iterable[str]) -> list[str]:
        return sorted(keys, key=lambda key: natural(self.names[key]))

    def _counted(self, key: str) -> Way:
        count = _count(len(self.bulletins[key]))
        return Way(self.names[key], address(self.kind, self.places[key]), count)


def _count(number: int) -> str:
    return "1 bulletin" if number == 1 else f"{number} bulletins"


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts E9 before E10, and words whatever their case."""
    parts: list[tuple[int, int, str]] = []
    word = ""
    for character in fold_name(text):
        if character.isascii() and character.isdigit():
            if word:
                parts.append((1, 0, word))
                word = ""
            if parts and parts[-1][0] == 0:
                parts[-1] = (0, parts[-1][1] * 10 + int(character), "")
            else:
                parts.append((0, int(character), ""))
        else:
            word += character
    return parts + ([(1, 0, word)] if word else [])


def index_by(
    kind: str,
    key: Callable[[str], str],
    bulletins: Iterable[Bulletin],
    names: Callable[[Bulletin], Iterable[str]],
    saw: Callable[[str], None],
    plain: bool = True,
    known: Mapping[str, tuple[str, str]] | None = None,
) -> Index:
    """Return *bulletins* by the *names* that each gives, compared by *key*.

    *saw* is told of what is looked up. *plain* slugs the names for their folders, which are those
    of the *known* places where the names are the same.
    """
    written: dict[str, Counter[str]] = {}
    found: dict[str, list[Bulletin]] = {}
    for bulletin in bulletins:
        for name in dict.fromkeys(" ".join(name.split()) for name in names(bulletin)):
            if key(name):
                written.setdefault(key(name), Counter())[name] += 1
                held = found.setdefault(key(name), [])
                if not held or held[-1] is not bulletin:
                    held.append(bulletin)
    shown = {folded: _usual(spellings) for folded, spellings in written.items()}
    by_name = folders(shown.values(), plain, known)
    places = {folded: by_name[name] for folded, name in shown.items()}
    return Index(kind, key, shown, found, places, saw)


def _usual(spellings: Counter[str]) -> str:
    """Return the spelling used most, so that one odd one does not move a page."""
    return min(spellings, key=lambda name: (-spellings[name], name))
