"""Rules on where a bulletin applies: families, models, revisions, dates and plants."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import timedelta

from kb.dates import Days, show_days
from kb.folding import fold, fold_name
from kb.proof.base import TABLES, Found, Rule, each, listed, meant, on, these
from kb.proof.look import MODELS, PARTS, Look, Placed, line_in, placed_blocks
from kb.records import Bulletin, Family

# An end typed as a week may reach so far beyond the day on which production began or ended.
_WEEK = timedelta(days=7)


def _families(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for placed in placed_blocks(bulletin):
        for index, name in enumerate(placed.block.families):
            if fold_name(name) not in look.families and not look.lost(MODELS, name):
                near = look.near(name, "family", list(look.house.families))
                line = line_in(bulletin, placed, "family", index)
                yield on(bulletin.file, line, name=name, meant=meant(near))


def _models(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for placed in placed_blocks(bulletin):
        for index, pattern in enumerate(placed.block.models):
            if not look.matching(pattern) and not _lost(look, pattern):
                line = line_in(bulletin, placed, "models", index)
                yield on(bulletin.file, line, name=pattern, meant=_model_meant(look, pattern))


def _lost(look: Look, pattern: str) -> bool:
    """Tell whether a pattern may mean a model of families.yaml that could not be read."""
    if any(sign in pattern for sign in "*?"):
        return look.broken(MODELS)
    return look.lost(MODELS, pattern)


def _model_meant(look: Look, pattern: str) -> str:
    """Say what a pattern that matches nothing was meant to be."""
    split = look.models.get(fold(pattern)[:-1])
    if split and pattern[-1:].isdigit():
        return f"write {split[0]} here and the last digit under 'revision', or "
    near = look.near(pattern, "model", [model for model, _ in look.models.values()])
    return f"did you mean {near}? If not, " if near else ""


def _other_family(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find patterns whose every model belongs to a family that the block does not name."""
    for placed in placed_blocks(bulletin):
        names = placed.block.families or (placed.within.families if placed.within else ())
        named = [look.families[fold_name(n)].name for n in names if fold_name(n) in look.families]
        whole = len(named) == len(names)  # a family that is not known may be the owner
        for index, pattern in enumerate(placed.block.models if named and whole else ()):
            owners = {family for _, family in look.matching(pattern)}
            if owners and not owners & set(named):
                line = line_in(bulletin, placed, "models", index)
                says = {"name": pattern, "owner": listed(sorted(owners))}
                yield on(bulletin.file, line, **says, families=listed(named))


def _outside(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for placed, built, families in _dated(look, bulletin):
        if not any(built.meet(family.produced) for family in families):
            line = line_in(bulletin, placed, "built")
            yield on(bulletin.file, line, produced=_produced(families))


def _partly_outside(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for placed, built, families in _dated(look, bulletin):
        if not any(built.meet(family.produced) for family in families):
            continue
        # An open end says "as long as they were made", so only a typed end can lie outside.
        early = built.first and not any(_begun(family, built) for family in families)
        late = built.last and not any(_going_on(family, built) for family in families)
        if early or late:
            side = "begins before" if early else "goes on after"
            line = line_in(bulletin, placed, "built")
            yield on(bulletin.file, line, side=side, produced=_produced(families))


def _dated(look: Look, bulletin: Bulletin) -> Iterator[tuple[Placed, Days, tuple[Family, ...]]]:
    for placed in placed_blocks(bulletin):
        built, families = placed.block.built, look.families_of(placed)
        if built and families:
            yield placed, built, families


def _begun(family: Family, built: Days) -> bool:
    first = family.produced.first
    return first is None or built.first is None or first - built.first < _WEEK


def _going_on(family: Family, built: Days) -> bool:
    last = family.produced.last
    return last is None or built.last is None or built.last - last < _WEEK


def _produced(families: Iterable[Family]) -> str:
    return listed(f"{family.name} {show_days(family.produced)}" for family in families)


def _plants(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for placed in placed_blocks(bulletin):
        families = look.families_of(placed)
        known = plants_of(look, families)
        whole = all(u.name in look.house.schemes for family in families for u in family.schemes)
        if not known or not whole:
            continue
        for index, code in enumerate(placed.block.plants):
            if code.upper() not in known:
                says = {"code": code, "families": listed(family.name for family in families)}
                line = line_in(bulletin, placed, "plant", index)
                places = listed((f"{key} ({name})" for key, name in sorted(known.items())), 8)
                yield on(bulletin.file, line, **says, known=places)


def plants_of(look: Look, families: Iterable[Family]) -> dict[str, str]:
    """Return the plant codes of the serial schemes that *families* use, with the plants' names."""
    schemes = look.house.schemes
    return {
        code.upper(): name
        for family in families
        for use in family.schemes
        if use.name in schemes
        for code, name in schemes[use.name].plants.items()
    }


def _parts_models(look: Look) -> Iterator[Found]:
    for row in look.house.parts:
        for pattern in row.models:
            if not look.matching(pattern) and not _lost(look, pattern):
                says = {"name": pattern, "meant": _model_meant(look, pattern)}
                yield on(PARTS, row.line, **says)


def _model_collisions(look: Look) -> Iterator[Found]:
    """Find models that read as another model with a revision digit behind it."""
    for folded, (model, family) in look.models.items():
        shorter = look.models.get(folded[:-1])
        if shorter and folded[-1:].isdigit():
            yield on(
                MODELS,
                model_line(look.house.families[family], model),
                model=model,
                shorter=shorter[0],
                digit=folded[-1],
            )


def model_line(family: Family, model: str, index: int | None = None) -> int:
    """Return the line of families.yaml on which a model of *family* stands."""
    at = family.models.index(model) if index is None else index
    for path in (f"models[{at}]", f"{family.name}.models[{at}]", "models", f"{family.name}.models"):
        if path in family.lines:
            return family.lines[path]
    return family.line


# What can be wrong with where a bulletin applies, by itself.
CONDITIONS = (
    _families,
    _models,
    _other_family,
    _outside,
    _plants,
)

RULES = (
    Rule(
        name="family-unknown",
        level="error",
        message="there is no family '{name}'",
        remedy="{meant}add the family to reference/families.yaml",
        find=each(_families),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="model-unknown",
        level="error",
        message="no model is meant by '{name}'",
        remedy="{meant}add the model to its family in reference/families.yaml",
        find=each(_models),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="model-other-family",
        level="error",
        message="'{name}' is a model of {owner}, not of {families}",
        remedy="name the family {owner} here, or take the model out",
        find=each(_other_family),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="built-outside",
        level="error",
        message="no unit was built in this range (made: {produced})",
        remedy="correct 'built', or 'produced' in reference/families.yaml",
        find=each(_outside),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="built-partly-outside",
        level="warning",
        message="the range {side} production (made: {produced})",
        remedy="correct 'built', or leave that end open if it means as long as they were made",
        find=each(_partly_outside),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="plant-unknown",
        level="error",
        message="no plant '{code}' makes {families}",
        remedy="the plants are {known}: take one of them, or add a new one to "
        "reference/serials.yaml",
        find=each(_plants),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="part-model-unknown",
        level="error",
        message="no model is meant by '{name}'",
        remedy="{meant}add the model to its family in reference/families.yaml",
        find=_parts_models,
        over=these(TABLES),
    ),
    Rule(
        name="model-collides",
        level="warning",
        message="'{model}' can also be read as {shorter} with revision {digit}",
        remedy="see that {shorter} never has a revision {digit}: the plate would fit both",
        find=_model_collisions,
        over=these(TABLES),
    ),
)
