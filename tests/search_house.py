"""A small house whose numbers, codes and words are the awkward ones, to search in."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

from kb.desk import Desk
from kb.finding import Found
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN

TODAY = date(2026, 11, 25)


def bulletin(number: str, title: str, keys: str = "", body: str = "See the title.") -> str:
    """Return a bulletin about Tarn, or about what *keys* (YAML lines) say instead."""
    family = "" if "family:" in keys else "family: Tarn\n"
    kind = "" if "kind:" in keys else "kind: repair\n"
    return (
        f"---\nnumber: {number}\ntitle: {title}\n{kind}issued: 2026-03-02\n{family}"
        f"component: door seal\n{keys}---\n{body}\n"
    )


ODD_HOUSE: dict[str, str] = {
    **SMALL_HOUSE,
    "2026/2026-014.md": SOUND_BULLETIN,
    "2026/2026-015.md": bulletin(
        "2026-015",
        "Shakes hard and shows SE",
        "family: Cairn\ncodes: [SE, F-21]\nsymptoms: [drum knocks when spinning]\n",
    ),
    "2026/2026-016.md": bulletin(
        "2026-016",
        "No fill when the A/C supply is low",
        "codes: [E05]\n",
        "Fills for 3½ minutes through a 1/2-in hose. It is no E77.",
    ),
    "2026/2026-017.md": bulletin(
        "2026-017",
        "Cabinet lined with R-600a foam",
        "family: Cairn\nmodels: CW7A\nbuilt: 2018-W01..2020-W52\n",
        "A seal that weeps, see F-21. The AC cord is on the left.",
    ),
    "2026/SB-7.12.md": bulletin(
        "SB-7.12",
        "Filter mesh tears",
        "parts:\n  - {number: HR-310-1216, quantity: 1}\n",
        "Fit the new mesh before the old pump HR-310-4120 goes back.",
    ),
    "2025/2025-001.md": bulletin("2025-001", "Zigzag spring snaps, first advice"),
    "2025/2025-002.md": bulletin(
        "2025-002", "Zigzag spring snaps, second advice", "supersedes: [2025-001]\n"
    ),
    "2026/2026-020.md": bulletin(
        "2026-020", "Zigzag spring snaps, last advice", "supersedes: [2025-002]\n"
    ),
    "2026/2026-021.md": bulletin("2026-021", "Zigzag draft of a thought", "status: draft\n"),
    "2026/2026-022.md": bulletin("2026-022", "Zigzag taken back", "status: withdrawn\n"),
}


def write_house(folder: Path, files: dict[str, str]) -> Path:
    """Write *files* into *folder* and return it."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder


def demo_copy(folder: Path) -> Path:
    """Copy the demo house, without what is derived from it, and return the copy."""
    source = Path(__file__).resolve().parent.parent / "bulletins"
    shutil.copytree(source, folder, ignore=shutil.ignore_patterns(".kb"))
    return folder


def numbers(found: Found) -> list[str]:
    """Return the numbers of the bulletins found, in their order."""
    return [result.card.number for result in found.results]


def ask(desk: Desk, text: str, **more: str) -> list[str]:
    """Return the numbers of all bulletins that answer *text*, in their order."""
    return numbers(desk.finder.find(text, limit=10_000, **more))  # type: ignore[arg-type]


def builtin_wording() -> Wording:
    """Return the built-in words made ready for no house in particular."""
    return Wording(prepare(load_words()))
