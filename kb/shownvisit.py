"""The answer of `kb visit` laid out for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from kb.hazards import cautions
from kb.shown import Style, counted, unit_line, wrapped

if TYPE_CHECKING:
    from kb.packing import Part
    from kb.visit import Named, Visit

_APPLIES = {"yes": "applies", "maybe": "may apply", "no": "does not apply"}
_DUE = {"yes": "due", "maybe": "may be due", "no": "not due yet"}
_LICENSED = ("electricity", "gas", "refrigerant")


def nothing_packed(asked: str) -> dict[str, Any]:
    """Return the answer of `kb visit --json` where nothing could be packed."""
    return {
        "asked": asked,
        "model": None,
        "serial": None,
        "bulletins": [],
        "parts": [],
        "covered": 0.0,
        "tools": [],
        "consumables": [],
        "hazards": [],
        "minutes": 0.0,
    }


def visit(answer: Visit, style: Style) -> str:
    """Return the answer of `kb visit`: what hurts first, then what to pack."""
    blocks = [unit_line(answer.unit, style)]
    if not answer.found:
        blocks.append(wrapped(f"Nothing found: {answer.note}."))
        due = [each for each in answer.named if not each.found]
        return "\n\n".join([*blocks, *_titled("Safety, on any visit to this unit", due, style)])
    blocks += _safety(answer, style)
    blocks += _titled("For", [each for each in answer.named if each.found], style)
    due = [each for each in answer.named if not each.found]
    blocks += _titled("Safety, on any visit to this unit", due, style)
    blocks += _parts(answer, style)
    blocks += _listed("Leave in", [f"{number}  ({by})" for number, by in answer.keep])
    missing = [f"{each.number}: {each.why} ({each.bulletin})" for each in answer.missing]
    blocks += _listed("Not packed", missing)
    blocks += _listed("Tools", answer.tools)
    blocks += _listed("Consumables", answer.consumables)
    return "\n\n".join([*blocks, _reckoned(answer)])


def _safety(answer: Visit, style: Style) -> list[str]:
    rows = [
        wrapped(f"{each.word}  {each.title}. {each.consequence}", 4, "  ")
        for each in cautions(answer.hazards)
    ]
    if answer.people > 1:
        rows.insert(0, style("  Take a second person: something heavy is lifted.", bold=True))
    if set(answer.hazards) & set(_LICENSED):
        law = "Local codes win; work on gas, refrigerant and fixed wiring is for licensed people."
        rows.append(wrapped(law, 2))
    return ["\n".join(["What can hurt you", *rows])] if rows else []


def _titled(title: str, named: Iterable[Named], style: Style) -> list[str]:
    rows = [row for each in named for row in _bulletin(each, style)]
    return ["\n".join([title, *rows])] if rows else []


def _bulletin(each: Named, style: Style) -> list[str]:
    card, verdict = each.line.card, each.line.answer
    kind = style("SAFETY", bold=True) if card.kind == "safety" else card.kind
    told = f"  {style(card.number, bold=True)}  {kind}  {_APPLIES[verdict.applies]}"
    if each.candidate.weight:
        told += f"  {_percent(each.candidate.weight)}"
    rows = [told, wrapped(card.title, 4)]
    if verdict.settle:
        rows.append(wrapped(f"to settle it: {verdict.settle}", 6))
    if each.line.due and card.age:
        rows.append(wrapped(f"{_DUE[each.line.due]}: {card.age.advice}", 6))
    return rows


def _parts(answer: Visit, style: Style) -> list[str]:
    if not answer.parts:
        return ["No parts are needed."]
    rows = [row for part in answer.parts for row in _part(part, style)]
    return ["\n".join(["Pack", *rows])]


def _part(part: Part, style: Style) -> Sequence[str]:
    first = f"  {_percent(part.likelihood):>5}  {part.quantity} x "
    text = wrapped(f"{part.number}  {part.name}".rstrip(), 9, first)
    told = ["running out"] if part.status == "running-out" else []
    told += ["have it in hand before the old one comes out"] if part.in_hand else []
    told += ["never just one of them"] if part.together else []
    told.append(f"for {', '.join(part.bulletins)}")
    return [
        text.replace(part.number, style(part.number, bold=True), 1),
        wrapped("; ".join(told), 9),
    ]


def _listed(title: str, items: Iterable[str]) -> list[str]:
    rows = [wrapped(item, 4, "  - ") for item in items]
    return ["\n".join([title, *rows])] if rows else []


def _reckoned(answer: Visit) -> str:
    count = len([each for each in answer.named if each.found])
    lines = [
        f"{_percent(answer.covered)} of the causes in {counted(count, 'bulletin')} can be put "
        "right with this.",
    ]
    if answer.minutes:
        lines.append(f"Reckon with {answer.minutes:.0f} min of work.")
    return "\n".join(map(wrapped, lines))


def _percent(share: float) -> str:
    """Return a share in whole per cent; what is possible is never 0, what is unsure never 100."""
    whole = round(share * 100)
    if share > 0 and whole == 0:
        return "<1 %"
    return ">99 %" if share < 0.9999 and whole == 100 else f"{whole} %"
