"""Nearest sound neighbours of each rule: as close to a mistake as sound work comes, and no word.

Each is made in the sound house, and the whole proof must have nothing to say about it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.proof import RULES
from tests.proof_cases import proofed, told
from tests.proof_edits import (
    DOOR,
    DRAWING,
    FAMILIES,
    HEATER,
    HOSE,
    HOUSE,
    KITS,
    OLD_HOSE,
    PARTS,
    PUMP,
    SERIALS,
    WORDS,
    Edit,
    edited,
)

BUILT = "built: 2024-W10..2025-W22"
DOOR_BUILT = "built: 2019-W01..2023-W26"
SERIAL = "L P 11 00020"
RANGE = "serials: [K P 10 00001..K P 20 00500, L P 11 00020]"
HAZARDS = "hazards: [electricity, hot-surface]"
FITTED = "parts:\n  - {number: HR-1007-10, quantity: 1}\n"
CONTACT = "contact: Service desk, desk@hollin-ridge.example\n"
FIX = "    fix: seat the connector until it clicks"
SUPERSEDES = "supersedes: 2025-090"
HOSE_FAMILY = "family: [Tarn, Cairn]"
PICTURE = "(2026-001/pump.svg)"
SEE = "see bulletin 2024-007"
SPACED = "[leak, drip, water on floor]"

# Words and pieces: rule, what makes it a near miss, and the edits.
Case = tuple[str, str, tuple[Edit, ...]]

WHERE: list[Case] = [
    ("family-unknown", "in capitals", ((PUMP, "family: Tarn", "family: TARN"),)),
    ("family-unknown", "in a list of one", ((PUMP, "family: Tarn", "family: [Tarn]"),)),
    ("model-unknown", "a pattern for one letter", ((DOOR, "[TD45*]", "[TD45?]"),)),
    ("model-unknown", "a model with a blank in it", ((DOOR, "[TD45*]", "[TD 45 A]"),)),
    ("model-unknown", "a pattern for all", ((HOSE, HOSE_FAMILY, "models: ['*']"),)),
    (
        "model-other-family",
        "a pattern that two families share",
        ((DOOR, "models: [TD45*]", "models: ['*A']"),),
    ),
    ("built-outside", "the first day of all", ((PUMP, BUILT, "built: 2016-09-01"),)),
    ("built-outside", "the last day of all", ((HEATER, RANGE, "built: 2024-06-30"),)),
    ("built-outside", "the last week of all", ((HEATER, RANGE, "built: 2024-W26"),)),
    ("built-outside", "a year to come", ((PUMP, BUILT, "built: 2027.."),)),
    ("built-partly-outside", "the week it began in", ((PUMP, BUILT, "built: 2016-W35.."),)),
    ("built-partly-outside", "open at both ends", ((HEATER, RANGE, "built: .."),)),
    (
        "built-partly-outside",
        "outside one family, inside the other",
        ((HOSE, HOSE_FAMILY, f"{HOSE_FAMILY}\nbuilt: 2014-03.."),),
    ),
    ("plant-unknown", "both plants, one small", ((PUMP, "plant: K", "plant: [k, L]"),)),
    ("part-model-unknown", "a pattern", ((PARTS, "TD45A;TD45B", "TD45*"),)),
    (
        "model-collides",
        "a letter behind another model's number",
        ((FAMILIES, "[CW7A, CW8B]", "[CW7A, CW8B, CW8BX, CW8]"),),
    ),
    (
        "model-collides",
        "two digits behind it",
        ((FAMILIES, "[CW7A, CW8B]", "[CW7A, CW8B, CW8B12]"),),
    ),
    (
        "applies-to-none",
        "all but one plant taken away",
        ((PUMP, "plant: K", "except: {plant: L}"),),
    ),
    (
        "applies-to-none",
        "all but the last day taken away",
        ((PUMP, BUILT, "built: 2020\nexcept: {built: 2020-01-01..2020-12-30}"),),
    ),
    (
        "block-for-none",
        "blocks that say the same twice",
        ((HOSE, HOSE_FAMILY, f"applies:\n  - {HOSE_FAMILY}\n  - {{family: Tarn, built: 2020}}"),),
    ),
]

SERIALS_GIVEN: list[Case] = [
    ("serial-unreadable", "small, without blanks", ((HEATER, SERIAL, "lp1100020"),)),
    ("serial-unreadable", "with hyphens", ((HEATER, SERIAL, "L-P-11-00020"),)),
    ("serial-unreadable", "week 53 of a year that has it", ((HEATER, SERIAL, "L M 53 00020"),)),
    ("serials-two-plants", "two ranges", ((HEATER, SERIAL, "L P 11 00020..L P 12 00001"),)),
    (
        "serials-reversed",
        "from and to one unit",
        ((HEATER, "K P 20 00500", "K P 10 00001"),),
    ),
    (
        "serials-reversed",
        "a lower number in a later week",
        ((HEATER, "K P 10 00001..K P 20 00500", "K P 10 99999..K P 11 00001"),),
    ),
    (
        "example-fails",
        "an example that says only the week",
        ((SERIALS, "plant: L, built: 2020-W53, sequence: 210", "built: 2020-W53"),),
    ),
    ("scheme-unused", "in use for the last day", ((SERIALS, "used: 2010..", "used: 2010-01.."),)),
    (
        "scheme-unknown",
        "a list of one scheme",
        ((FAMILIES, "2014-03..2024-06\n  scheme: hollin", "2014-03..2024-06\n  scheme: [hollin]"),),
    ),
]

NAMES: list[Case] = [
    (
        "component-unknown",
        "a component of two bulletins alone",
        (
            (DOOR, "component: door seal", "component: [door seal, plinth]"),
            (PUMP, "component: drain pump", "component: [drain pump, Plinth]"),
        ),
    ),
    (
        "component-unknown",
        "a slip that the house lists",
        (
            (HOUSE, "units: metric", "units: metric\ncomponents: [dor seal]"),
            (DOOR, "component: door seal", "component: dor seal"),
        ),
    ),
    (
        "component-alone",
        "a component that its family lists",
        (
            (FAMILIES, "  product: dishwasher", "  product: dishwasher\n  components: [plinth]"),
            (DOOR, "component: door seal", "component: [door seal, plinth]"),
        ),
    ),
    (
        "component-alone",
        "the warranty of the bulletin's own component",
        ((HOSE, "component: inlet hose, years", "component: Inlet Hose, years"),),
    ),
    ("code-alike", "one code in two families", ((DOOR, "codes: [E15]", "codes: [E21, E15]"),)),
    ("code-alike", "codes a digit apart", ((DOOR, "codes: [E15]", "codes: [E15, E16, E51]"),)),
    (
        "code-alike",
        "a code like another family's, without a doubtful letter",
        (
            (HEATER, "codes: [E21, F05]", "codes: [SE]"),
            (DOOR, "codes: [E15]", "codes: [5E]"),
            (PUMP, "codes: [E21]", "codes: [5E]"),
        ),
    ),
    (
        "code-alike",
        "a doubtful code that its family lists",
        (
            (FAMILIES, "  product: dishwasher", "  product: dishwasher\n  codes: [E21, E2L, E15]"),
            (DOOR, "codes: [E15]", "codes: [E15, E21]"),
            (PUMP, "codes: [E21]", "codes: [E2L]"),
        ),
    ),
    (
        "code-alike-elsewhere",
        "a doubtful code that the house lists",
        (
            (HOUSE, "units: metric", "units: metric\ncodes: [E15, E21, F05, FO5]"),
            (DOOR, "codes: [E15]", "codes: [E15, FO5]"),
        ),
    ),
    (
        "code-unknown",
        "a list for one family of the two",
        ((FAMILIES, "  product: dishwasher", "  product: dishwasher\n  codes: [E15, E21]"),),
    ),
    ("said-twice", "one word the longer", ((DOOR, "codes: [E15]", "codes: [E15, E150]"),)),
    (
        "said-twice",
        "one tool twice, of two sizes",
        ((DOOR, "codes: [E15]", "codes: [E15]\ntools: [spanner 8 mm, spanner 10 mm]"),),
    ),
    ("part-number-taken", "a code within a part number", ((DOOR, "[E15]", "[E15, 1001]"),)),
]

BETWEEN: list[Case] = [
    ("bulletin-unknown", "typed with a blank", ((PUMP, "[2024-007]", "[2024 007]"),)),
    ("bulletin-unknown", "a superseded one", ((PUMP, "[2024-007]", "[2025-090]"),)),
    ("names-itself", "related to its own predecessor", ((HOSE, SUPERSEDES, f"{SUPERSEDES}\n"),)),
    (
        "supersedes-round",
        "two that name one another as related",
        ((DOOR, "component: door seal", "component: door seal\nrelated: [2026-001]"),),
    ),
    (
        "two-successors",
        "one successor for each family",
        (
            (OLD_HOSE, "family: Tarn", "family: [Tarn, Cairn]"),
            (HOSE, HOSE_FAMILY, "family: Tarn"),
            (HEATER, RANGE, f"built: 2014-03..2024-06\n{SUPERSEDES}"),
            (HEATER, "models: [CW8B]\n", ""),
        ),
    ),
    (
        "two-successors",
        "a successor that is superseded in its turn",
        (
            (HOSE, SUPERSEDES, "supersedes: [2025-090, 2024-007]"),
            (OLD_HOSE, "kind: parts", "kind: parts\nsupersedes: 2024-007"),
        ),
    ),
    ("older-successor", "both of one day", ((OLD_HOSE, "2025-05-04", "2026-05-04"),)),
    ("revised-early", "on the day", ((PUMP, "2026-03-02", "2026-03-02\nrevised: 2026-03-02"),)),
    ("future", "issued today", ((PUMP, "issued: 2026-03-02", "issued: 2026-11-25"),)),
    (
        "future",
        "a draft revised next week",
        ((PUMP, "2026-03-02", "2026-03-02\nrevised: 2026-12-02\nstatus: draft"),),
    ),
    (
        "successor-narrower",
        "written the other way, for the same units",
        ((HOSE, HOSE_FAMILY, "models: [TD45A, TD45B, TD60*, CW*]"),),
    ),
    (
        "successor-narrower",
        "two blocks that meet without a gap",
        (
            (
                HOSE,
                HOSE_FAMILY,
                "applies:\n  - {family: Tarn, built: ..2019}\n  - {family: Tarn, built: 2020..}",
            ),
        ),
    ),
    (
        "title-twice",
        "the day after the other's last",
        (
            (DOOR, "Door leaks at the lower corner", "Drain pump hums but moves no water"),
            (DOOR, DOOR_BUILT, "built: 2019-W01..2024-W09"),
        ),
    ),
    (
        "title-twice",
        "one of them withdrawn",
        (
            (DOOR, "Door leaks at the lower corner", "Drain pump hums but moves no water"),
            (DOOR, DOOR_BUILT, "status: withdrawn"),
            (PUMP, SEE, "see"),
        ),
    ),
]

PARTS_AND_CHECKS: list[Case] = [
    ("part-unknown", "a kit", ((PUMP, "parts: [HR-1001-20]", "parts: [HR-1900-10]"),)),
    ("part-unknown", "with dots, small", ((PUMP, "[HR-1001-20]", "[hr.1001.20]"),)),
    ("keep-unknown", "a component", ((PUMP, "keep: [HR-1002-10]", "keep: [heater]"),)),
    ("keep-unknown", "a part's name", ((PUMP, "keep: [HR-1002-10]", "keep: [Pump seal kit]"),)),
    (
        "part-replaced",
        "running out with nothing after it",
        (
            (
                PARTS,
                "HR-1001-20,drain pump,drain pump,current",
                "HR-1001-20,drain pump,,running-out",
            ),
        ),
    ),
    (
        "part-replaced",
        "in a bulletin that is superseded",
        ((OLD_HOSE, "HR-1006-10", "HR-1001-10"),),
    ),
    (
        "part-not-to-be-had",
        "a note at the part says what to do",
        (
            (
                PARTS,
                "HR-1004-10,door seal,door seal,current",
                "HR-1004-10,door seal,door seal,gone",
            ),
            (DOOR, "    in-hand: yes", "    note: no more to be had; trim the one of the TD60A"),
        ),
    ),
    (
        "part-not-to-be-had",
        "running out, and still sold",
        ((PARTS, "door seal,current,,,TD45A;TD45B", "door seal,running-out,,,TD45A;TD45B"),),
    ),
    (
        "part-twice",
        "in the parts and in a check",
        ((PUMP, "minutes: 25", "minutes: 25\nparts:\n  - number: HR-1001-20"),),
    ),
    (
        "keep-and-fit",
        "the part of another check",
        ((PUMP, "keep: [HR-1002-10]", "keep: [HR-1002-10, HR-1003-10]"),),
    ),
    (
        "keep-and-fit-name",
        "the name of a like part",
        ((PUMP, "keep: [HR-1002-10]", "keep: [pump seal]"),),
    ),
    (
        "keep-against-fit",
        "for the units built before",
        (
            (PUMP, "hums but does not drain", "water in front of the door"),
            (DOOR, "parts:\n", "keep: [HR-1001-20]\nparts:\n"),
        ),
    ),
    ("likelihood-sum", "one in all", ((PUMP, "likelihood: 0.3", "likelihood: 0.5"),)),
    ("likelihood-sum", "one but for rounding", ((PUMP, "hood: 0.3", "hood: 0.505"),)),
    (
        "before-unknown",
        "typed with other blanks and capitals",
        ((PUMP, "before: [connector not fully home]", "before: [Connector  NOT fully home]"),),
    ),
    (
        "before-ring",
        "a row of three",
        (
            (
                PUMP,
                "    before: [connector not fully home]",
                "    before: [connector not fully home]\n  - cause: rotor stuck\n"
                "    test: look\n    likelihood: 0.1\n    minutes: 2\n"
                "    before: [pump worn, connector not fully home]",
            ),
        ),
    ),
    (
        "before-last",
        "the last one waits for the other",
        ((PUMP, "    parts: [HR-1001-20]", "    parts: [HR-1001-20]\n    last: yes"),),
    ),
    (
        "cause-twice",
        "one word more",
        ((PUMP, "  - cause: pump worn", "  - cause: connector not fully home on the pump"),),
    ),
]

SAFETY: list[Case] = [
    (
        "safety-hazard",
        "hazards named, no panel",
        ((HEATER, "::: danger\n", ""), (HEATER, "pulled.\n:::", "pulled.")),
    ),
    ("safety-range", "a revision", ((HEATER, RANGE, "revision: 2..3"),)),
    ("safety-range", "all units from the first on", ((HEATER, RANGE, "built: 2014-03.."),)),
    (
        "safety-range",
        "a range in every block",
        (
            (HEATER, "family: Cairn\nmodels: [CW8B]\n", ""),
            (
                HEATER,
                RANGE,
                "applies:\n  - {models: [CW8B], built: 2022}\n  - {models: [CW7A], revision: 1}",
            ),
        ),
    ),
    (
        "safety-action",
        "the steps under a heading",
        (
            (
                HEATER,
                "1. Fit the new heater.\n2. Test for earth leakage.",
                "## What to do\n\nFit it.",
            ),
        ),
    ),
    (
        "safety-steps",
        "parts and prose",
        ((HEATER, "1. Fit the new heater.\n2. Test for earth leakage.", "Fit the new one."),),
    ),
    (
        "safety-part",
        "the part to be kept",
        ((HEATER, FITTED, "keep: [HR-1002-10]\n"),),
    ),
    (
        "safety-part",
        "the number in the text, small and without hyphens",
        ((HEATER, FITTED, ""), (HEATER, "the new heater", "hr100710")),
    ),
    (
        "safety-contact",
        "a telephone number in the bulletin itself",
        ((HOUSE, CONTACT, ""), (HEATER, "2. Test", "2. Call +44 20 7946 0018.\n3. Test")),
    ),
    ("safety-words", "involuntary", ((HEATER, "The flange can", "By involuntary moves it can"),)),
    (
        "safety-words",
        "a rare situation",
        ((HEATER, "This can start a fire.", "This is no rare situation."),),
    ),
    (
        "safety-words",
        "in a bulletin that is not about safety",
        ((PUMP, "The pump hums because", "As a precautionary measure: it hums because"),),
    ),
]

BODY: list[Case] = [
    ("picture-missing", "with a title", ((PUMP, PICTURE, '(2026-001/pump.svg "Seen")'),)),
    ("picture-missing", "in angle brackets", ((PUMP, PICTURE, "(<./2026-001/pump.svg>)"),)),
    (
        "picture-missing",
        "by way of the folder above",
        ((PUMP, PICTURE, "(../2026/2026-001/pump.svg)"),),
    ),
    ("picture-acts", "a link within the drawing", ((DRAWING, 'r="12"', 'r="12" id="a"'),)),
    ("picture-acts", "the word script in the text", ((DRAWING, "Pump", "script"),)),
    ("picture-alt", "an image in code", ((DOOR, "The seal has", "`![](x.svg)` The seal has"),)),
    (
        "panel-unclosed",
        "in a list",
        ((PUMP, "1. Pull the plug.", "1. ::: notice\n   Dry.\n   :::"),),
    ),
    (
        "panel-unclosed",
        "in a panel",
        ((PUMP, "Live parts", "::: notice\nWet.\n:::\n\nLive parts"),),
    ),
    ("panel-unknown", "in capitals", ((PUMP, "::: warning", "::: WARNING"),)),
    ("panel-stray", "in code", ((DOOR, "The seal has", "~~~\n:::\n~~~\n\nThe seal has"),)),
    (
        "link-scheme",
        "to a bulletin's file",
        ((DOOR, "The seal has", "[a](../2026/2026-001.md) x"),),
    ),
    ("link-scheme", "to a mailbox", ((DOOR, "The seal has", "[a](mailto:a@b.example) x"),)),
    ("quantity", "in code", ((PUMP, "{2 N m}", "`{2 Nmm}`"),)),
    ("quantity", "braces around words", ((PUMP, "{2 N m}", "{hand-tight}"),)),
    ("text-bulletin-unknown", "in code", ((PUMP, SEE, "see `2024-070`"),)),
    ("text-bulletin-unknown", "in code with two ticks", ((PUMP, SEE, "see ``a ` 2024-070``"),)),
    (
        "text-bulletin-unknown",
        "in a block of code",
        ((PUMP, "1. Pull the plug.", "```\n2024-070\n```\n\n1. Pull the plug."),),
    ),
    (
        "text-bulletin-unknown",
        "in a block of code that goes on to the end",
        ((HOSE, "whole.", "whole.\n\n~~~ text\n2024-070"),),
    ),
    ("text-bulletin-unknown", "an address", ((PUMP, SEE, "<https://example.org/2024-070>"),)),
    ("text-bulletin-unknown", "months and days", ((PUMP, SEE, "2024-07, 2024-07-01, 2024-W10"),)),
    ("text-bulletin-unknown", "part of a longer number", ((PUMP, SEE, "call 555-2024-070-1"),)),
    ("text-part-unknown", "in code", ((HOSE, "whole.", "whole: `HR-1006-21`."),)),
    ("text-part-unknown", "a model with a hyphen", ((HOSE, "whole.", "whole (TD-45-A)."),)),
]

TABLES: list[Case] = [
    ("successor-unknown", "without hyphens", ((PARTS, "gone,HR-1001-20", "gone,hr100120"),)),
    (
        "parts-ring",
        "changed under its own number",
        ((PARTS, "heater,heater,current,,changed", "heater,heater,current,HR-1007-10,changed"),),
    ),
    (
        "parts-dead-end",
        "a successor that can be ordered soon",
        (
            (PARTS, "HR-1006-20,inlet hose,inlet hose,current", "HR-1006-20,inlet hose,,pending"),
            (HOSE, "  - number: HR-1006-20", "  - {number: HR-1006-20, note: from January on}"),
        ),
    ),
    (
        "relation-missing",
        "nothing after it and no relation",
        ((PARTS, "HR-1901-10,clamp,drain pump", "HR-1901-10,clamp,"),),
    ),
    (
        "changed-note",
        "a note of one word",
        ((PARTS, "the new one has a red dot on its flange", "red"),),
    ),
    (
        "not-a-kit",
        "the kit without hyphens",
        ((KITS, "HR-1900-10,HR-1003-10", "hr190010,HR-1003-10"),),
    ),
    (
        "not-in-kit",
        "the part without hyphens",
        ((KITS, "HR-1900-10,HR-1003-10", "HR-1900-10,hr100310"),),
    ),
    (
        "not-in-kit",
        "the part's own successor in the kit",
        (
            (
                PARTS,
                "HR-1901-10,clamp,drain pump,current,,,,,",
                "HR-1901-10,seal,,current,,,,,\n"
                "HR-1003-10,seal,drain pump,current,HR-1901-10,same,TD60A,,",
            ),
            (PARTS, "current,HR-1900-10,kit,,", "current,HR-1900-10,kit,TD45*,"),
            (KITS, "HR-1900-10,HR-1003-10,1\n", ""),
        ),
    ),
    (
        "several-successors",
        "each for its own models",
        (
            (PARTS, "gone,HR-1001-20,same,,", "gone,HR-1001-20,same,TD45*,"),
            (
                PARTS,
                "HR-1901-10,clamp",
                "HR-1001-10,drain pump,drain pump,gone,HR-1901-10,same,TD60A,,\nHR-1901-10,clamp",
            ),
        ),
    ),
    (
        "kit-part-unknown",
        "a part that is gone",
        ((PARTS, "HR-1901-10,clamp,drain pump,current", "HR-1901-10,clamp,drain pump,gone"),),
    ),
    (
        "kits-ring",
        "a kit in a kit",
        (
            (KITS, "HR-1901-10,2", "HR-1902-10,2\nHR-1902-10,HR-1901-10,1"),
            (PARTS, "HR-1901-10,clamp", "HR-1902-10,clamp kit,,current,,,,,\nHR-1901-10,clamp"),
        ),
    ),
    (
        "spelled",
        "two slips of one word",
        ((WORDS, "gaskit: gasket", "gaskit: gasket\n  gaskett: gasket"),),
    ),
    ("ring-of-one", "two words", ((WORDS, SPACED, "[leak, leaks]"),)),
    ("ring-of-one", "no list at all", ((WORDS, f"same:\n  - {SPACED}\n", ""),)),
]

CASES = [
    *WHERE,
    *SERIALS_GIVEN,
    *NAMES,
    *BETWEEN,
    *PARTS_AND_CHECKS,
    *SAFETY,
    *BODY,
    *TABLES,
]


@pytest.mark.parametrize(
    "edits", [case[2] for case in CASES], ids=[f"{rule}: {what}" for rule, what, _ in CASES]
)
def test_sound_work_close_to_a_mistake_is_not_blamed(
    edits: tuple[Edit, ...], tmp_path: Path
) -> None:
    assert list(map(told, proofed(tmp_path, edited(edits)))) == []


def test_every_rule_has_a_near_miss() -> None:
    tried = {rule for rule, _, _ in CASES}
    assert {rule.name for rule in RULES} - tried == ELSEWHERE


# Their near misses stand in the tests of their own module.
ELSEWHERE = {
    "relation-alone",
    "safety-hazard-key",
}


def test_no_near_miss_is_tried_twice() -> None:
    made = [edits for _, _, edits in CASES]
    assert len(set(made)) == len(made)
