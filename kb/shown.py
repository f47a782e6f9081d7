"""Answers laid out for a terminal of 80 columns. Only words and blanks; colour is the caller's."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from kb.dates import show_days
from kb.folding import fold

if TYPE_CHECKING:
    from kb.finding import Found, Result
    from kb.plate import Line, Plate
    from kb.records import Answer, Reading, Unit

WIDTH = 80
Style = Callable[..., str]

NO_PLATE: dict[str, Any] = {
    "model": None,
    "revision": None,
    "family": None,
    "readings": [],
    "bulletins": [],
}
_VERDICTS = {"yes": "applies", "maybe": "may apply", "no": "does not apply"}
_COLOURS = {"yes": "green", "maybe": "yellow", "no": "red"}
_DUE = {"yes": "Due", "no": "Not due yet", "maybe": "May be due"}


def nothing_found(asked: str) -> dict[str, Any]:
    """Return the answer of `kb find --json` where nothing could be looked for."""
    words: dict[str, Any] = {"words": [], "model": None, "serial": None}
    return {"asked": asked, "read_as": {**words, "codes": [], "parts": []}, "results": []}


def no_order(asked: str) -> dict[str, Any]:
    """Return the answer of `kb part --json` for a number that is not known."""
    return {
        "asked": asked,
        "order": [],
        "choose": False,
        "chain": [],
        "interchange": "none",
        "coming": [],
        "notes": [],
        "bulletins": [],
    }


def counted(count: int, what: str) -> str:
    """Return a count with its noun: ``1 error``, ``2 errors``."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def wrapped(text: str, indent: int = 0, first: str = "") -> str:
    """Return *text* filled to the width, every line indented; *first* begins the first line.

    A single word that is longer (an address, a number) stays whole, so that it can be copied.
    """
    margin = " " * indent
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=first or margin,
        subsequent_indent=margin,
        break_long_words=False,
        break_on_hyphens=False,
    )


def unit_line(unit: Unit, style: Style) -> str:
    """Return what is known of a unit: model, digit, what the serial says."""
    digit = "digit not given" if unit.revision is None else f"digit {unit.revision}"
    lines = [f"{style(unit.model, bold=True)}, {digit}, family {unit.family.name}"]
    if unit.unreadable:
        lines.append(wrapped(unit.unreadable, 2))
    elif not unit.readings:
        lines.append("  no serial given: a unit of any production date")
    elif len(unit.readings) == 1:
        lines.append(wrapped(f"built {_reading(unit.readings[0])}", 2))
    else:
        lines.append("  the serial can mean:")
        lines += [wrapped(_reading(reading), 4, "  - ") for reading in unit.readings]
    return "\n".join(lines)


def _reading(reading: Reading) -> str:
    plant = f", plant {reading.plant}" if reading.plant else ""
    number = "" if reading.sequence is None else f", number {reading.sequence}"
    return f"{show_days(reading.built)}{plant}{number} (serial scheme {reading.scheme})"


def found(answer: Found, style: Style, more: bool = False, everything: bool = False) -> str:
    """Return the answer of `kb find`; *more* tells that results were cut at the limit."""
    blocks = [unit_line(answer.unit, style)] if answer.unit else []
    told = _asked(answer)
    if told:
        blocks.append(wrapped("; ".join(told), 2, "Looked for: "))
    blocks += [_result(result, style) for result in answer.results]
    if answer.note:
        note = answer.note if answer.results else f"nothing found: {answer.note}"
        blocks.append(wrapped(f"{note[:1].upper()}{note[1:]}."))
    shown = len(answer.results)
    if more:
        blocks.append(wrapped(f"The first {shown} are shown; --limit {shown * 2} shows more."))
    if answer.unit and shown and not everything:
        blocks.append("What does not apply to this unit is left out; --all shows it too.")
    return "\n\n".join(blocks)


def _asked(answer: Found) -> list[str]:
    asked = answer.asked
    told = [f"code {code}" for code in asked.codes] + [f"part {part}" for part in asked.parts]
    told += [f'"{" ".join(quote)}"' for quote in asked.quotes]
    return [*told, " ".join(asked.words)] if asked.words else told


def _result(result: Result, style: Style) -> str:
    card, verdict = result.card, result.answer
    lines = [_head(card.number, card.kind, verdict, style), wrapped(card.title, 2)]
    if card.superseded_by:
        lines.append(f"  superseded by {card.superseded_by}")
    if verdict and verdict.applies == "maybe":
        lines.append(_settle(verdict, 4))
    elif verdict and verdict.applies == "no":
        lines.append(wrapped(verdict.why, 4))
    if result.why:
        lines.append(wrapped(f"matches: {result.why}", 4))
    return "\n".join(lines)


def _head(number: str, kind: str, verdict: Answer | None, style: Style) -> str:
    head = f"{style(number, bold=True)}  {style('SAFETY', bold=True) if kind == 'safety' else kind}"
    if verdict:
        word = _VERDICTS[verdict.applies]
        head += "  " + style(word, fg=_COLOURS[verdict.applies], bold=True)
    return head


def _settle(verdict: Answer, indent: int) -> str:
    """Return what would settle a maybe; ways that stand beside each other get a line each."""
    ways = verdict.settle.split("; ")
    if len(ways) == 1:
        return wrapped(f"settled by {ways[0]}", indent)
    rows = [wrapped(way, indent + 4, " " * (indent + 2) + "- ") for way in ways]
    return "\n".join([f"{' ' * indent}settled by:", *rows])


def plate(answer: Plate, everything: bool, style: Style) -> str:
    """Return the answer of `kb plate`, in groups: applies, may apply and, if wanted, the rest."""
    blocks = [unit_line(answer.unit, style)]
    for verdict in ("yes", "maybe", "no"):
        lines = [line for line in answer.lines if line.answer.applies == verdict]
        if lines and (everything or verdict != "no"):
            title = style(_VERDICTS[verdict].capitalize(), fg=_COLOURS[verdict], bold=True)
            blocks.append("\n".join([title, *(_plate_line(line, style) for line in lines)]))
    if len(blocks) == 1:
        blocks.append("No bulletin in force applies.")
    rest = 0 if everything else sum(line.answer.applies == "no" for line in answer.lines)
    if rest:
        verb = "does" if rest == 1 else "do"
        blocks.append(f"{rest} more for this model {verb} not apply to the unit; --all shows them.")
    return "\n\n".join(blocks)


def _plate_line(line: Line, style: Style) -> str:
    card, verdict = line.card, line.answer
    rows = [f"  {_head(card.number, card.kind, None, style)}", wrapped(card.title, 4)]
    if verdict.applies == "maybe":
        rows.append(_settle(verdict, 6))
    elif verdict.applies == "no":
        rows.append(wrapped(verdict.why, 6))
    if line.due and card.age:
        rows.append(wrapped(f"{_DUE[line.due]}: {card.age.advice}", 6))
    return "\n".join(rows)


def order(answer: Mapping[str, Any], style: Style) -> str:
    """Return the answer of `kb part`."""
    blocks = [_order_lines(answer, style)]
    if answer["chain"]:
        blocks.append("\n".join(["How it came to this", *map(_step, answer["chain"])]))
    blocks += [line for line in (_interchange(answer),) if line]
    if answer["coming"]:
        rows = [f"  {each['number']}{_since(each, '  from ')}" for each in answer["coming"]]
        blocks.append("\n".join(["Coming, not to be had yet", *rows]))
    blocks += _listed("Notes", answer["notes"])
    if answer["bulletins"]:
        blocks.append(wrapped(", ".join(answer["bulletins"]), 2, "Bulletins: "))
    return "\n\n".join(blocks)


def _interchange(answer: Mapping[str, Any]) -> str:
    if not answer["chain"]:  # a kit that was opened, or nothing to order: the notes tell
        same = [fold(answer["asked"])] == [fold(line["number"]) for line in answer["order"]]
        return "Nothing has replaced it." if same else ""
    return {
        "both": "Interchange: each stands in for the other.",
        "forward": "Interchange: the new one replaces the old, never the other way.",
        "none": "Interchange: no other number takes its place; the part itself has changed.",
    }[answer["interchange"]]


def _order_lines(answer: Mapping[str, Any], style: Style) -> str:
    if not answer["order"]:
        return f"{answer['asked']}: nothing to order."
    title = "Order one of these, by model" if answer["choose"] else "Order"
    rows = [f"{title} (asked: {answer['asked']})"]
    for line in answer["order"]:
        rows += _order_line(line, style)
    return "\n".join(rows)


def _order_line(line: Mapping[str, Any], style: Style) -> Sequence[str]:
    number = line["number"]
    # Filled before it is styled: the marks of a style take no room on the screen.
    text = wrapped(f"{number}  {line['name']}".rstrip(), 6, f"  {line['quantity']} x ")
    rows = [text.replace(number, style(number, bold=True), 1)]
    told = [line["status"].replace("-", " ")] if line["status"] != "current" else []
    told += [f"for {', '.join(line['models'])}"] if line["models"] else []
    return [*rows, wrapped("; ".join(told), 6)] if told else rows


_RELATIONS = {
    "same": "either will do",
    "forward": "new for old",
    "kit": "in a kit now",
    "changed": "part changed",
}


def _step(step: Mapping[str, Any]) -> str:
    told = _RELATIONS.get(step["relation"], str(step["relation"]))
    return wrapped(f"{step['from']} -> {step['to']}  ({told}{_since(step, ', since ')})", 4, "  ")


def _since(given: Mapping[str, Any], lead: str) -> str:
    return f"{lead}{given['since']}" if given["since"] else ""


def _listed(title: str, lines: Iterable[str]) -> list[str]:
    rows = [wrapped(line, 4, "  - ") for line in lines]
    return ["\n".join([title, *rows])] if rows else []
