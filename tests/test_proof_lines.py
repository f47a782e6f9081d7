"""The line told is the line of the very item, however a file is laid out."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.proof_cases import proofed, told
from tests.proof_edits import (
    DOOR,
    FAMILIES,
    HEATER,
    HOSE,
    KITS,
    PARTS,
    PUMP,
    SERIALS,
    WORDS,
    Edit,
    edited,
)

Place = tuple[str, int]  # rule and line


def places(folder: Path, file: str, *edits: Edit) -> list[Place]:
    """Return rule and line of every problem told of *file*; any other file must be sound."""
    found = proofed(folder, edited(edits))
    assert [told(p) for p in found if p.file != file] == []
    return [(p.rule, p.line) for p in found]


LISTS: list[tuple[str, str, Edit, Place]] = [
    (
        "a symptom said again",
        PUMP,
        (
            PUMP,
            "symptoms: [hums but does not drain, water left in the sump]",
            "symptoms:\n  - hums but does not drain\n  - water left in the sump\n"
            "  - Hums but does not drain",
        ),
        ("said-twice", 13),
    ),
    (
        "a flow list over three lines",
        DOOR,
        (DOOR, "codes: [E15]", "codes: [\n  E15,\n  E15,\n]"),
        ("said-twice", 13),
    ),
    (
        "a family of a list",
        HOSE,
        (HOSE, "family: [Tarn, Cairn]", "family:\n  - Tarn\n  - Cairn\n  - Scree"),
        ("family-unknown", 10),
    ),
    (
        "a model of a list",
        DOOR,
        (DOOR, "models: [TD45*]", "models:\n  - TD45A\n  # the wide one\n  - TD60X"),
        ("model-unknown", 10),
    ),
    (
        "a plant of a list",
        PUMP,
        (PUMP, "plant: K", "plant:\n  - K\n  - S"),
        ("plant-unknown", 10),
    ),
    (
        "a range of serials of a list",
        HEATER,
        (
            HEATER,
            "serials: [K P 10 00001..K P 20 00500, L P 11 00020]",
            "serials:\n  - K P 10 00001..K P 20 00500\n  - L P 11 00020..K P 12 00001",
        ),
        ("serials-two-plants", 10),
    ),
    (
        "a related number of a list",
        PUMP,
        (PUMP, "related: [2024-007]", "related:\n  - 2024-007\n  - 2024-700"),
        ("bulletin-unknown", 15),
    ),
    (
        "a part to keep of a list",
        PUMP,
        (PUMP, "keep: [HR-1002-10]", "keep:\n  - HR-1002-10\n\n  - HR-1002-99"),
        ("keep-unknown", 18),
    ),
    (
        "a part of a check",
        PUMP,
        (PUMP, "parts: [HR-1001-20]", "parts:\n      - HR-1001-20\n      - HR-1001-99"),
        ("part-unknown", 28),
    ),
    (
        "a cause that a check waits for",
        PUMP,
        (
            PUMP,
            "before: [connector not fully home]",
            "before:\n      - connector not fully home\n      - rotor stuck",
        ),
        ("before-unknown", 29),
    ),
    (
        "a part whose number is not its first key",
        DOOR,
        (
            DOOR,
            "  - number: HR-1004-10\n    quantity: 1",
            "  - quantity: 1\n    number: HR-1004-99",
        ),
        ("part-unknown", 14),
    ),
    (
        "a component of a list",
        DOOR,
        (DOOR, "component: door seal", "component:\n  - door seal\n  - inlte hose"),
        ("component-unknown", 11),
    ),
]


@pytest.mark.parametrize(
    ("file", "edit", "place"), [row[1:] for row in LISTS], ids=[row[0] for row in LISTS]
)
def test_an_item_of_a_list_is_told_on_its_own_line(
    file: str, edit: Edit, place: Place, tmp_path: Path
) -> None:
    assert places(tmp_path, file, edit) == [place]


BLOCKS = """applies:
  - family: Tarn
    built: 2024
  - family: Cairn
    models:
      - CW7A
      - {model}
    plant: [K, {plant}]
    except:
      - built: {taken}
      - models:
          - CW8B
          - {away}"""


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ({"model": "CW9"}, ("model-unknown", 13)),
        ({"model": "TD45A"}, ("model-other-family", 13)),
        ({"plant": "S"}, ("plant-unknown", 14)),
        ({"taken": "2030"}, ("built-outside", 16)),
        ({"taken": "2024..2027"}, ("built-partly-outside", 16)),
        ({"away": "CW9"}, ("model-unknown", 19)),
        ({"away": "TD60A"}, ("model-other-family", 19)),
    ],
)
def test_a_key_of_the_second_block_or_its_exceptions_is_told_on_its_own_line(
    wrong: dict[str, str], place: Place, tmp_path: Path
) -> None:
    sound = {"model": "CW8B", "plant": "L", "taken": "2020", "away": "CW8?"}
    blocks = BLOCKS.format_map({**sound, **wrong})
    narrower = (HOSE, "supersedes: 2025-090\n", "related: 2025-090\n")
    found = places_of_hose(tmp_path, narrower, (HOSE, "family: [Tarn, Cairn]", blocks))
    assert place in found
    assert {rule for rule, _ in found} <= {place[0]}


def places_of_hose(folder: Path, *edits: Edit) -> list[Place]:
    return [(p.rule, p.line) for p in proofed(folder, edited(edits)) if p.file == HOSE]


def test_the_sound_blocks_are_sound(tmp_path: Path) -> None:
    sound = BLOCKS.format(model="CW8B", plant="L", taken="2020", away="CW8?")
    narrower = (HOSE, "supersedes: 2025-090\n", "related: 2025-090\n")
    assert places_of_hose(tmp_path, narrower, (HOSE, "family: [Tarn, Cairn]", sound)) == []


@pytest.mark.parametrize(
    ("block", "line"),
    [
        ("applies:\n  - {family: Cairn, built: 2022}\n  - {family: Tarn}", 8),
        ("applies:\n  - family: Cairn\n    models: [CW7A]\n  - {family: Tarn, built: 2020}", 7),
        ("models: [CW8B]", 6),
        ("except: {plant: K}\nfamily: Cairn", 7),
    ],
)
def test_a_missing_range_is_told_at_the_block_that_has_none(
    block: str, line: int, tmp_path: Path
) -> None:
    taken = "family: Cairn\nmodels: [CW8B]\nserials: [K P 10 00001..K P 20 00500, L P 11 00020]"
    assert places(tmp_path, HEATER, (HEATER, taken, block)) == [("safety-range", line)]


# A table: cells in quotes may hold line ends, and every row after them stands lower down.
LONG_NAME = '"drain pump,\nsecond form,\nsealed"'


@pytest.mark.parametrize(
    ("edits", "place"),
    [
        (
            (
                (PARTS, "HR-1001-20,drain pump,", f"HR-1001-20,{LONG_NAME},"),
                (PARTS, "TD45A;TD45B", "TD45A;TD99Z"),
            ),
            ("part-model-unknown", 8),
        ),
        (
            (
                (
                    PARTS,
                    "the new one has a red dot on its flange",
                    '"red\ndot"\nHR-1008-10,x,,gone,HR-9-9,same,,,',
                ),
            ),
            ("successor-unknown", 12),
        ),
        (
            (
                (
                    PARTS,
                    "HR-1007-10,heater,heater,current,,changed,,2022-08,the new one has a red dot "
                    "on its flange",
                    'HR-1007-10,"heater\nwith flange",heater,current,,changed,,2022-08,',
                ),
            ),
            ("changed-note", 10),
        ),
    ],
)
def test_a_row_is_told_on_the_line_where_it_begins(
    edits: tuple[Edit, ...], place: Place, tmp_path: Path
) -> None:
    assert places(tmp_path, PARTS, *edits) == [place]


def test_a_row_of_kits_is_told_below_blank_lines(tmp_path: Path) -> None:
    edit = (KITS, "HR-1900-10,HR-1901-10,2", "\n\nHR-1900-10,HR-1901-99,2")
    assert places(tmp_path, KITS, edit) == [("kit-part-unknown", 5)]


@pytest.mark.parametrize(
    ("file", "edit", "place"),
    [
        (
            FAMILIES,
            (FAMILIES, "models: [CW7A, CW8B]", "models:\n    - CW7A\n    - CW8B\n    - CW8B2"),
            ("model-collides", 11),
        ),
        (
            SERIALS,
            (SERIALS, "plant: L, built: 2020-W53", "plant: K, built: 2020-W53"),
            ("example-fails", 9),
        ),
        (
            SERIALS,
            (
                SERIALS,
                "    - {serial: L M 53 00210, plant: L, built: 2020-W53, sequence: 210}",
                "    - serial: L M 53 00210\n      plant: L\n      sequence: 211",
            ),
            ("example-fails", 9),
        ),
        (WORDS, (WORDS, "gaskit: gasket", "# a slip\n  gasket: Gasket"), ("spelled", 5)),
        (WORDS, (WORDS, "gaskit: gasket", "a: b\n  'b c': \"B  C\""), ("spelled", 5)),
        (WORDS, (WORDS, "  gaskit: gasket", "  {a: b, c: c}"), ("spelled", 4)),
        (
            WORDS,
            (WORDS, "  - [leak, drip", "  - [drip, leaks]\n  - [ drip , 'DRIP' ]\n  - [leak, drip"),
            ("ring-of-one", 3),
        ),
        (
            WORDS,
            (WORDS, "  - [leak, drip", "  - - drip\n    - drip\n  - [leak, drip"),
            ("ring-of-one", 1),
        ),
    ],
)
def test_a_reference_file_is_told_on_the_line_of_the_item(
    file: str, edit: Edit, place: Place, tmp_path: Path
) -> None:
    assert places(tmp_path, file, edit) == [place]


BODY: list[tuple[str, str, Place]] = [
    ("1. Pull the plug.", "1. Pull the plug.\n   See 2024-070.", ("text-bulletin-unknown", 36)),
    ("1. Pull the plug.", "- one\n  - two, 2024-070\n\n1. Pull.", ("text-bulletin-unknown", 36)),
    ("1. Pull the plug.", "> one\n> 2024-070\n\n1. Pull.", ("text-bulletin-unknown", 36)),
    ("Touching them can kill.", "Touching\nthem:\n{9 qq}", ("quantity", 34)),
    ("1. Pull the plug.", "| a | b |\n|---|---|\n| c | {9 qq} |\n\n1. Pull.", ("quantity", 37)),
    ("1. Pull the plug.", "1. ::: notcie\n   Wet.\n   :::", ("panel-unknown", 35)),
    ("1. Pull the plug.", "1. Pull.\n\n   ::: notice\n   Wet.", ("panel-unclosed", 37)),
    ("1. Pull the plug.", "1. Pull.\n   ![a](no.svg)", ("picture-missing", 36)),
    ("1. Pull the plug.", "1. Pull.\n\n   > ![](2026-001/pump.svg)", ("picture-alt", 37)),
    ("1. Pull the plug.", "1. [Pull\n   it](javascript:x).", ("link-scheme", 35)),
]


@pytest.mark.parametrize(("old", "new", "place"), BODY)
def test_a_line_within_a_block_of_the_body_is_told_itself(
    old: str, new: str, place: Place, tmp_path: Path
) -> None:
    assert places(tmp_path, PUMP, (PUMP, old, new)) == [place]


def test_two_numbers_on_one_line_and_one_below_are_each_told(tmp_path: Path) -> None:
    edit = (PUMP, "see bulletin 2024-007", "see 2024-070, 2024-071 and\n   2024-072")
    assert places(tmp_path, PUMP, edit) == [
        ("text-bulletin-unknown", 36),
        ("text-bulletin-unknown", 36),
        ("text-bulletin-unknown", 37),
    ]


def test_one_number_told_on_three_lines_is_told_three_times(tmp_path: Path) -> None:
    edit = (DOOR, "The seal has", "2024-070\n2024-070 and 2024-070\n\n2024-070 The seal has")
    assert places(tmp_path, DOOR, edit) == [("text-bulletin-unknown", n) for n in (17, 18, 20)]


def test_words_in_notes_and_checks_are_told_on_their_own_lines(tmp_path: Path) -> None:
    edit = (
        HEATER,
        "parts:\n  - {number: HR-1007-10, quantity: 1}",
        "parts:\n  - number: HR-1007-10\n    note: a voluntary part\nage:\n  years: 5\n"
        "  advice: precautionary\nchecks:\n  - cause: flange loose\n    test: look\n"
        "    fix: a discretionary turn\n    likelihood: 0.5\n    minutes: 5",
    )
    found = places(tmp_path, HEATER, edit)
    assert found == [("safety-words", line) for line in (15, 18, 22)]
