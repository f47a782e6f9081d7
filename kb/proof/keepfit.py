"""The rule on parts that one bulletin keeps and another fits, for the same units and symptom.

What is kept is indexed by sign and by the name it is kept under, not by each number that the name
means: a name can mean thousands of numbers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence, Set
from typing import NamedTuple

from kb.folding import fold, fold_name
from kb.proof.base import STANDING, TABLES, Found, Rule, at, these
from kb.proof.look import Look
from kb.proof.partlines import kept_numbers, numbers_in, ordered_for
from kb.records import Bulletin

# So many keepers of a part under one sign are compared with each bulletin that fits it; the rest of
# a heap that says the same again and again adds nothing, and a heap must not make the proof slow.
_COMPARED = 50

_Sign = tuple[str, str, str]  # symptom or code, its words, family


class _Kept(NamedTuple):
    """A part that a bulletin keeps: the bulletin, the entry's path and words."""

    bulletin: Bulletin
    path: str
    name: str


class _Keepers:
    """All that bulletins in force keep. An entry is known by its place among *entries*."""

    def __init__(self, look: Look) -> None:
        self._look = look
        self.entries: list[_Kept] = []
        self.signs: set[_Sign] = set()
        # The places of the entries under a sign and a name, and the names that mean a number.
        self._kept: defaultdict[tuple[_Sign, str], list[int]] = defaultdict(list)
        self._names: defaultdict[str, list[str]] = defaultdict(list)
        numbers: dict[str, Set[str]] = {}
        for bulletin in look.sound_in_force:
            for index, name in enumerate(bulletin.keep):
                if meant := kept_numbers(look, name):
                    is_number = fold(name) in look.part_numbers
                    key = fold(name) if is_number else f"name {fold_name(name)}"
                    numbers[key] = meant
                    self._add(_Kept(bulletin, f"keep[{index}]", name), key)
        for key, meant in numbers.items():
            for form in {form for number in meant for form in _same_part(look, number)}:
                self._names[form].append(key)

    def _add(self, kept: _Kept, key: str) -> None:
        for sign in _signs(self._look, kept.bulletin):
            self.signs.add(sign)
            self._kept[sign, key].append(len(self.entries))
        self.entries.append(kept)

    def names(self, number: str) -> list[list[str]]:
        """Return the names under which *number* is kept anywhere, for each of its forms."""
        forms = _same_part(self._look, number) if self._names else ()
        return [self._names[form] for form in forms if form in self._names]

    def of(self, sign: _Sign, names: Iterable[Sequence[str]]) -> Iterator[tuple[int, _Kept]]:
        """Yield the latest entries under *sign* that keep what *names* mean, with their places."""
        for among in names:
            held = (place for name in among for place in self._kept.get((sign, name), ()))
            for place in sorted(held)[-_COMPARED:]:
                yield place, self.entries[place]


def _keep_against_fit(look: Look) -> Iterator[Found]:
    keepers = _Keepers(look)
    for fitter in look.sound_in_force if keepers.entries else ():
        named = [(path, n, names) for path, n in numbers_in(fitter) if (names := keepers.names(n))]
        signs = _signs(look, fitter) & keepers.signs if named else set[_Sign]()
        told: set[tuple[str, str]] = set()
        for path, number, names in named if signs else ():
            for keeper in _against(look, keepers, fitter, signs, names):
                if (keeper.bulletin.number, fold(number)) not in told:
                    told.add((keeper.bulletin.number, fold(number)))
                    yield _contradiction(fitter, path, number, keeper)


def _against(
    look: Look,
    keepers: _Keepers,
    fitter: Bulletin,
    signs: Collection[_Sign],
    names: Sequence[Sequence[str]],
) -> Iterator[_Kept]:
    found: dict[int, _Kept] = {}
    for sign in signs:
        for place, kept in keepers.of(sign, names):
            # Where both name symptoms, a code alone does not make them the same one.
            if sign[0] == "symptom" or not (fitter.symptoms and kept.bulletin.symptoms):
                found[place] = kept
    for _, keeper in sorted(found.items(), key=lambda item: item[0]):
        if keeper.bulletin is not fitter and look.overlap(keeper.bulletin, fitter):
            yield keeper


def _contradiction(fitter: Bulletin, path: str, number: str, keeper: _Kept) -> Found:
    """Return the place in the later of the two bulletins: that one can still be changed."""
    kept = keeper.bulletin
    if (fitter.issued, fitter.number) >= (kept.issued, kept.number):
        words = f"to be fitted here, and {kept.number} says to keep '{keeper.name}'"
        return at(fitter, path, number=number, words=words)
    words = f"to be kept here, and {fitter.number} says to fit it"
    return at(kept, keeper.path, number=number, words=words)


def _signs(look: Look, bulletin: Bulletin) -> set[_Sign]:
    """Return what a bulletin can be found by, symptom or code, with each family it is for."""
    seen = {("symptom", fold_name(symptom)) for symptom in bulletin.symptoms}
    seen |= {("code", fold(code)) for code in bulletin.codes}
    return {(*sign, family) for sign in seen for family in look.family_names(bulletin)}


def _same_part(look: Look, number: str) -> Iterable[str]:
    """Return the folded number itself and those ordered in its place today."""
    return {fold(number), *map(fold, ordered_for(look, number))}


_SEEN = ("keep", "parts", "checks", "symptoms", "codes", "where")

RULES = (
    Rule(
        name="keep-against-fit",
        level="warning",
        message="part {number} is {words}, for the same units and symptom",
        remedy="see which of the two is right, and revise or supersede the other",
        find=_keep_against_fit,
        over=STANDING | these(*_SEEN, TABLES),
    ),
)
