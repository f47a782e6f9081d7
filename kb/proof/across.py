"""Rules across bulletins in force: what contradicts, repeats or leaves out what another says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from kb.folding import fold, fold_name
from kb.proof import serialnos, where
from kb.proof.base import STANDING, TABLES, Found, Rule, at, each_sound, listed, on, these
from kb.proof.look import MODELS, SERIALS, Look, Placed, line_in, placed_blocks
from kb.records import Block, Bulletin

# So many bulletins under one heading are compared with each new one; the rest of a heap that says
# the same again and again adds nothing, and a heap must not make the proof slow.
_COMPARED = 50


def _nobody(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find bulletins for no unit at all, where no condition by itself is to blame."""
    empty = look.once("empty blocks", bulletin, _empty_blocks)
    if bulletin.where and len(empty) == len(bulletin.where) and not _blamed(look, bulletin):
        keys = [key for key in ("applies", "family", "models") if key in bulletin.lines]
        yield at(bulletin, keys[0] if keys else "number")


def _no_way_in(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find blocks for no unit among others that hold."""
    empty = look.once("empty blocks", bulletin, _empty_blocks)
    if empty and len(empty) < len(bulletin.where) and not _blamed(look, bulletin):
        for placed in empty:
            yield on(bulletin.file, line_in(bulletin, placed, "family"))


def _empty_blocks(look: Look, bulletin: Bulletin) -> list[Placed]:
    whole = (placed for placed in placed_blocks(bulletin) if placed.within is None)
    return [p for p in whole if _narrow(p.block) and look.reach.is_empty((p.block,))]


def _narrow(block: Block) -> bool:
    """Tell whether a block has conditions that can exclude one another."""
    given = (block.built, block.revision, block.plants, block.serials, block.but_not)
    return any(given)


def _blamed(look: Look, bulletin: Bulletin) -> bool:
    """Tell whether another rule already says what is wrong with where the bulletin applies."""
    if look.broken(MODELS) or look.broken(SERIALS):
        return True
    finders = (*where.CONDITIONS, *serialnos.CONDITIONS)
    return any(True for find in finders for _ in find(look, bulletin))


# What the successor leaves out


def _left_out(look: Look) -> Iterator[Found]:
    unsound = {bulletin.file for bulletin in look.house.unsound}
    successors: defaultdict[str, list[Bulletin]] = defaultdict(list)
    for bulletin in look.in_force:
        for number in set(map(fold, bulletin.supersedes)):
            successors[number].append(bulletin)
    for number, found in successors.items():
        old = look.by_number.get(number)
        asked = old and old.status == "in-force" and not look.broken(MODELS)
        if old and asked and not unsound & {b.file for b in (old, *found)}:
            blocks = [block for bulletin in found for block in bulletin.where]
            left = look.reach.uncovered(old.where, blocks)
            if left:
                newest = max(found, key=lambda b: (b.issued, b.number))
                index = [fold(n) for n in newest.supersedes].index(number)
                says = {"number": old.number, "units": listed(left)}
                yield at(newest, f"supersedes[{index}]", **says)


# The same title twice


def _same_title(look: Look) -> Iterator[Found]:
    titled: defaultdict[tuple[str, str], list[Bulletin]] = defaultdict(list)
    for bulletin in sorted(look.sound_in_force, key=lambda b: (b.issued, b.number)):
        keys = [(fold_name(bulletin.title), family) for family in look.family_names(bulletin)]
        earlier = (other for key in keys for other in titled[key][-_COMPARED:])
        twin = next((other for other in earlier if look.overlap(other, bulletin)), None)
        if twin:
            yield at(bulletin, "title", number=twin.number)
        for key in keys:
            titled[key].append(bulletin)


RULES = (
    Rule(
        name="applies-to-none",
        level="error",
        message="the bulletin applies to no unit at all",
        remedy="its conditions exclude one another: see which of them is not meant",
        find=each_sound(_nobody),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="block-for-none",
        level="warning",
        message="this block under 'applies' holds for no unit at all",
        remedy="its conditions exclude one another: correct it or take it out",
        find=each_sound(_no_way_in),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="successor-narrower",
        level="warning",
        message="units that {number} was for are left without: {units}",
        remedy="widen where this bulletin applies, or say that they need no note any more",
        find=_left_out,
        over=STANDING | these("where", TABLES),
    ),
    Rule(
        name="title-twice",
        level="warning",
        message="{number} has the same title and is in force for some of the same units",
        remedy="give this one another title, or let it supersede the other",
        find=_same_title,
        over=STANDING | these("title", "where", TABLES),
    ),
)
