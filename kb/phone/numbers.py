"""What a house knows by number: models, bulletins, codes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from kb.dates import Days
from kb.folding import fold
from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, atom, gaps, in_order, layer
from kb.records import Family, Scheme
from kb.wire import day_text, scheme_to_json

NUMBERS = Sizes(least=3000, usual=8000, most=16000)
CODES = Sizes(least=2000, usual=5000, most=10000)
_RUNS = re.compile(r"[0-9]+|[^0-9]+")


def layers(gathered: Gathered) -> Iterator[Layer]:
    """Yield the layers of models, bulletin numbers and codes."""
    yield layer("models", _model_atoms(gathered), NUMBERS, columns)
    yield layer("numbers", _number_atoms(gathered), NUMBERS, from_first)
    yield layer("codes", _code_atoms(gathered), CODES)


def columns(run: Sequence[Atom]) -> tuple[object]:
    """Return the lists of a run turned round: like stands beside like, which packs better."""
    return (list(map(list, zip(*(each.value for each in run), strict=True))),)


def _model_atoms(gathered: Gathered) -> Iterator[Atom]:
    """Yield every model as written, with its family's place and its own in the family."""
    found: dict[str, list[Any]] = {}
    for at, family in enumerate(gathered.house.families.values()):
        for place, model in enumerate(family.models):
            held = found.get(fold(model))
            if held is None or held[0] != model:
                found[fold(model)] = [model, at, place]
    for folded in sorted(found, key=in_order):
        yield atom(folded, found[folded])


def model_starts(families: Iterable[Family]) -> str:
    """Return the two letters with which models begin."""
    return " ".join(sorted({fold(model)[:2] for family in families for model in family.models}))


def family_facts(family: Family) -> dict[str, Any]:
    """Return what readings of rating plates need of a family, and its first and last model."""
    uses = [[use.name, *_days(use.used)] for use in family.schemes]
    ends = sorted(map(fold, family.models), key=in_order)
    return {
        "name": family.name,
        "product": family.product,
        "produced": _days(family.produced),
        "schemes": uses,
        "models": [ends[0], ends[-1]] if ends else [],
    }


def scheme_facts(scheme: Scheme) -> dict[str, Any]:
    """Return a scheme with its plants' codes in order, which a browser would sort otherwise."""
    return {**scheme_to_json(scheme), "codes": list(scheme.plants)}


def _days(days: Days) -> list[str | None]:
    return [day_text(days.first), day_text(days.last)]


def _number_atoms(gathered: Gathered) -> Iterator[Atom]:
    for document, bulletin in enumerate(gathered.documents):
        yield number_atom(document, bulletin.number)


def number_atom(document: int, number: str) -> Atom:
    """Return the atom of a bulletin's number."""
    return atom(fold(number), (document, number))


def from_first(run: Sequence[Atom]) -> tuple[object]:
    """Return the first document of a run, and the numbers from there on as one text."""
    return ([run[0].value[0], "\n".join(number for _, number in (each.value for each in run))],)


def codes(gathered: Gathered) -> str:
    """Return every code that a bulletin in force gives, as displayed, joined by line ends."""
    shown: dict[str, set[str]] = {}
    for document in gathered.held:
        for code in gathered.documents[document].codes:
            shown.setdefault(fold(code), set()).add(code)
    return codes_told(shown)


def codes_told(shown: Mapping[str, Iterable[str]]) -> str:
    """Return the codes in order, each written in one way of those in *shown*."""
    return "\n".join(min(shown[folded]) for folded in sorted(shown, key=in_order))


def _code_atoms(gathered: Gathered) -> Iterator[Atom]:
    """Yield for each code the documents that name it: twice their step, and 1 if in the front."""
    found: dict[str, list[tuple[int, int]]] = {}
    for document, held in gathered.held.items():
        for code, place in held.codes.items():
            found.setdefault(code, []).append((document, int(place == "front")))
    for code in sorted(found, key=in_order):
        steps = gaps([document for document, _ in found[code]])
        rows = zip(steps, found[code], strict=True)
        yield atom(code, [2 * step + front for step, (_, front) in rows])


def shapes(written: Iterable[str]) -> str:
    """Return the shapes of folded numbers: a letter as A, a figure as 9; runs as their length.

    >>> shapes(["HR3104120", "HR3104126", "TD45A"])
    'A2D2A1 A2D7'
    """
    return " ".join(sorted({shape(each) for each in written}))


def shape(folded: str) -> str:
    """Return the shape of one folded number."""
    runs = _RUNS.findall(folded)
    return "".join(f"{'D' if run[0] in '0123456789' else 'A'}{len(run)}" for run in runs)
