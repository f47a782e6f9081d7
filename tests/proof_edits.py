"""The sound house of tests/cases/proof.md, changed place by place, and its files by short names."""

from __future__ import annotations

from collections.abc import Iterable

from tests.proof_cases import load

PUMP = "2026/2026-001.md"
HEATER = "2026/2026-002.md"
HOSE = "2026/2026-003.md"
OLD_HOSE = "2025/2025-090.md"
DOOR = "2024/2024-007.md"
HOUSE = "reference/house.yaml"
FAMILIES = "reference/families.yaml"
SERIALS = "reference/serials.yaml"
PARTS = "reference/parts.csv"
KITS = "reference/kits.csv"
WORDS = "reference/words.yaml"
DRAWING = "2026/2026-001/pump.svg"

Edit = tuple[str, str, str]  # file, what stands there once, what is put in its place


def edited(edits: Iterable[Edit]) -> dict[str, str]:
    """Return the files of the sound house with *edits* made one after the other."""
    files = dict(load().house)
    for file, old, new in edits:
        assert files[file].count(old) == 1, f"'{old}' is not once in {file}"
        files[file] = files[file].replace(old, new)
    return files
