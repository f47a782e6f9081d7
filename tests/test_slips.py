"""Slips of the hand made in the demo house's own bulletins: the blame falls on the line changed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kb.bulletin import read_bulletin
from kb.faults import Faults
from kb.house import read_house

_KEY = re.compile(r"(\s*(?:- )?)([\w-]+): (.+)")
FAMILIES = {name.lower(): name for name in ("Tarn", "Cairn", "Scree", "Moraine", "Lantern")}

Slip = Callable[[str, str, str], str | None]


def plain(value: str) -> bool:
    return value[0] not in "\"'[{>|"


SLIPS: dict[str, Slip] = {
    "no blank behind the colon": lambda head, key, value: f"{head}{key}:{value}",
    "no colon": lambda head, key, value: f"{head}{key} {value}",
    "key mistyped": lambda head, key, value: (
        None if key.startswith("x-") else f"{head}{key[:-1]}q{key[-1]}: {value}"
    ),
    "quote not closed": lambda head, key, value: f'{head}{key}: "{value}' if plain(value) else None,
    "colon in the text": lambda head, key, value: (
        f"{head}{key}: {value}: more" if plain(value) else None
    ),
    "bracket not closed": lambda head, key, value: (
        f"{head}{key}: {value[:-1]}" if value[0] + value[-1] == "[]" else None
    ),
    "tab": lambda head, key, value: f"\t{head}{key}: {value}",
    "pushed right": lambda head, key, value: f" {head}{key}: {value}",
}


def broken(text: str, slip: Slip) -> Iterator[tuple[int, str]]:
    """Yield the number of every line that can bear the slip, and the text with it made there."""
    lines = text.split("\n")
    for at in range(1, lines.index("---", 1)):
        found = _KEY.fullmatch(lines[at])
        wrong = slip(*found.groups()) if found else None
        if wrong is not None:
            yield at + 1, "\n".join([*lines[:at], wrong, *lines[at + 1 :]])


def blamed(text: str) -> set[int]:
    faults = Faults("x.md")
    read_bulletin(text, faults, FAMILIES)
    return {problem.line for problem in faults.problems}


@pytest.mark.parametrize("name", SLIPS)
def test_97_in_100_slips_are_blamed_on_their_line_and_on_no_other(
    demo_house: Path, name: str
) -> None:
    bulletins = [demo_house / found.file for found in read_house(demo_house).bulletins]
    cases = [
        blamed(text) == {line}
        for path in bulletins[::6]
        for line, text in broken(path.read_text(encoding="utf-8"), SLIPS[name])
    ]
    assert len(cases) > 60
    assert sum(cases) >= 0.97 * len(cases)


def test_two_slips_in_two_keys_are_both_blamed(demo_house: Path) -> None:
    path = demo_house / read_house(demo_house).bulletins[0].file
    lines = path.read_text(encoding="utf-8").split("\n")
    title = next(at for at, line in enumerate(lines) if line.startswith("title: "))
    issued = next(at for at, line in enumerate(lines) if line.startswith("issued: "))
    lines[title] += ": more"
    lines[issued] = "issued:2026-03-02"
    assert blamed("\n".join(lines)) == {title + 1, issued + 1}
