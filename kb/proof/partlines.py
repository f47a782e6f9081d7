"""Rules on the parts and checks that one bulletin names."""

from __future__ import annotations

from collections.abc import Iterator, Set

from kb.catalogue import Order, order
from kb.errors import KbError
from kb.folding import fold, fold_name
from kb.proof.base import NOTHING, STANDING, TABLES, Found, Rule, at, each, listed, meant, these
from kb.proof.look import PARTS, Look
from kb.proof.rings import rings
from kb.records import Bulletin

# Likelihoods are typed with few digits: seven times 0.143 is no more than a rounded 1.
_ROUNDING = 0.005


def numbers_in(bulletin: Bulletin) -> Iterator[tuple[str, str]]:
    """Yield each part number that a bulletin asks for, with its front-matter path."""
    for index, line in enumerate(bulletin.parts):
        yield f"parts[{index}].number", line.number
    for index, check in enumerate(bulletin.checks):
        for place, number in enumerate(check.parts):
            yield f"checks[{index}].parts[{place}]", number


def _unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number in numbers_in(bulletin):
        if fold(number) not in look.part_numbers and not look.lost(PARTS, number):
            near = look.near(number, "part", look.part_numbers)
            yield at(bulletin, path, number=number, meant=meant(near))


def _keep_unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for index, name in enumerate(bulletin.keep):
        known = kept_numbers(look, name) or fold_name(name) in look.components
        if not known and not look.lost(PARTS, name):
            names = [*look.part_numbers.values(), *(row.name for row in look.house.parts)]
            near = look.near(name, "kept part", names)
            yield at(bulletin, f"keep[{index}]", name=name, meant=meant(near))


def kept_numbers(look: Look, name: str) -> Set[str]:
    """Return the folded part numbers that an entry of ``keep`` means: one, or a part's name."""
    if fold(name) in look.part_numbers:
        return {fold(name)}
    return look.numbers_named(name)


def _not_current(look: Look, bulletin: Bulletin) -> Iterator[tuple[str, str, Order]]:
    """Yield the parts of a bulletin in force that are ordered under another number, or not."""
    if fold(bulletin.number) not in look.in_force_numbers:
        return
    told = {fold(number) for _, number in numbers_in(bulletin)}
    seen: set[str] = set()
    for path, number in numbers_in(bulletin):
        rows = look.parts.get(fold(number), ())
        if fold(number) in seen or all(r.status == "current" and not r.replaced_by for r in rows):
            continue
        seen.add(fold(number))
        found = _order(look, number)
        if found and not {fold(line.number) for line in found.order} & told:
            yield path, number, found


def _order(look: Look, number: str) -> Order | None:
    key = fold(number)
    if key not in look.orders:
        try:
            look.orders[key] = order(look.catalogue, number)
        except KbError:
            look.orders[key] = (
                None  # a ring or a missing number: told in parts.csv, where it stands
            )
    return look.orders[key]


def ordered_for(look: Look, number: str) -> tuple[str, ...]:
    """Return the numbers ordered today for *number*; none where it has no row."""
    rows = look.parts.get(fold(number), ())
    if not any(row.replaced_by for row in rows):
        return tuple(row.number for row in rows[:1])
    found = _order(look, number)
    return tuple(line.number for line in found.order) if found else ()


def _replaced(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number, found in _not_current(look, bulletin):
        if found.order:
            instead = listed(line.number for line in found.order)
            gone = all(row.status == "gone" for row in look.parts[fold(number)])
            what = "is gone" if gone else "has a successor"
            yield at(bulletin, path, number=number, what=what, instead=instead)


def _not_to_be_had(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    # A note at the part says what to do without it: what the author knows needs no telling.
    noted = {fold(line.number) for line in bulletin.parts if line.note.strip()}
    for path, number, found in _not_current(look, bulletin):
        if not found.order and fold(number) not in noted:
            pending = any(row.status == "pending" for row in look.parts[fold(number)])
            what = "cannot be ordered yet" if pending else "is gone and nothing takes its place"
            yield at(bulletin, path, number=number, what=what)


def _twice(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    seen: set[str] = set()
    for index, line in enumerate(bulletin.parts):
        if fold(line.number) in seen:
            yield at(bulletin, f"parts[{index}].number", number=line.number)
        seen.add(fold(line.number))


def _kept_and_fitted(look: Look, bulletin: Bulletin) -> Iterator[tuple[str, str, str]]:
    """Yield path, number and kept name where a part to keep is also one to fit."""
    kept = [(name, kept_numbers(look, name)) for name in reversed(bulletin.keep)]
    for path, number in numbers_in(bulletin) if kept else ():
        folded = fold(number)
        if name := next((name for name, numbers in kept if folded in numbers), ""):
            yield path, number, name


def _keep_number(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number, name in _kept_and_fitted(look, bulletin):
        if fold(name) == fold(number):
            yield at(bulletin, path, number=number, line=bulletin.line("keep"))


def _keep_name(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, number, name in _kept_and_fitted(look, bulletin):
        if fold(name) != fold(number):
            yield at(bulletin, path, number=number, name=name, line=bulletin.line("keep"))


def _likelihoods(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    total = sum(check.likelihood for check in bulletin.checks)
    if total > 1 + _ROUNDING:
        yield at(bulletin, "checks", total=f"{total:.3f}".rstrip("0").rstrip("."))


def _before_unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    causes = {fold_name(check.cause): check.cause for check in bulletin.checks}
    for index, check in enumerate(bulletin.checks):
        for place, cause in enumerate(check.before):
            if fold_name(cause) not in causes:
                near = look.near(cause, f"cause in {bulletin.file}", causes)
                yield at(
                    bulletin, f"checks[{index}].before[{place}]", cause=cause, meant=meant(near)
                )


def _before_ring(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find checks that wait for one another, so that none of them can come first."""
    if not any(check.before for check in bulletin.checks):
        return
    steps: dict[str, list[str]] = {}
    for check in bulletin.checks:
        steps.setdefault(fold_name(check.cause), []).extend(map(fold_name, check.before))
    causes = [fold_name(check.cause) for check in bulletin.checks]
    for ring in rings(steps):
        index = max(causes.index(cause) for cause in ring)
        named = [f"'{bulletin.checks[causes.index(cause)].cause}'" for cause in (*ring, ring[0])]
        yield at(bulletin, f"checks[{index}].before", ring=" waits for ".join(named))


def _before_last(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    last = {fold_name(check.cause) for check in bulletin.checks if check.last}
    for index, check in enumerate(bulletin.checks if last else ()):
        for place, cause in enumerate(() if check.last else check.before):
            if fold_name(cause) in last:
                yield at(bulletin, f"checks[{index}].before[{place}]", cause=cause)


def _cause_twice(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    seen: set[str] = set()
    for index, check in enumerate(bulletin.checks):
        if fold_name(check.cause) in seen:
            yield at(bulletin, f"checks[{index}].cause", cause=check.cause)
        seen.add(fold_name(check.cause))


_NUMBERS = these("parts", "checks")

RULES = (
    Rule(
        name="part-unknown",
        level="error",
        message="there is no part {number}",
        remedy="{meant}add the part to reference/parts.csv",
        find=each(_unknown),
        own=_NUMBERS,
        over=these(TABLES),
    ),
    Rule(
        name="keep-unknown",
        level="error",
        message="'{name}' under 'keep' is no part number, part name or component",
        remedy="{meant}add the part to reference/parts.csv",
        find=each(_keep_unknown),
        own=these("keep"),
        over=these("component", TABLES),
    ),
    Rule(
        name="part-replaced",
        level="warning",
        message="part {number} {what}: order {instead} today",
        remedy="name {instead} here when you next revise the bulletin",
        find=each(_replaced),
        own=_NUMBERS,
        over=STANDING | these(TABLES),
    ),
    Rule(
        name="part-not-to-be-had",
        level="warning",
        message="part {number} {what}",
        remedy="say in its 'note' under 'parts' what to do without it, or name a successor in "
        "reference/parts.csv",
        find=each(_not_to_be_had),
        own=_NUMBERS,
        over=STANDING | these(TABLES),
    ),
    Rule(
        name="part-twice",
        level="warning",
        message="part {number} stands twice under 'parts'",
        remedy="name it once, with the whole quantity",
        find=each(_twice),
        own=these("parts"),
        over=NOTHING,
    ),
    Rule(
        name="keep-and-fit",
        level="error",
        message="part {number} is to be fitted here and kept by line {line}",
        remedy="take it out of 'keep', or out of 'parts' and 'checks'",
        find=each(_keep_number),
        own=_NUMBERS | these("keep", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="keep-and-fit-name",
        level="warning",
        message="part {number} is to be fitted here, but line {line} keeps every '{name}'",
        remedy="name under 'keep' only the part numbers that must not be replaced",
        find=each(_keep_name),
        own=_NUMBERS | these("keep", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="likelihood-sum",
        level="error",
        message="the likelihoods of the checks add up to {total}",
        remedy="lower them until they come to 1 or less: one fault has one cause",
        find=each(_likelihoods),
        own=these("checks"),
        over=NOTHING,
    ),
    Rule(
        name="before-unknown",
        level="error",
        message="'before' names '{cause}', which is no cause of this bulletin",
        remedy="{meant}write the cause as it stands in its check",
        find=each(_before_unknown),
        own=these("checks"),
        over=NOTHING,
    ),
    Rule(
        name="before-ring",
        level="error",
        message="the checks cannot be put in order: {ring}",
        remedy="take out one 'before' of the ring",
        find=each(_before_ring),
        own=these("checks"),
        over=NOTHING,
    ),
    Rule(
        name="before-last",
        level="error",
        message="this check waits for '{cause}', which is marked 'last'",
        remedy="take out the 'before', or mark both checks 'last'",
        find=each(_before_last),
        own=these("checks"),
        over=NOTHING,
    ),
    Rule(
        name="cause-twice",
        level="warning",
        message="the cause '{cause}' stands twice under 'checks'",
        remedy="make one check of the two, or name the causes apart",
        find=each(_cause_twice),
        own=these("checks"),
        over=NOTHING,
    ),
)
