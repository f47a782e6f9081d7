"""Rules on the reference tables: schemes, parts and their successors, kits, words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from kb.folding import fold, fold_name
from kb.partlist import moves
from kb.proof.base import TABLES, Found, Rule, listed, meant, on, these
from kb.proof.look import KITS, MODELS, PARTS, SERIALS, WORDS, Look
from kb.proof.rings import rings


def _scheme_unknown(look: Look) -> Iterator[Found]:
    for family in look.house.families.values():
        for index, use in enumerate(family.schemes):
            if use.name not in look.house.schemes and not look.lost(SERIALS, use.name):
                near = look.near(use.name, "scheme", list(look.house.schemes))
                line = _scheme_line(family.lines, index, family.line)
                yield on(MODELS, line, name=use.name, meant=meant(near))


def _scheme_line(lines: Mapping[str, int], index: int, line: int) -> int:
    for path in (f"scheme[{index}].name", f"scheme[{index}]", "scheme"):
        if path in lines:
            return lines[path]
    return line


def _scheme_unused(look: Look) -> Iterator[Found]:
    """Find families none of whose schemes was in use while they were made."""
    for family in look.house.families.values():
        known = [use for use in family.schemes if use.name in look.house.schemes]
        days = [use.used.meet(look.house.schemes[use.name].used) for use in known]
        if known and not any(d and d.meet(family.produced) for d in days):
            names = listed(use.name for use in known)
            yield on(MODELS, _scheme_line(family.lines, 0, family.line), name=names)


# Parts and what replaced them


def _successor_unknown(look: Look) -> Iterator[Found]:
    for row in look.house.parts:
        known = not row.replaced_by or fold(row.replaced_by) in look.part_numbers
        if not known and not look.lost(PARTS, row.replaced_by):
            near = look.near(row.replaced_by, "part", look.part_numbers)
            yield on(PARTS, row.line, number=row.replaced_by, meant=meant(near))


def _part_rings(look: Look) -> Iterator[Found]:
    steps = {
        number: [fold(row.replaced_by) for row in rows if moves(row)]
        for number, rows in look.parts.items()
        if any(row.replaced_by for row in rows)
    }
    for ring in rings(steps):
        names = [look.parts[number][0].number for number in (*ring, ring[0])]
        following = {ring[i]: ring[(i + 1) % len(ring)] for i in range(len(ring))}
        row = max(
            (r for n in ring for r in look.parts[n] if fold(r.replaced_by) == following[n]),
            key=lambda r: r.line,
        )
        yield on(PARTS, row.line, ring=" → ".join(names))


def _dead_end(look: Look) -> Iterator[Found]:
    """Find rows whose successor is gone itself, with nothing after it."""
    kits = {fold(row.kit) for row in look.house.kits}
    for row in look.house.parts:
        after = look.parts.get(fold(row.replaced_by), ()) if moves(row) else ()
        ended = after and all(r.status == "gone" and not r.replaced_by for r in after)
        if ended and fold(row.replaced_by) not in kits:
            yield on(PARTS, row.line, number=row.number, after=after[0].number)


def _relation_missing(look: Look) -> Iterator[Found]:
    for row in look.house.parts:
        if row.replaced_by and row.relation is None:
            yield on(PARTS, row.line, number=row.number, after=row.replaced_by)


def _relation_alone(look: Look) -> Iterator[Found]:
    for row in look.house.parts:
        if row.relation and row.relation != "changed" and not row.replaced_by:
            yield on(PARTS, row.line, number=row.number, relation=row.relation)


def _changed_note(look: Look) -> Iterator[Found]:
    for row in look.house.parts:
        if row.relation == "changed" and not row.note.strip():
            yield on(PARTS, row.line, number=row.number)


def _not_a_kit(look: Look) -> Iterator[Found]:
    kits = _contents(look)
    for row in look.house.parts:
        known = row.relation == "kit" and fold(row.replaced_by) in look.parts
        if known and fold(row.replaced_by) not in kits:
            yield on(PARTS, row.line, number=row.number, kit=row.replaced_by)


def _not_in_kit(look: Look) -> Iterator[Found]:
    """Find parts said to be sold in a kit that holds neither them nor what replaced them."""
    kits = _contents(look)
    kin = {
        number: fold(row.replaced_by)
        for number, rows in look.parts.items()
        for row in rows
        if row.relation != "kit"
    }
    for row in look.house.parts if kits else ():
        held = kits.get(fold(row.replaced_by)) if row.relation == "kit" else None
        related = {fold(row.number), kin.get(fold(row.number), "")} if held else set[str]()
        if held and not any(n in related or kin.get(n) in related - {""} for n in held):
            yield on(PARTS, row.line, number=row.number, kit=row.replaced_by)


def _contents(look: Look) -> dict[str, dict[str, int]]:
    """Return what each kit holds: folded number to line of kits.csv, by folded kit."""
    kits: dict[str, dict[str, int]] = {}
    for row in look.house.kits:
        kits.setdefault(fold(row.kit), {})[fold(row.number)] = row.line
    return kits


def _several_successors(look: Look) -> Iterator[Found]:
    """Find rows that give a model another successor than a row before it does.

    A row without models is for those that no other row names, so it stands in nobody's way.
    """
    for rows in look.parts.values():
        given: dict[str, str] = {}
        for row in (row for row in rows if moves(row) and row.models):
            meant_models = [m for p in row.models for m, _ in look.matching(p)]
            twice = [
                m
                for m in meant_models
                if fold(given.get(m, row.replaced_by)) != fold(row.replaced_by)
            ]
            if twice:
                models, other = listed(dict.fromkeys(twice)), given[twice[0]]
                yield on(PARTS, row.line, number=row.number, models=models, other=other)
            given |= dict.fromkeys(meant_models, row.replaced_by)


# Kits


def _kit_unknown(look: Look) -> Iterator[Found]:
    told: set[str] = set()
    for row in look.house.kits:
        for number in (row.kit, row.number):
            if not (fold(number) in look.parts or number in told or look.lost(PARTS, number)):
                told.add(number)
                near = look.near(number, "part", look.part_numbers)
                yield on(KITS, row.line, number=number, meant=meant(near))


def _kit_rings(look: Look) -> Iterator[Found]:
    kits = _contents(look)
    for ring in rings(kits):
        line = kits[ring[-1]][ring[0]]
        names = [look.parts[n][0].number if n in look.parts else n for n in (*ring, ring[0])]
        yield on(KITS, line, ring=" → ".join(names))


# Words


def _spelled(look: Look) -> Iterator[Found]:
    spelled = {fold_name(k): fold_name(v) for k, v in look.house.words.spelled.items()}
    for wrong, right in spelled.items():
        line = _words_line(look, "spelled", rf"(?:^|[{{,] ?){_quoted(wrong)} ?:")
        if not right or wrong == right:
            yield on(WORDS, line, wrong=wrong, why="is put right into itself")
        elif right in spelled:
            yield on(WORDS, line, wrong=wrong, why=f"becomes '{right}', which is itself put right")


def _short_ring(look: Look) -> Iterator[Found]:
    for ring in look.house.words.same:
        if len({fold_name(word) for word in ring}) < 2:
            line = _words_line(look, "same", rf"\[ ?{' ?, ?'.join(map(_quoted, ring))} ?,? ?\]")
            yield on(WORDS, line, words=listed(ring) or "nothing")


def _quoted(word: str) -> str:
    return f"[\"']?{re.escape(fold_name(word))}[\"']?"


def _words_line(look: Look, key: str, form: str) -> int:
    """Return the line of words.yaml, from *key* on, that has a *form*; else the line of *key*."""
    lines = [fold_name(line) for line in look.text_of(WORDS).splitlines()]
    start = next((n for n, line in enumerate(lines) if line.startswith(f"{key}:")), 0)
    return 1 + next((n for n in range(start, len(lines)) if re.search(form, lines[n])), start)


RULES = (
    Rule(
        name="scheme-unknown",
        level="error",
        message="there is no serial scheme '{name}'",
        remedy="{meant}add the scheme to reference/serials.yaml",
        find=_scheme_unknown,
        over=these(TABLES),
    ),
    Rule(
        name="scheme-unused",
        level="warning",
        message="the scheme {name} was never in use while this family was made",
        remedy="correct 'produced' here or 'used' in reference/serials.yaml",
        find=_scheme_unused,
        over=these(TABLES),
    ),
    Rule(
        name="successor-unknown",
        level="error",
        message="there is no part {number} to take its place",
        remedy="{meant}add a row for it",
        find=_successor_unknown,
        over=these(TABLES),
    ),
    Rule(
        name="parts-ring",
        level="error",
        message="these parts replace one another in a ring: {ring}",
        remedy="take 'replaced_by' out of the row of the newest",
        find=_part_rings,
        over=these(TABLES),
    ),
    Rule(
        name="parts-dead-end",
        level="warning",
        message="{number} is replaced by {after}, which is gone with nothing after it",
        remedy="name what is sold today, or correct the status of {after}",
        find=_dead_end,
        over=these(TABLES),
    ),
    Rule(
        name="relation-missing",
        level="warning",
        message="it is not said how {after} stands to {number}",
        remedy="write same, forward, kit or changed under 'relation'",
        find=_relation_missing,
        over=these(TABLES),
    ),
    Rule(
        name="relation-alone",
        level="warning",
        message="{number} has the relation '{relation}', but nothing under 'replaced_by'",
        remedy="name the successor, or leave 'relation' empty",
        find=_relation_alone,
        over=these(TABLES),
    ),
    Rule(
        name="changed-note",
        level="warning",
        message="{number} is changed under the same number, and nothing says how to tell",
        remedy="write under 'note' how the old and the new one are told apart",
        find=_changed_note,
        over=these(TABLES),
    ),
    Rule(
        name="not-a-kit",
        level="error",
        message="{number} is said to be sold in {kit}, which is no kit",
        remedy="list what {kit} holds in reference/kits.csv, or correct 'relation'",
        find=_not_a_kit,
        over=these(TABLES),
    ),
    Rule(
        name="not-in-kit",
        level="warning",
        message="{number} is said to be sold in kit {kit}, which does not hold it",
        remedy="add it to the kit in reference/kits.csv, or correct 'replaced_by'",
        find=_not_in_kit,
        over=these(TABLES),
    ),
    Rule(
        name="several-successors",
        level="error",
        message="{number} is replaced by {other} already for {models}",
        remedy="name each model in one row alone under 'models'",
        find=_several_successors,
        over=these(TABLES),
    ),
    Rule(
        name="kit-part-unknown",
        level="error",
        message="there is no part {number}",
        remedy="{meant}add the part to reference/parts.csv",
        find=_kit_unknown,
        over=these(TABLES),
    ),
    Rule(
        name="kits-ring",
        level="error",
        message="a kit holds itself: {ring}",
        remedy="take this row out",
        find=_kit_rings,
        over=these(TABLES),
    ),
    Rule(
        name="spelled",
        level="warning",
        message="under 'spelled', '{wrong}' {why}",
        remedy="write the right spelling behind the wrong one",
        find=_spelled,
        over=these(TABLES),
    ),
    Rule(
        name="ring-of-one",
        level="warning",
        message="a list under 'same' holds only {words}",
        remedy="name at least two words that mean the same, or take the list out",
        find=_short_ring,
        over=these(TABLES),
    ),
)
