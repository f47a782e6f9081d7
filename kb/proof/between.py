"""Rules on how bulletins refer to one another: numbers, dates, what supersedes what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from kb.folding import fold
from kb.proof.base import (
    FILES,
    NOTHING,
    STANDING,
    TABLES,
    Found,
    Rule,
    at,
    each,
    listed,
    meant,
    these,
)
from kb.proof.look import Look
from kb.proof.rings import rings
from kb.records import Bulletin


def _references(bulletin: Bulletin) -> Iterator[tuple[str, str]]:
    for key in ("supersedes", "related"):
        for index, number in enumerate(getattr(bulletin, key)):
            yield f"{key}[{index}]", number


def _unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number in _references(bulletin):
        if fold(number) not in look.numbers:
            near = look.near(number, "bulletin", look.numbers)
            yield at(bulletin, path, number=number, meant=meant(near))


def _itself(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number in _references(bulletin):
        if fold(number) == fold(bulletin.number):
            yield at(bulletin, path, key=path.partition("[")[0])


def _round(look: Look) -> Iterator[Found]:
    """Find rings of bulletins that supersede one another; each ring is told once."""
    steps = {
        number: [fold(old) for old in bulletin.supersedes if fold(old) != number]
        for number, bulletin in look.by_number.items()
    }
    for ring in rings(steps):
        # The oldest is where the ring is wrong: it cannot take the place of a later one.
        oldest = min(ring, key=lambda n: (look.by_number[n].issued, n))
        names = [look.by_number[number].number for number in (*ring, ring[0])]
        yield at(look.by_number[oldest], "supersedes", ring=" → ".join(names))


def _two_successors(look: Look) -> Iterator[Found]:
    successors: defaultdict[str, list[Bulletin]] = defaultdict(list)
    for bulletin in look.in_force:
        for number in sorted(set(map(fold, bulletin.supersedes))):
            successors[number].append(bulletin)
    for number, found in successors.items():
        found.sort(key=lambda b: (b.issued, b.number))
        for later in found[1:]:
            index = [fold(n) for n in later.supersedes].index(number)
            rivals = [b for b in found if b is not later and look.overlap(b, later)]
            says = {"number": later.supersedes[index], "others": listed(b.number for b in rivals)}
            if rivals:
                yield at(later, f"supersedes[{index}]", **says)


def _older_successor(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for index, number in enumerate(bulletin.supersedes):
        old = look.by_number.get(fold(number))
        if old and old.issued > bulletin.issued:
            yield at(bulletin, f"supersedes[{index}]", number=old.number, issued=old.issued)


def _revised_early(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if bulletin.revised and bulletin.revised < bulletin.issued:
        yield at(bulletin, "revised", revised=bulletin.revised, issued=bulletin.issued)


def _future(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for key in ("issued", "revised"):
        day = getattr(bulletin, key)
        if day and day > look.today and bulletin.status != "draft":
            yield at(bulletin, key, key=key, day=day, today=look.today)


RULES = (
    Rule(
        name="bulletin-unknown",
        level="error",
        message="there is no bulletin {number}",
        remedy="{meant}take the number out",
        find=each(_unknown),
        own=these("supersedes", "related"),
        over=these("number", FILES),
    ),
    Rule(
        name="names-itself",
        level="error",
        message="the bulletin names itself under '{key}'",
        remedy="name the other bulletin that is meant, or take the number out",
        find=each(_itself),
        own=these("number", "supersedes", "related"),
        over=NOTHING,
    ),
    Rule(
        name="supersedes-round",
        level="error",
        message="these bulletins supersede one another in a ring: {ring}",
        remedy="keep the newest in force and take 'supersedes' out of the oldest",
        find=_round,
        over=these("number", "supersedes", "issued"),
    ),
    Rule(
        name="two-successors",
        level="warning",
        message="{number} is also superseded by {others}, for some of the same units",
        remedy="see that only one of them takes its place for any unit",
        find=_two_successors,
        over=STANDING | these("where", TABLES),
    ),
    Rule(
        name="older-successor",
        level="warning",
        message="{number}, which this supersedes, was issued later ({issued})",
        remedy="see which of the two is the newer one, and correct the date or 'supersedes'",
        find=each(_older_successor),
        own=these("supersedes", "issued"),
        over=these("number", "issued"),
    ),
    Rule(
        name="revised-early",
        level="error",
        message="revised on {revised}, before it was issued on {issued}",
        remedy="correct the one or the other",
        find=each(_revised_early),
        own=these("issued", "revised"),
        over=NOTHING,
    ),
    Rule(
        name="future",
        level="warning",
        message="{key} {day} lies in the future (today is {today})",
        remedy="correct the date, or make the bulletin 'status: draft' until then",
        find=each(_future),
        own=these("issued", "revised", "status"),
        over=NOTHING,
    ),
)
