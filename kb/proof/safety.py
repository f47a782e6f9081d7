"""Rules on safety bulletins: what a reader must find in one, and words that play a danger down.

The list follows what public law asks of a recall notice: product, production dates or serials,
hazard, action, parts and contact (15 USC 2064(i)(2), 16 CFR 1115.27, 49 USC 30119). The words are
those that Regulation (EU) 2023/988, article 36, forbids in such a notice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from kb.folding import fold
from kb.linking import linked
from kb.proof.base import BODY, NOTHING, TABLES, Finder, Found, Rule, at, each_sound, on, these
from kb.proof.look import Look, line_in, placed_blocks
from kb.records import Block, Bulletin

_SOFT = re.compile(
    r"\b(voluntar(?:y|ily)|precautionary|discretionary|in\s+rare\s+situations)\b", re.IGNORECASE
)
_INJURY = frozenset({"danger", "warning", "caution"})
_REACH = re.compile(
    r"[\w.+-]+@[\w-]+\.\w|https?://|\bwww\.|(?:\+|\b0)\d[\d ()/-]{5,}\d|\b\d{3}-\d{4}\b"
)


def _safety(find: Callable[[Look, Bulletin], Iterable[Found]]) -> Finder:
    """Ask *find* about safety bulletins that are not withdrawn."""

    def asked(look: Look, bulletin: Bulletin) -> Iterable[Found]:
        safety = bulletin.kind == "safety" and bulletin.status != "withdrawn"
        return find(look, bulletin) if safety else ()

    return each_sound(asked)


def _panels(look: Look, bulletin: Bulletin) -> bool:
    return bool(look.body(bulletin).panels & _INJURY)


def _hazard(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if not bulletin.hazards and not _panels(look, bulletin):
        yield at(bulletin, "kind")


def _hazard_in_panel(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if not bulletin.hazards and _panels(look, bulletin):
        yield at(bulletin, "kind")


def _range(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    """Find the first way in which a bulletin applies that has no range of production."""
    whole = (placed for placed in placed_blocks(bulletin) if placed.within is None)
    open_one = next((placed for placed in whole if not _bounded(placed.block)), None)
    if open_one:
        yield on(bulletin.file, line_in(bulletin, open_one, "family"))


def _bounded(block: Block) -> bool:
    return bool(block.built or block.serials or block.revision)


def _action(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if not bulletin.checks and not bulletin.parts and not look.body(bulletin).text.strip():
        yield at(bulletin, "kind")


def _steps(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    body = look.body(bulletin)
    told = bulletin.checks or bulletin.parts or body.steps
    if body.text.strip() and not told:
        yield on(bulletin.file, bulletin.body_line)


def _part(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if bulletin.parts or any(check.parts for check in bulletin.checks) or bulletin.keep:
        return
    text = look.body(bulletin).text
    found = linked(text, lambda word: word if fold(word) in look.part_numbers else None)
    if not any(number for _, number in found):
        yield at(bulletin, "kind")


def _contact(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    if not look.house.contact.strip() and not _REACH.search(bulletin.body):
        yield at(bulletin, "kind")


def _softening(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for path, text in _told_in_front(bulletin):
        for word in _SOFT.finditer(text):
            yield at(bulletin, path, word=_plain(word))
    for word in _SOFT.finditer(bulletin.body):
        line = bulletin.body_line + bulletin.body.count("\n", 0, word.start())
        yield on(bulletin.file, line, word=_plain(word))


def _plain(word: re.Match[str]) -> str:
    return " ".join(word.group().split())


def _told_in_front(bulletin: Bulletin) -> Iterator[tuple[str, str]]:
    """Yield what a reader is told by the front matter, with its path."""
    yield "title", bulletin.title
    yield "summary", bulletin.summary
    for index, line in enumerate(bulletin.parts):
        yield f"parts[{index}].note", line.note
    for index, check in enumerate(bulletin.checks):
        for key in ("cause", "test", "fix"):
            yield f"checks[{index}].{key}", getattr(check, key)
    if bulletin.age:
        yield "age.advice", bulletin.age.advice


_SAFETY = these("kind", "status")

RULES = (
    Rule(
        name="safety-hazard",
        level="error",
        message="a safety bulletin must say what the hazard is",
        remedy="name it under 'hazards', and say in a '::: warning' panel what can happen",
        find=_safety(_hazard),
        own=_SAFETY | BODY | these("hazards"),
        over=NOTHING,
    ),
    Rule(
        name="safety-hazard-key",
        level="warning",
        message="the hazard stands in a panel, but not under 'hazards'",
        remedy="name it under 'hazards' too, so that the usual cautions are shown",
        find=_safety(_hazard_in_panel),
        own=_SAFETY | BODY | these("hazards"),
        over=NOTHING,
    ),
    Rule(
        name="safety-range",
        level="warning",
        message="a safety bulletin should say which production it is about",
        remedy="give 'built', 'serials' or 'revision'; for all units, the date they began",
        find=_safety(_range),
        own=_SAFETY | these("where", "lines"),
        over=NOTHING,
    ),
    Rule(
        name="safety-action",
        level="error",
        message="a safety bulletin must say what to do",
        remedy="write the steps in the body, or give 'checks' or 'parts'",
        find=_safety(_action),
        own=_SAFETY | BODY | these("checks", "parts"),
        over=NOTHING,
    ),
    Rule(
        name="safety-steps",
        level="warning",
        message="it is not plain what to do: the body has no list of steps",
        remedy="write the action as a numbered list, or under a heading of its own",
        find=_safety(_steps),
        own=_SAFETY | BODY | these("checks", "parts"),
        over=NOTHING,
    ),
    Rule(
        name="safety-part",
        level="warning",
        message="a safety bulletin should name the part it is about",
        remedy="give its number under 'parts' or 'checks', or in the body",
        find=_safety(_part),
        own=_SAFETY | BODY | these("checks", "parts", "keep"),
        over=these(TABLES),
    ),
    Rule(
        name="safety-contact",
        level="error",
        message="a safety bulletin must say whom to ask, and this house names nobody",
        remedy="give 'contact' in reference/house.yaml",
        find=_safety(_contact),
        own=_SAFETY | these("body"),
        over=these(TABLES),
    ),
    Rule(
        name="safety-words",
        level="error",
        message="'{word}' plays the danger down",
        remedy="take it out and say plainly what to do and why",
        find=_safety(_softening),
        own=_SAFETY | BODY | these("title", "summary", "checks", "parts", "age"),
        over=NOTHING,
    ),
)
