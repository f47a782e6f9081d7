"""How long the proof takes beside plain parsing: python tests/bench/proof_ratio.py [N]

Makes a house of N bulletins (1,000 unless told) out of the demo house, composes every front matter
with PyYAML's C loader and parses every body with markdown-it-py, then reads and proofs the house,
all in one process, and prints CPU seconds and the ratio.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from itertools import count, islice
from pathlib import Path

import yaml
from markdown_it import MarkdownIt

from kb.house import read_house
from kb.proof import run

DEMO = Path(__file__).resolve().parent.parent.parent / "bulletins"
TODAY = date(2026, 11, 25)
_NUMBER = re.compile(r"\b(20\d\d)-(\d{3})\b")


def copies() -> Iterator[tuple[Path, str]]:
    """Yield the demo's bulletins over and over, numbers and titles made their own each time."""
    sources = sorted(DEMO.glob("20*/*.md"))
    for turn in count():
        for source in sources:
            text = _NUMBER.sub(rf"\g<1>-{turn}\g<2>", source.read_text("utf-8"))
            yield (
                source,
                re.sub(r"(?m)^title: ([^'\"\n]*)$", rf"title: \1 no {turn}", text, count=1),
            )


def make_house(folder: Path, number: int) -> None:
    """Write a house of *number* bulletins into *folder*."""
    shutil.copytree(DEMO / "reference", folder / "reference")
    for source, text in islice(copies(), number):
        own = re.search(r"(?m)^number: *(\S+)", text)
        assert own
        target = folder / own[1][:4] / f"{own[1]}.md"
        target.parent.mkdir(exist_ok=True)
        target.write_text(text, encoding="utf-8")
        if source.with_suffix("").is_dir():
            shutil.copytree(source.with_suffix(""), target.with_suffix(""))


def parse_only(folder: Path) -> None:
    """Do what any reader of these files has to do at the least."""
    markdown = MarkdownIt("commonmark").enable("table")
    for path in sorted(folder.glob("20*/*.md")):
        _, head, body = path.read_text("utf-8").split("---\n", 2)
        yaml.compose(head, yaml.CBaseLoader)
        markdown.parse(body)


def seconds(work: Callable[[], object]) -> float:
    """Return the CPU seconds that *work* takes."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def main(number: int = 1000) -> None:
    """Make, measure, print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "bulletins"
        make_house(folder, number)
        plain = seconds(lambda: parse_only(folder))
        proof = seconds(lambda: run(read_house(folder), TODAY))
        print(
            f"{number} bulletins: parsing {plain:.2f} s, proof {proof:.2f} s: {proof / plain:.2f} x"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
