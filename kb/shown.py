"""Answers laid out for a terminal of 80 columns. Only words and blanks; colour is the caller's."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from kb.dates import show_days

if TYPE_CHECKING:
    from kb.finding import Found, Result
    from kb.plate import Line, Plate
    from kb.records import Unit

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


def wrapped(text: str, indent: int = 0, first: str = "") -> str:
    """Return *text* filled to the width, every line indented; *first* begins the first line."""
    margin = " " * indent
    return textwrap.fill(text, WIDTH, initial_indent=first or margin, subsequent_indent=margin)


def unit_line(unit: Unit, style: Style) -> str:
    """Return what is known of a unit: model, digit, what the serial says."""
    digit = "digit not given" if unit.revision is None else f"digit {unit.revision}"
    lines = [f"{style(unit.model, bold=True)}, {digit}, family {unit.family.name}"]
    for reading in unit.readings:
        plant = f" at plant {reading.plant}" if reading.plant else ""
        number = "" if reading.sequence is None else f", number {reading.sequence}"
        lines.append(f"  built {show_days(reading.built)}{plant}{number} (scheme {reading.scheme})")
    if unit.unreadable:
        lines.append(wrapped(unit.unreadable, 2))
    elif not unit.readings:
        lines.append("  no serial given")
    return "\n".join(lines)


def found(answer: Found, style: Style) -> str:
    """Return the answer of `kb find`."""
    asked = answer.asked
    told = [f"code {code}" for code in asked.codes] + [f"part {part}" for part in asked.parts]
    told += [f'"{" ".join(quote)}"' for quote in asked.quotes]
    if asked.words:
        told.append("words: " + " ".join(asked.words))
    blocks = [unit_line(answer.unit, style)] if answer.unit else []
    if told:
        blocks.append(wrapped("; ".join(told), 2, "Asked: "))
    blocks += [_result(result, style) for result in answer.results]
    if answer.note:
        blocks.append(f"Nothing found: {answer.note}.")
    return "\n\n".join(blocks)


def _result(result: Result, style: Style) -> str:
    card, verdict = result.card, result.answer
    head = f"{style(card.number, bold=True)}  {card.kind}"
    if verdict:
        head += "  " + style(_VERDICTS[verdict.applies], fg=_COLOURS[verdict.applies], bold=True)
    lines = [head, wrapped(card.title, 2)]
    if card.superseded_by:
        lines.append(f"  superseded by {card.superseded_by}")
    if verdict and verdict.settle:
        lines.append(wrapped(f"settle by {verdict.settle}", 4))
    if result.why:
        lines.append(wrapped(f"found by {result.why}", 4))
    return "\n".join(lines)


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
    return "\n\n".join(blocks)


def _plate_line(line: Line, style: Style) -> str:
    card, verdict = line.card, line.answer
    kind = style("SAFETY", bold=True) if card.kind == "safety" else card.kind
    rows = [f"  {style(card.number, bold=True)}  {kind}", wrapped(card.title, 4)]
    if verdict.applies == "maybe":
        rows.append(wrapped(f"settle by {verdict.settle}", 6))
    elif verdict.applies == "no":
        rows.append(wrapped(verdict.why, 6))
    if line.due and card.age:
        word = {"yes": "due", "no": "not due yet", "maybe": "may be due"}[line.due]
        rows.append(wrapped(f"{word}: {card.age.advice}", 6))
    return "\n".join(rows)


def order(answer: Mapping[str, Any], style: Style) -> str:
    """Return the answer of `kb part`."""
    blocks = [_order_lines(answer, style)]
    if answer["chain"]:
        steps = [_step(step) for step in answer["chain"]]
        blocks.append("\n".join(["How it came to this", *steps]))
    blocks.append(wrapped(_INTERCHANGE[answer["interchange"]]))
    if answer["coming"]:
        coming = [f"  {each['number']}  {each['since'] or ''}".rstrip() for each in answer["coming"]]
        blocks.append("\n".join(["Coming, not to be had yet", *coming]))
    blocks += _listed("Notes", answer["notes"]) + _listed("Bulletins", answer["bulletins"])
    return "\n\n".join(blocks)


_INTERCHANGE = {
    "both": "Interchange: either stands in for the other.",
    "forward": "Interchange: the new one replaces the old, never the other way.",
    "none": "Interchange: nothing else takes its place.",
}


def _order_lines(answer: Mapping[str, Any], style: Style) -> str:
    if not answer["order"]:
        return f"{answer['asked']}: nothing to order."
    title = "Order one of these" if answer["choose"] else "Order"
    rows = [f"{title} (asked: {answer['asked']})"]
    for line in answer["order"]:
        rows.append(
            wrapped(f"{line['quantity']} x {style(line['number'], bold=True)}  {line['name']}", 6, "  ")
        )
        told = [line["status"]] if line["status"] != "current" else []
        told += [f"for {' '.join(line['models'])}"] if line["models"] else []
        if told:
            rows.append(wrapped("; ".join(told), 6))
    return "\n".join(rows)


def _step(step: Mapping[str, Any]) -> str:
    since = f", since {step['since']}" if step["since"] else ""
    return f"  {step['from']} -> {step['to']}  ({step['relation']}{since})"


def _listed(title: str, lines: Iterable[str]) -> list[str]:
    rows = [wrapped(line, 4, "  - ") for line in lines]
    return ["\n".join([title, *rows])] if rows else []
