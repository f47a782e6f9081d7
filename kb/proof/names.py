"""Rules on names: components and fault codes, and names that can be taken for one another."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping

from kb.folding import fold, fold_name
from kb.proof.base import NOTHING, TABLES, Found, Rule, at, each, meant, on, these
from kb.proof.look import PARTS, Look
from kb.proof.slips import look_alike, mistyped
from kb.records import Bulletin

# A letter that passes for a digit, beside a digit: E2I, EO1. A letter at the start is usual.
_MIXED = re.compile(r"\d[OQILSBZ]|(?<=\w)[OQILSBZ]\d")

_LISTS = ("symptoms", "codes", "component", "hazards", "related", "supersedes")
# What is compared without blanks and hyphens.
_NUMBERS = ("codes", "related", "supersedes")


def _named(bulletin: Bulletin) -> Iterator[tuple[str, str]]:
    """Yield each component that a bulletin names, with its front-matter path."""
    for index, name in enumerate(bulletin.component):
        yield f"component[{index}]", name
    if bulletin.coverage:
        yield "coverage.component", bulletin.coverage.component


def _unknown(look: Look, bulletin: Bulletin) -> Iterator[tuple[str, str]]:
    own = set(map(fold_name, bulletin.component))
    for path, name in _named(bulletin):
        folded = fold_name(name)
        if folded in look.components or (path.startswith("coverage") and folded in own):
            continue
        yield path, name


def _component_mistyped(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, name in _unknown(look, bulletin):
        near = _meant_component(look, bulletin, path, name)
        if near:
            yield at(bulletin, path, name=name, near=near)


def _component_unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    # Where nothing lists components, the first bulletins are where they come from.
    for path, name in _unknown(look, bulletin) if look.listed_components else ():
        if not _meant_component(look, bulletin, path, name):
            near = look.near(name, "component", look.components)
            yield at(bulletin, path, name=name, meant=meant(near))


def _meant_component(look: Look, bulletin: Bulletin, path: str, name: str) -> str | None:
    """Return the known component that *name* is a slip of."""
    if path.startswith("coverage"):
        own = next((c for c in bulletin.component if mistyped(name, c)), None)
        if own:
            return own
    near = look.near(name, "component", look.components)
    return near if near and mistyped(name, near) else None


def _codes(look: Look) -> Iterator[Found]:
    """Find codes used once that nobody can tell from a code of the same family."""
    for bulletin, path, code, near in _alike(look):
        if look.family_names(bulletin) & look.code_families[fold(near)]:
            yield at(bulletin, path, code=code, near=near)


def _codes_elsewhere(look: Look) -> Iterator[Found]:
    """Find codes with a letter for a digit that look like a code of other families alone."""
    for bulletin, path, code, near in _alike(look):
        apart = not look.family_names(bulletin) & look.code_families[fold(near)]
        if apart and _MIXED.search(fold(code)):
            yield at(bulletin, path, code=code, near=near)


def _alike(look: Look) -> Iterator[tuple[Bulletin, str, str, str]]:
    """Yield bulletin, path, code and the code that is meant, for codes used once."""
    doubtful = _doubtful(look)
    for bulletin in look.bulletins if doubtful else ():
        for index, code in enumerate(bulletin.codes):
            if fold(code) in doubtful:
                yield bulletin, f"codes[{index}]", code, doubtful[fold(code)]


def _doubtful(look: Look) -> Mapping[str, str]:
    """Map each folded code that is used once and looks like another to the code that is meant.

    A code that the house or a family lists is beyond doubt, whatever it looks like.
    """
    uses: Counter[str] = Counter()
    typed: dict[str, str] = {}
    groups: defaultdict[str, set[str]] = defaultdict(set)
    for bulletin in look.bulletins:
        for code in bulletin.codes:
            typed.setdefault(fold(code), code)
            groups[look_alike(code)].add(fold(code))
        uses.update(set(map(fold, bulletin.codes)))
    found: dict[str, str] = {}
    for codes in groups.values():
        best = max(codes, key=lambda c: (uses[c], not _MIXED.search(c), c))
        for code in codes - {best} - look.listed_codes:
            odd = bool(_MIXED.search(code)) > bool(_MIXED.search(best))
            if uses[code] == 1 and (uses[best] > 1 or odd):
                found[code] = typed[best]
    return found


def _code_unknown(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find codes that stand in no list of codes, where the house or the family keeps one."""
    names = sorted(look.family_names(bulletin))
    families = [look.house.families[name] for name in names]
    whole = bool(look.house.codes) or (families and all(family.codes for family in families))
    lists = (look.house.codes, *(family.codes for family in families))
    known = {fold(code): code for codes in lists for code in codes}
    for index, code in enumerate(bulletin.codes if whole else ()):
        if fold(code) not in known:
            near = look.near(code, f"code of {names}", known)
            yield at(bulletin, f"codes[{index}]", code=code, meant=meant(near))


def _said_twice(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for key in _LISTS:
        same = fold if key in _NUMBERS else fold_name
        named = getattr(bulletin, key)
        seen: set[str] = set()
        for index, words in enumerate(named if len(named) > 1 else ()):
            folded = same(words)
            if folded in seen:
                yield at(bulletin, f"{key}[{index}]", key=key, words=words)
            seen.add(folded)


def _part_taken(look: Look) -> Iterator[Found]:
    """Find part numbers that are also a fault code or a model: a search could mean either."""
    for number, (row, *_) in look.parts.items():
        if number in look.codes or number in look.models:
            what = "fault code" if number in look.codes else "model"
            yield on(PARTS, row.line, number=row.number, what=what)


RULES = (
    Rule(
        name="component-unknown",
        level="error",
        message="there is no component '{name}'",
        remedy="did you mean '{near}'? If not, give the new one to a part in reference/parts.csv",
        find=each(_component_mistyped),
        own=these("component", "coverage"),
        over=these("component", TABLES),
    ),
    Rule(
        name="component-alone",
        level="warning",
        message="no part and no other bulletin knows the component '{name}'",
        remedy="{meant}give it to a part in reference/parts.csv, or let it stand",
        find=each(_component_unknown),
        own=these("component", "coverage"),
        over=these("component", TABLES),
    ),
    Rule(
        name="code-alike",
        level="error",
        message="the code '{code}' is used nowhere else and looks like '{near}'",
        remedy="did you mean '{near}'? Letters and digits such as O and 0 look alike",
        find=_codes,
        over=these("codes", "where", TABLES),
    ),
    Rule(
        name="code-alike-elsewhere",
        level="warning",
        message="the code '{code}' is used nowhere else and looks like '{near}' of other families",
        remedy="did you mean '{near}'? If not, list it under 'codes' of its family",
        find=_codes_elsewhere,
        over=these("codes", "where", TABLES),
    ),
    Rule(
        name="code-unknown",
        level="error",
        message="there is no fault code '{code}'",
        remedy="{meant}add it under 'codes' in reference/house.yaml or families.yaml",
        find=each(_code_unknown),
        own=these("codes", "where"),
        over=these(TABLES),
    ),
    Rule(
        name="said-twice",
        level="warning",
        message="'{words}' stands twice under '{key}'",
        remedy="take one of them out",
        find=each(_said_twice),
        own=these(*_LISTS),
        over=NOTHING,
    ),
    Rule(
        name="part-number-taken",
        level="warning",
        message="the part number {number} is also a {what}",
        remedy="a search for it finds both; write the {what} with its family where you can",
        find=_part_taken,
        over=these("codes", TABLES),
    ),
)
