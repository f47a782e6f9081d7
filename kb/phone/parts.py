"""Part numbers, rows of the part lists, and which bulletins name which part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kb.folding import fold
from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, atom, in_order, layer
from kb.records import Bulletin, House, KitRow, PartRow

_NUMBERS = Sizes(least=6000, usual=16000, most=32000)
ROWS = Sizes(least=4000, usual=12000, most=24000)
LINKS = Sizes(least=2000, usual=6000, most=12000)
_STEPS = 4  # how far parts are tied by substitution or kits, as for the desk's search


@dataclass(frozen=True, slots=True)
class Steps:
    """Which folded numbers are one step apart: *ahead* in the way of an order, *beside* either."""

    ahead: Mapping[str, Sequence[str]]
    beside: Mapping[str, Sequence[str]]


def layers(gathered: Gathered) -> Iterator[Layer]:
    """Yield the layers of part numbers (twice: by beginning and by end), links and rows."""
    house = gathered.house
    steps = steps_between(house)
    yield layer("parts", _number_atoms(house, 1), _NUMBERS, joined)
    yield layer("ends", _number_atoms(house, -1), _NUMBERS, joined)
    yield layer("links", _link_atoms(gathered, steps), LINKS)
    yield layer("rows", _row_atoms(house, steps), ROWS)


def joined(run: Sequence[Atom]) -> tuple[object]:
    """Return the numbers of a run as one text; a line end parts them."""
    return ("\n".join(each.value for each in run),)


def _number_atoms(house: House, way: int) -> Iterator[Atom]:
    """Yield every number as written, by its folded form read forwards (1) or backwards (-1).

    A number that only kits.csv knows bears a ``+``.
    """
    listed = {row.number for row in house.parts}
    marked = {number: number for number in listed}
    marked |= {row.kit: f"+{row.kit}" for row in house.kits if row.kit not in listed}
    keys = {each: fold(each)[::way] for each in marked}
    found = sorted((in_order(key), number) for number, key in keys.items() if key)
    for _, number in found:
        yield Atom(keys[number], marked[number], number, len(number) + 1)


def steps_between(house: House) -> Steps:
    """Return how numbers are tied by substitution and by kits."""
    ahead: dict[str, list[str]] = {}
    beside: dict[str, list[str]] = {}
    pairs = [(fold(row.number), fold(row.replaced_by)) for row in house.parts if row.replaced_by]
    pairs += [(fold(row.kit), fold(row.number)) for row in house.kits]
    for one, other in dict.fromkeys(pairs):
        if other:
            ahead.setdefault(one, []).append(other)
            beside.setdefault(one, []).append(other)
            beside.setdefault(other, []).append(one)
    return Steps(ahead, beside)


def reached(start: str, steps: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """Return the numbers that are tied to *start*, with how far they are; itself with 0."""
    found = {start: 0}
    edge = [start]
    for step in range(1, _STEPS + 1):
        edge = sorted({n for number in edge for n in steps.get(number, ())} - found.keys())
        if not edge:
            break
        found.update(dict.fromkeys(edge, step))
    return found


def _link_atoms(gathered: Gathered, steps: Steps) -> Iterator[Atom]:
    """Yield for each number what leads to bulletins: tied numbers that one names, and postings.

    The value is [tied, documents, shares]: tied numbers with their steps, documents in force with
    how much each naming counts, negative where only the text says it.
    """
    by_number = _all_named(gathered)
    tied: dict[str, list[tuple[str, int]]] = {}
    for number in sorted(by_number, key=in_order):
        for other, step in reached(number, steps.beside).items():
            tied.setdefault(other, []).append((number, step))
    for number in sorted(tied, key=in_order):
        others = [[other, step] for other, step in tied[number] if step]
        rows = by_number.get(number, [])
        yield atom(number, [others, [row[0] for row in rows], [row[1] for row in rows]])


def _all_named(gathered: Gathered) -> dict[str, list[tuple[int, float]]]:
    """Return the folded numbers that bulletins in force name, with documents and shares."""
    found: dict[str, list[tuple[int, float]]] = {}
    for document, held in gathered.held.items():
        for number, share in named(gathered.documents[document], held.parts).items():
            found.setdefault(number, []).append((document, share))
    return found


def named(bulletin: Bulletin, shares: Mapping[str, float]) -> dict[str, float]:
    """Return the *shares* of the part numbers that a bulletin names, negative where its text does.

    They are those of its entry, by folded number.
    """
    fields = [line.number for line in bulletin.parts] + list(bulletin.keep)
    fields += [number for check in bulletin.checks for number in check.parts]
    given = set(map(fold, fields))
    return {number: share if number in given else -share for number, share in shares.items()}


def _row_atoms(house: House, steps: Steps) -> Iterator[Atom]:
    """Yield for each number its rows, what it holds as a kit, and what an order can lead to."""
    rows = _places(row.number for row in house.parts)
    kits = _places(held.kit for held in house.kits)
    for number in sorted({*rows, *kits}, key=in_order):
        own = [row_told(place, house.parts[place]) for place in rows.get(number, ())]
        newer = _ahead(number, steps.ahead)
        inside = [_held_told(place, house.kits[place]) for place in kits.get(number, ())]
        yield atom(number, _trimmed([own, newer, inside]))


def _places(numbers: Iterable[str]) -> dict[str, list[int]]:
    """Return the places of each folded number; what is told of them is made one by one."""
    found: dict[str, list[int]] = {}
    for place, number in enumerate(numbers):
        found.setdefault(fold(number), []).append(place)
    return found


def _held_told(place: int, held: KitRow) -> list[Any]:
    return [place, held.kit, held.number, held.quantity]


def row_told(place: int, row: PartRow) -> list[Any]:
    """Return a row of parts.csv, the *place*-th from 0, as the phone is told it."""
    told = [
        place, row.number, row.name, row.component, row.status, row.replaced_by,
        row.relation or "", " ".join(row.models), row.since_text, row.note,
    ]  # fmt: skip
    return _trimmed(told)


def _ahead(number: str, ahead: Mapping[str, Iterable[str]]) -> list[str]:
    """Return every number that an order for *number* can lead to, itself left out."""
    found = {number: None}
    todo = [number]
    for each in todo:
        fresh = [other for other in ahead.get(each, ()) if other not in found]
        found.update(dict.fromkeys(fresh))
        todo.extend(fresh)
    return list(found)[1:]


def _trimmed(values: list[Any]) -> list[Any]:
    while values and not values[-1]:
        values.pop()
    return values
