"""Following a part number, for one model, to what can be ordered in its place."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from kb.folding import fold
from kb.modelsets import fits
from kb.partlist import Catalogue, moves
from kb.records import KitRow, PartRow, Relation

_NONE_LEFT = "is gone and nothing that can be ordered takes its place"
# Stands for all models that no row names, where the models of the house are not known.
ANY_OTHER = "\x02"
ORDERABLE = ("current", "running-out")


@dataclass(frozen=True, slots=True)
class Step:
    """One step from an older number to the next, as parts.csv tells it."""

    old: str
    new: str
    relation: Relation
    since: str


@dataclass(frozen=True, slots=True)
class Coming:
    """A successor that cannot be ordered yet."""

    number: str
    since: str


class Line(NamedTuple):
    """A number to order and how many of it."""

    part: PartRow
    quantity: int


@dataclass(frozen=True, slots=True)
class Branch:
    """One way to order what is wanted. *lines* is empty where nothing can be had.

    *choose* tells that for a part of a dissolved kit there is more than one way; *opened* names the
    kits dissolved; *waits_for* is set on the branch of a number that cannot be ordered yet.
    """

    lines: tuple[Line, ...] = ()
    steps: tuple[Step, ...] = ()
    coming: tuple[Coming, ...] = ()
    notes: tuple[str, ...] = ()
    choose: bool = False
    opened: frozenset[str] = frozenset()
    waits_for: PartRow | None = None

    @property
    def outcome(self) -> tuple[tuple[str, int], ...]:
        """What is ordered: folded numbers and how many of each."""
        return tuple((fold(line.part.number), line.quantity) for line in self.lines)


class Wanted(NamedTuple):
    """A number (folded) that is followed, and how many of it are needed."""

    number: str
    quantity: int = 1


_Branches = list[Branch]
_Work = Generator[Wanted, _Branches, _Branches]


def follow(catalogue: Catalogue, number: str, model: str) -> list[Branch]:
    """Return what to order for *number* and *model*; [] if the number is unknown.

    There is more than one branch where several rows speak for the model. A successor that leads
    back to a number on the way to it counts as one that cannot be had.
    """
    return _Follower(catalogue, model).run(Wanted(fold(number)))


class _Follower:
    """Walks one number's successors and contents. A stack of its own lets chains be long."""

    def __init__(self, catalogue: Catalogue, model: str) -> None:
        self._catalogue = catalogue
        self._model = model
        self._known: dict[Wanted, _Branches] = {}
        self._on_the_way: set[str] = set()

    def run(self, wanted: Wanted) -> _Branches:
        stack = [(wanted, self._visit(wanted))]
        self._on_the_way.add(wanted.number)
        answer: _Branches | None = None
        while stack:
            now, work = stack[-1]
            try:
                asked = next(work) if answer is None else work.send(answer)
            except StopIteration as done:
                answer = self._known[now] = done.value
                self._on_the_way.discard(now.number)
                stack.pop()
                continue
            answer = self._known.get(asked)
            if answer is None:
                stack.append((asked, self._visit(asked)))
                self._on_the_way.add(asked.number)
        return answer or []

    def _visit(self, wanted: Wanted) -> _Work:
        branches: _Branches = []
        for row, remarks in self._rows(wanted.number):
            for branch in (yield from self._row(row, wanted)):
                notes = (*_remark(row), *remarks, *branch.notes)
                branches.append(replace(branch, notes=notes))
        return _merged(branches) or self._unfitted(wanted.number)

    # Which rows speak

    def _rows(self, number: str) -> Iterator[tuple[PartRow, tuple[str, ...]]]:
        """Yield the rows that decide, each with the notes of the rows beside it."""
        for rows in self._groups(number):
            deciding = [row for row in rows if row.relation != "changed" or moves(row)] or rows[:1]
            remarks = tuple(note for row in rows if row not in deciding for note in _remark(row))
            for row in deciding:
                yield row, remarks

    def _groups(self, number: str) -> list[list[PartRow]]:
        """Return the rows for the model, those that are limited alike together.

        A row without models speaks for the models that no limited row names.
        """
        groups: dict[tuple[str, ...], list[PartRow]] = {}
        for row in self._catalogue.rows(number):
            groups.setdefault(tuple(sorted(map(fold, row.models))), []).append(row)
        general = groups.pop((), [])
        limited = [rows for rows in groups.values() if fits(rows[0].models, self._model)]
        return limited or [general] * bool(general)

    def _unfitted(self, number: str) -> _Branches:
        """Return a branch that says so where no row of a known number fits the model."""
        rows = self._catalogue.rows(number)
        listed = ", ".join(dict.fromkeys(pattern for row in rows for pattern in row.models))
        model = "other models" if self._model == ANY_OTHER else self._model
        return [
            Branch(notes=(f"{row.number} is listed for {listed}, not for {model}",))
            for row in rows[:1]
        ]

    # What one row leads to

    def _row(self, row: PartRow, wanted: Wanted) -> _Work:
        if row.status == "pending":
            return [Branch(notes=(_not_yet(row),), waits_for=row)]
        if not moves(row):
            return (yield from self._itself(row, wanted, ()))
        after, problem = self._successor(row)
        if after is None:
            return (yield from self._itself(row, wanted, (problem,)))
        branches: _Branches = []
        quantity = self._quantity(row, wanted.quantity)
        for branch in (yield Wanted(fold(after.number), quantity)):
            if branch.lines and not self._loose_again(row, branch):
                branches.append(self._taken(row, after, branch))
            else:
                for mine in (yield from self._itself(row, wanted, branch.notes)):
                    branches.append(_waiting(mine, row, branch))
        return branches

    def _successor(self, row: PartRow) -> tuple[PartRow | None, str]:
        """Return the next number's first row, or None and why it is no help."""
        after = self._catalogue.find(row.replaced_by)
        if after is None:
            return None, f"{row.replaced_by}, said to replace {row.number}, is not in parts.csv"
        if fold(after.number) in self._on_the_way:
            ring = f"{after.number}, said to replace {row.number}, leads back to it"
            return None, ring
        return after, ""

    def _quantity(self, row: PartRow, needed: int) -> int:
        """Return how many of the next are needed: a kit may hold several of the part."""
        held = self._catalogue.held(row.replaced_by, row.number) if row.relation == "kit" else 1
        return -(-needed // max(held, 1))

    def _loose_again(self, row: PartRow, branch: Branch) -> bool:
        """Tell whether *branch* dissolves the very kit that the part was sold in."""
        kit = fold(row.replaced_by)
        held = row.relation == "kit" and self._catalogue.held(kit, row.number) > 0
        return held and kit in branch.opened

    def _taken(self, row: PartRow, after: PartRow, branch: Branch) -> Branch:
        relation = row.relation or "forward"  # unsaid: the safer of the two
        step = Step(row.number, after.number, relation, row.since_text)
        notes = branch.notes
        if relation == "kit":
            notes = (self._kit_note(row, after), *notes)
        return replace(branch, steps=(step, *branch.steps), notes=notes)

    def _kit_note(self, row: PartRow, kit: PartRow) -> str:
        held = [self._named(line) for line in self._catalogue.contents(kit.number)]
        holds = f", which holds {', '.join(held)}" if held else ""
        return f"{row.number} is sold only in kit {kit.number}{holds}"

    def _named(self, line: KitRow) -> str:
        part = self._catalogue.find(line.number)
        name = f" {part.name}" if part and part.name else ""
        return f"{line.quantity} × {part.number if part else line.number}{name}"

    # Where the number stands for itself

    def _itself(self, row: PartRow, wanted: Wanted, why: tuple[str, ...]) -> _Work:
        """Order the number itself, open it if it is a kit that is gone, or say that it is gone."""
        if row.status in ORDERABLE:
            return [Branch((Line(row, wanted.quantity),), notes=why)]
        if contents := self._catalogue.contents(row.number):
            branch = yield from self._opened(row, wanted, contents)
            if branch.lines:
                return [replace(branch, notes=(*why, *branch.notes))]
            return [Branch(coming=branch.coming, notes=(*why, *branch.notes))]
        end = _NONE_LEFT if why else "is gone and nothing takes its place"
        before = (note for note in why if not note.endswith(_NONE_LEFT))  # said once is enough
        return [Branch(notes=(*before, f"{row.number} {end}"))]

    def _opened(
        self, kit: PartRow, wanted: Wanted, contents: Iterable[KitRow]
    ) -> Generator[Wanted, _Branches, Branch]:
        """Return one branch with all that stands for the contents of a kit."""
        found: _Branches = []
        missing: list[str] = []
        choose = False
        for held in contents:
            part = self._catalogue.find(held.number)
            inside: _Branches = []
            if part is not None and fold(held.number) not in self._on_the_way:
                quantity = held.quantity * wanted.quantity
                inside = yield Wanted(fold(held.number), quantity)
            if not any(branch.lines for branch in inside):
                number = part.number if part else held.number
                missing.append(f"{number}, held by kit {kit.number}, cannot be ordered")
            choose = choose or differ(inside)
            found.extend(inside)
        note = f"kit {kit.number} is gone: what it held is ordered instead"
        if not any(branch.lines for branch in found):
            note = f"kit {kit.number} is gone and nothing that it held can be ordered"
        return _together(kit, found, [note, *missing], choose)


def differ(branches: Iterable[Branch]) -> bool:
    """Tell whether there is more than one way to order what is wanted."""
    branches = list(branches)
    return len({b.outcome for b in branches}) > 1 or any(b.choose for b in branches)


def _merged(branches: _Branches) -> _Branches:
    """Return *branches* with those in one that end alike.

    Otherwise forks that meet again would double at every turn.
    """
    found: dict[Any, Branch] = {}
    for branch in branches:
        key = (branch.lines, branch.opened, branch.waits_for)
        held = found.get(key)
        found[key] = _joined(held, branch) if held else branch
    return list(found.values())


def _joined(one: Branch, other: Branch) -> Branch:
    return replace(
        one,
        steps=tuple(dict.fromkeys((*one.steps, *other.steps))),
        coming=tuple(dict.fromkeys((*one.coming, *other.coming))),
        notes=tuple(dict.fromkeys((*one.notes, *other.notes))),
        choose=one.choose or other.choose,
    )


def _together(kit: PartRow, found: _Branches, notes: list[str], choose: bool) -> Branch:
    """Return one branch of the branches of a kit's contents; equal numbers are added up."""
    lines: dict[str, Line] = {}
    for line in (line for branch in found for line in branch.lines):
        key = fold(line.part.number)
        held = lines[key].quantity if key in lines else 0
        lines[key] = line._replace(quantity=line.quantity + held)
    return Branch(
        tuple(lines.values()),
        steps=tuple(step for branch in found for step in branch.steps),
        coming=tuple(each for branch in found for each in branch.coming),
        notes=(*notes, *(note for branch in found for note in branch.notes)),
        choose=choose,
        opened=frozenset({fold(kit.number)}.union(*(branch.opened for branch in found))),
    )


def _waiting(mine: Branch, row: PartRow, after: Branch) -> Branch:
    """Return the number's own branch with what is to come after it."""
    coming = after.coming
    if after.waits_for:
        since = row.since_text or after.waits_for.since_text
        coming = (Coming(after.waits_for.number, since), *coming)
    return replace(mine, coming=(*coming, *mine.coming))


def _remark(row: PartRow) -> tuple[str, ...]:
    return (f"{row.number}: {row.note}",) if row.note else ()


def _not_yet(row: PartRow) -> str:
    since = f" (from {row.since_text})" if row.since_text else ""
    later = f"; {row.replaced_by} is to replace it" if moves(row) else ""
    return f"{row.number} cannot be ordered yet{since}{later}"
