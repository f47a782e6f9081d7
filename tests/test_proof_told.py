"""What each rule tells: one mistake in the sound house, and the whole of what is said about it.

The words are held too: a message names the thing that is wrong, and a remedy says what to do.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.errors import Level, Problem
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

# What the safety bulletin of the sound house holds, to be taken out.
RANGE = "serials: [K P 10 00001..K P 20 00500, L P 11 00020]"
HAZARDS = "hazards: [electricity, hot-surface]\n"
FITTED = "parts:\n  - {number: HR-1007-10, quantity: 1}\n"
PANEL = "::: danger\nDo not run the machine. Pull the plug and keep it pulled.\n:::\n"
STEPS = "1. Fit the new heater.\n2. Test for earth leakage.\n"


class Told(NamedTuple):
    """One mistake: what is said of it, and how it is made."""

    rule: str
    level: Level
    file: str
    line: int
    message: str
    remedy: str
    edits: tuple[Edit, ...]

    @property
    def problem(self) -> Problem:
        """What must be said, whole."""
        return Problem(
            file=self.file,
            line=self.line,
            level=self.level,
            rule=self.rule,
            message=self.message,
            remedy=self.remedy,
        )


TOLD = [
    Told(
        "family-unknown",
        "error",
        PUMP,
        6,
        "there is no family 'Tran'",
        "did you mean Tarn? If not, add the family to reference/families.yaml",
        ((PUMP, "family: Tarn", "family: Tran"),),
    ),
    Told(
        "model-unknown",
        "error",
        HEATER,
        7,
        "no model is meant by 'CW8B2'",
        (
            "write CW8B here and the last digit under 'revision', or add the model to its "
            "family in reference/families.yaml"
        ),
        ((HEATER, "models: [CW8B]", "models: [CW8B2]"),),
    ),
    Told(
        "model-other-family",
        "error",
        DOOR,
        7,
        "'CW7A' is a model of Cairn, not of Tarn",
        "name the family Cairn here, or take the model out",
        ((DOOR, "models: [TD45*]", "models: [TD45*, CW7A]"),),
    ),
    Told(
        "built-outside",
        "error",
        DOOR,
        8,
        "no unit was built in this range (made: Tarn 2016-09 or later)",
        "correct 'built', or 'produced' in reference/families.yaml",
        ((DOOR, "2019-W01..2023-W26", "2014..2015"),),
    ),
    Told(
        "built-partly-outside",
        "warning",
        HEATER,
        8,
        "the range goes on after production (made: Cairn 2014-03 to 2024-06)",
        "correct 'built', or leave that end open if it means as long as they were made",
        ((HEATER, RANGE, "built: 2022..2025"),),
    ),
    Told(
        "plant-unknown",
        "error",
        PUMP,
        8,
        "no plant 'S' makes Tarn",
        (
            "the plants are K (Kirkholm works) and L (Langrigg works): take one of them, or "
            "add a new one to reference/serials.yaml"
        ),
        ((PUMP, "plant: K", "plant: [K, S]"),),
    ),
    Told(
        "part-model-unknown",
        "error",
        PARTS,
        6,
        "no model is meant by 'TD54B'",
        ("did you mean TD45B? If not, add the model to its family in reference/families.yaml"),
        ((PARTS, "TD45A;TD45B", "TD45A;TD54B"),),
    ),
    Told(
        "model-collides",
        "warning",
        FAMILIES,
        8,
        "'CW8B2' can also be read as CW8B with revision 2",
        "see that CW8B never has a revision 2: the plate would fit both",
        ((FAMILIES, "[CW7A, CW8B]", "[CW7A, CW8B, CW8B2]"),),
    ),
    Told(
        "serial-unreadable",
        "error",
        HEATER,
        8,
        "serial L P 11 0020: it has 8 places instead of 9",
        "a sound one looks like K P 14 00031: plant, year, week, number",
        ((HEATER, "L P 11 00020", "L P 11 0020"),),
    ),
    Told(
        "serials-two-plants",
        "error",
        HEATER,
        8,
        "K P 10 00001 and L P 20 00500 are not serials of one plant and scheme",
        "write a range for each plant",
        ((HEATER, "K P 20 00500", "L P 20 00500"),),
    ),
    Told(
        "serials-reversed",
        "error",
        HEATER,
        8,
        "K P 20 00500 was built after K P 10 00001: no unit lies between them",
        "write the earlier serial first",
        ((HEATER, "K P 10 00001..K P 20 00500", "K P 20 00500..K P 10 00001"),),
    ),
    Told(
        "example-fails",
        "error",
        SERIALS,
        9,
        "example L M 53 00210: built 2020-W53, not 2020-W52",
        "correct the example or the scheme",
        ((SERIALS, "built: 2020-W53", "built: 2020-W52"),),
    ),
    Told(
        "component-unknown",
        "error",
        PUMP,
        9,
        "there is no component 'drain pmup'",
        ("did you mean 'drain pump'? If not, give the new one to a part in reference/parts.csv"),
        ((PUMP, "component: drain pump", "component: drain pmup"),),
    ),
    Told(
        "component-alone",
        "warning",
        DOOR,
        9,
        "no part and no other bulletin knows the component 'plinth'",
        "give it to a part in reference/parts.csv, or let it stand",
        ((DOOR, "component: door seal", "component: [door seal, plinth]"),),
    ),
    Told(
        "code-alike",
        "error",
        PUMP,
        11,
        "the code 'E2l' is used nowhere else and looks like 'E21'",
        "did you mean 'E21'? Letters and digits such as O and 0 look alike",
        (
            (DOOR, "codes: [E15]", "codes: [E15, E21]"),
            (PUMP, "codes: [E21]", "codes: [E2l]"),
        ),
    ),
    Told(
        "code-alike-elsewhere",
        "warning",
        DOOR,
        11,
        "the code 'FO5' is used nowhere else and looks like 'F05' of other families",
        "did you mean 'F05'? If not, list it under 'codes' of its family",
        ((DOOR, "codes: [E15]", "codes: [E15, FO5]"),),
    ),
    Told(
        "code-unknown",
        "error",
        HEATER,
        11,
        "there is no fault code 'F05'",
        ("did you mean F50? If not, add it under 'codes' in reference/house.yaml or families.yaml"),
        ((HOUSE, "units: metric", "units: metric\ncodes: [E15, E21, F50]"),),
    ),
    Told(
        "said-twice",
        "warning",
        DOOR,
        11,
        "'e-15' stands twice under 'codes'",
        "take one of them out",
        ((DOOR, "codes: [E15]", "codes: [E15, e-15]"),),
    ),
    Told(
        "part-number-taken",
        "warning",
        PARTS,
        12,
        "the part number E15 is also a fault code",
        "a search for it finds both; write the fault code with its family where you can",
        (
            (PARTS, "HR-1901-10,clamp", "E15,clamp"),
            (KITS, "HR-1901-10", "E15"),
        ),
    ),
    Told(
        "bulletin-unknown",
        "error",
        PUMP,
        13,
        "there is no bulletin 2024-070",
        "did you mean 2024-007? If not, take the number out",
        ((PUMP, "related: [2024-007]", "related: [2024-070]"),),
    ),
    Told(
        "names-itself",
        "error",
        PUMP,
        13,
        "the bulletin names itself under 'related'",
        "name the other bulletin that is meant, or take the number out",
        ((PUMP, "related: [2024-007]", "related: [2026-001]"),),
    ),
    Told(
        "supersedes-round",
        "error",
        OLD_HOSE,
        6,
        "these bulletins supersede one another in a ring: 2025-090 → 2026-003 → 2025-090",
        "keep the newest in force and take 'supersedes' out of the oldest",
        ((OLD_HOSE, "issued: 2025-05-04", "issued: 2026-05-04\nsupersedes: 2026-003"),),
    ),
    Told(
        "two-successors",
        "warning",
        HOSE,
        6,
        "2025-090 is also superseded by 2026-001, for some of the same units",
        "see that only one of them takes its place for any unit",
        ((PUMP, "related: [2024-007]", "supersedes: 2025-090"),),
    ),
    Told(
        "older-successor",
        "warning",
        HOSE,
        6,
        "2025-090, which this supersedes, was issued later (2026-05-05)",
        "see which of the two is the newer one, and correct the date or 'supersedes'",
        ((OLD_HOSE, "issued: 2025-05-04", "issued: 2026-05-05"),),
    ),
    Told(
        "revised-early",
        "error",
        PUMP,
        6,
        "revised on 2026-03-01, before it was issued on 2026-03-02",
        "correct the one or the other",
        ((PUMP, "issued: 2026-03-02", "issued: 2026-03-02\nrevised: 2026-03-01"),),
    ),
    Told(
        "future",
        "warning",
        PUMP,
        5,
        "issued 2026-11-26 lies in the future (today is 2026-11-25)",
        "correct the date, or make the bulletin 'status: draft' until then",
        ((PUMP, "issued: 2026-03-02", "issued: 2026-11-26"),),
    ),
    Told(
        "part-unknown",
        "error",
        PUMP,
        26,
        "there is no part HR-1901-01",
        "did you mean HR-1901-10? If not, add the part to reference/parts.csv",
        ((PUMP, "parts: [HR-1001-20]", "parts: [HR-1001-20, HR-1901-01]"),),
    ),
    Told(
        "keep-unknown",
        "error",
        PUMP,
        15,
        "'main contorl' under 'keep' is no part number, part name or component",
        "did you mean main control? If not, add the part to reference/parts.csv",
        ((PUMP, "keep: [HR-1002-10]", "keep: [main contorl]"),),
    ),
    Told(
        "part-replaced",
        "warning",
        PUMP,
        26,
        "part HR-1001-10 is gone: order HR-1001-20 today",
        "name HR-1001-20 here when you next revise the bulletin",
        ((PUMP, "parts: [HR-1001-20]", "parts: [HR-1001-10]"),),
    ),
    Told(
        "part-not-to-be-had",
        "warning",
        DOOR,
        13,
        "part HR-1004-10 is gone and nothing takes its place",
        (
            "say in its 'note' under 'parts' what to do without it, or name a successor in "
            "reference/parts.csv"
        ),
        ((PARTS, "HR-1004-10,door seal,door seal,current", "HR-1004-10,door seal,door seal,gone"),),
    ),
    Told(
        "part-twice",
        "warning",
        DOOR,
        16,
        "part HR 1004 10 stands twice under 'parts'",
        "name it once, with the whole quantity",
        ((DOOR, "    in-hand: yes\n", "    in-hand: yes\n  - number: HR 1004 10\n"),),
    ),
    Told(
        "keep-and-fit",
        "error",
        PUMP,
        26,
        "part HR-1001-20 is to be fitted here and kept by line 15",
        "take it out of 'keep', or out of 'parts' and 'checks'",
        ((PUMP, "keep: [HR-1002-10]", "keep: [HR-1001-20]"),),
    ),
    Told(
        "keep-and-fit-name",
        "warning",
        PUMP,
        26,
        "part HR-1001-20 is to be fitted here, but line 15 keeps every 'drain pump'",
        "name under 'keep' only the part numbers that must not be replaced",
        ((PUMP, "keep: [HR-1002-10]", "keep: [drain pump]"),),
    ),
    Told(
        "likelihood-sum",
        "error",
        PUMP,
        16,
        "the likelihoods of the checks add up to 1.01",
        "lower them until they come to 1 or less: one fault has one cause",
        ((PUMP, "likelihood: 0.3", "likelihood: 0.51"),),
    ),
    Told(
        "before-unknown",
        "error",
        PUMP,
        27,
        "'before' names 'connector not full home', which is no cause of this bulletin",
        (
            "did you mean connector not fully home? If not, write the cause as it stands in "
            "its check"
        ),
        ((PUMP, "before: [connector not fully home]", "before: [connector not full home]"),),
    ),
    Told(
        "before-ring",
        "error",
        PUMP,
        27,
        (
            "the checks cannot be put in order: 'connector not fully home' waits for 'pump "
            "worn' waits for 'connector not fully home'"
        ),
        "take out one 'before' of the ring",
        ((PUMP, "    fix: seat the connector until it clicks", "    before: [pump worn]"),),
    ),
    Told(
        "before-last",
        "error",
        PUMP,
        27,
        "this check waits for 'connector not fully home', which is marked 'last'",
        "take out the 'before', or mark both checks 'last'",
        ((PUMP, "    fix: seat the connector until it clicks", "    last: yes"),),
    ),
    Told(
        "cause-twice",
        "warning",
        PUMP,
        22,
        "the cause 'Connector not fully home' stands twice under 'checks'",
        "make one check of the two, or name the causes apart",
        (
            (PUMP, "  - cause: pump worn", "  - cause: Connector not fully home"),
            (PUMP, "    before: [connector not fully home]\n", ""),
        ),
    ),
    Told(
        "safety-hazard",
        "error",
        HEATER,
        4,
        "a safety bulletin must say what the hazard is",
        "name it under 'hazards', and say in a '::: warning' panel what can happen",
        (
            (HEATER, HAZARDS, ""),
            (HEATER, PANEL, ""),
        ),
    ),
    Told(
        "safety-hazard-key",
        "warning",
        HEATER,
        4,
        "the hazard stands in a panel, but not under 'hazards'",
        "name it under 'hazards' too, so that the usual cautions are shown",
        ((HEATER, HAZARDS, ""),),
    ),
    Told(
        "safety-range",
        "warning",
        HEATER,
        6,
        "a safety bulletin should say which production it is about",
        "give 'built', 'serials' or 'revision'; for all units, the date they began",
        ((HEATER, f"{RANGE}\n", ""),),
    ),
    Told(
        "safety-action",
        "error",
        HEATER,
        4,
        "a safety bulletin must say what to do",
        "write the steps in the body, or give 'checks' or 'parts'",
        (
            (HEATER, FITTED, ""),
            (HEATER, STEPS, ""),
            (HEATER, PANEL, ""),
            (
                HEATER,
                "The flange can loosen and the heater can touch the tub. This can start a fire.\n",
                "",
            ),
            (HEATER, "component: heater", "component: heater\nkeep: [HR-1002-10]"),
        ),
    ),
    Told(
        "safety-steps",
        "warning",
        HEATER,
        15,
        "it is not plain what to do: the body has no list of steps",
        "write the action as a numbered list, or under a heading of its own",
        (
            (HEATER, FITTED, "keep: [HR-1002-10]\n"),
            (HEATER, STEPS, "Fit the new one.\n"),
        ),
    ),
    Told(
        "safety-part",
        "warning",
        HEATER,
        4,
        "a safety bulletin should name the part it is about",
        "give its number under 'parts' or 'checks', or in the body",
        ((HEATER, FITTED, ""),),
    ),
    Told(
        "safety-contact",
        "error",
        HEATER,
        4,
        "a safety bulletin must say whom to ask, and this house names nobody",
        "give 'contact' in reference/house.yaml",
        ((HOUSE, "contact: Service desk, desk@hollin-ridge.example\n", ""),),
    ),
    Told(
        "safety-words",
        "error",
        HEATER,
        23,
        "'voluntary' plays the danger down",
        "take it out and say plainly what to do and why",
        ((HEATER, "Test for earth", "As a voluntary step, test for earth"),),
    ),
    Told(
        "picture-missing",
        "error",
        PUMP,
        38,
        "there is no picture '2026-001/pmup.svg'",
        "did you mean 2026-001/pump.svg? If not, put the file into the bulletin's folder",
        ((PUMP, "(2026-001/pump.svg)", "(2026-001/pmup.svg)"),),
    ),
    Told(
        "picture-acts",
        "error",
        DRAWING,
        3,
        "the attribute 'onclick' is not allowed in a drawing",
        "save the drawing as plain SVG: no script, links or anything from outside",
        ((DRAWING, 'r="12"', 'r="12" onclick="go()"'),),
    ),
    Told(
        "text-bulletin-unknown",
        "warning",
        PUMP,
        36,
        "the text speaks of 2024-070, and there is no such bulletin",
        "did you mean 2024-007? If not, take it out",
        ((PUMP, "bulletin 2024-007", "bulletin 2024-070"),),
    ),
    Told(
        "text-part-unknown",
        "warning",
        HOSE,
        15,
        "the text speaks of HR-1006-21, and there is no such part",
        "did you mean HR-1006-20? If not, add the part to reference/parts.csv",
        ((HOSE, "replaced whole.", "replaced whole,\nby HR-1006-21."),),
    ),
    Told(
        "applies-to-none",
        "error",
        DOOR,
        6,
        "the bulletin applies to no unit at all",
        "its conditions exclude one another: see which of them is not meant",
        ((DOOR, "models: [TD45*]", "except: {family: Tarn}"),),
    ),
    Told(
        "block-for-none",
        "warning",
        HOSE,
        9,
        "this block under 'applies' holds for no unit at all",
        "its conditions exclude one another: correct it or take it out",
        (
            (
                HOSE,
                "family: [Tarn, Cairn]",
                (
                    "applies:\n  - family: [Tarn, Cairn]\n  - family: Tarn\n    built: 2020\n"
                    "    except: {built: 2019..2021}"
                ),
            ),
        ),
    ),
    Told(
        "successor-narrower",
        "warning",
        HOSE,
        6,
        "units that 2025-090 was for are left without: TD60A",
        "widen where this bulletin applies, or say that they need no note any more",
        ((HOSE, "family: [Tarn, Cairn]", "models: [TD45*]"),),
    ),
    Told(
        "keep-against-fit",
        "warning",
        PUMP,
        26,
        (
            "part HR-1001-20 is to be fitted here, and 2024-007 says to keep 'HR-1001-20', "
            "for the same units and symptom"
        ),
        "see which of the two is right, and revise or supersede the other",
        (
            (PUMP, "codes: [E21]", "codes: [E21]\nsymptoms: [moans]"),
            (PUMP, "symptoms: [hums but does not drain, water left in the sump]\n", ""),
            (DOOR, "built: 2019-W01..2023-W26", "built: 2024"),
            (DOOR, "symptoms: [water in front of the door]", "symptoms: [moans]"),
            (DOOR, "parts:\n", "keep: [HR-1001-20]\nparts:\n"),
        ),
    ),
    Told(
        "title-twice",
        "warning",
        PUMP,
        3,
        "2024-007 has the same title and is in force for some of the same units",
        "give this one another title, or let it supersede the other",
        (
            (DOOR, "Door leaks at the lower corner", "drain pump hums but moves no water"),
            (DOOR, "2019-W01..2023-W26", "2019-W01..2024-W10"),
        ),
    ),
    Told(
        "scheme-unknown",
        "error",
        FAMILIES,
        10,
        "there is no serial scheme 'holin'",
        "did you mean hollin? If not, add the scheme to reference/serials.yaml",
        (
            (FAMILIES, "2014-03..2024-06\n  scheme: hollin", "2014-03..2024-06\n  scheme: holin"),
            (HEATER, RANGE, "built: 2022"),
        ),
    ),
    Told(
        "scheme-unused",
        "warning",
        FAMILIES,
        10,
        "the scheme hollin was never in use while this family was made",
        "correct 'produced' here or 'used' in reference/serials.yaml",
        (
            (
                FAMILIES,
                "2014-03..2024-06\n  scheme: hollin",
                "2014-03..2024-06\n  scheme: {name: hollin, used: 2024-07..}",
            ),
            (HEATER, RANGE, "built: 2022"),
        ),
    ),
    Told(
        "successor-unknown",
        "error",
        PARTS,
        2,
        "there is no part HR-1001-30 to take its place",
        "did you mean HR-1001-20? If not, add a row for it",
        ((PARTS, "gone,HR-1001-20,same", "gone,HR-1001-30,same"),),
    ),
    Told(
        "parts-ring",
        "error",
        PARTS,
        3,
        "these parts replace one another in a ring: HR-1001-10 → HR-1001-20 → HR-1001-10",
        "take 'replaced_by' out of the row of the newest",
        (
            (
                PARTS,
                "HR-1001-20,drain pump,drain pump,current,,,",
                "HR-1001-20,drain pump,drain pump,current,HR-1001-10,same,",
            ),
        ),
    ),
    Told(
        "parts-dead-end",
        "warning",
        PARTS,
        2,
        "HR-1001-10 is replaced by HR-1001-20, which is gone with nothing after it",
        "name what is sold today, or correct the status of HR-1001-20",
        (
            (
                PARTS,
                "HR-1001-20,drain pump,drain pump,current",
                "HR-1001-20,drain pump,drain pump,gone",
            ),
            (PUMP, "    parts: [HR-1001-20]\n", ""),
        ),
    ),
    Told(
        "relation-missing",
        "warning",
        PARTS,
        8,
        "it is not said how HR-1006-20 stands to HR-1006-10",
        "write same, forward, kit or changed under 'relation'",
        ((PARTS, "HR-1006-20,forward,", "HR-1006-20,,"),),
    ),
    Told(
        "relation-alone",
        "warning",
        PARTS,
        12,
        "HR-1901-10 has the relation 'forward', but nothing under 'replaced_by'",
        "name the successor, or leave 'relation' empty",
        (
            (
                PARTS,
                "HR-1901-10,clamp,drain pump,current,,",
                "HR-1901-10,clamp,drain pump,current,,forward",
            ),
        ),
    ),
    Told(
        "changed-note",
        "warning",
        PARTS,
        10,
        "HR-1007-10 is changed under the same number, and nothing says how to tell",
        "write under 'note' how the old and the new one are told apart",
        ((PARTS, "the new one has a red dot on its flange", ""),),
    ),
    Told(
        "not-a-kit",
        "error",
        PARTS,
        5,
        "HR-1003-10 is said to be sold in HR-1901-10, which is no kit",
        "list what HR-1901-10 holds in reference/kits.csv, or correct 'relation'",
        ((PARTS, "HR-1900-10,kit", "HR-1901-10,kit"),),
    ),
    Told(
        "not-in-kit",
        "warning",
        PARTS,
        5,
        "HR-1003-10 is said to be sold in kit HR-1900-10, which does not hold it",
        "add it to the kit in reference/kits.csv, or correct 'replaced_by'",
        ((KITS, "HR-1900-10,HR-1003-10,1", "HR-1900-10,HR-1007-10,1"),),
    ),
    Told(
        "several-successors",
        "error",
        PARTS,
        4,
        "HR-1001-10 is replaced by HR-1001-20 already for TD60A",
        "name each model in one row alone under 'models'",
        (
            (PARTS, "gone,HR-1001-20,same,,", "gone,HR-1001-20,same,TD*,"),
            (
                PARTS,
                "HR-1002-10,main",
                "HR-1001-10,drain pump,drain pump,gone,HR-1901-10,same,TD60A,,\nHR-1002-10,main",
            ),
        ),
    ),
    Told(
        "kit-part-unknown",
        "error",
        KITS,
        3,
        "there is no part HR-1910-10",
        "did you mean HR-1901-10? If not, add the part to reference/parts.csv",
        ((KITS, "HR-1901-10", "HR-1910-10"),),
    ),
    Told(
        "kits-ring",
        "error",
        KITS,
        3,
        "a kit holds itself: HR-1900-10 → HR-1900-10",
        "take this row out",
        ((KITS, "HR-1901-10,2", "HR-1900-10,2"),),
    ),
    Told(
        "spelled",
        "warning",
        WORDS,
        4,
        "under 'spelled', 'gaskit' becomes 'gaskt', which is itself put right",
        "write the right spelling behind the wrong one",
        ((WORDS, "gaskit: gasket", "gaskit: gaskt\n  gaskt: gasket"),),
    ),
    Told(
        "ring-of-one",
        "warning",
        WORDS,
        3,
        "a list under 'same' holds only Leak and leak",
        "name at least two words that mean the same, or take the list out",
        (
            (
                WORDS,
                "  - [leak, drip, water on floor]",
                "  - [leak, drip, water on floor]\n  - [Leak, leak]",
            ),
        ),
    ),
    Told(
        "panel-unclosed",
        "error",
        PUMP,
        31,
        "the panel '::: warning' is not closed",
        "put a line with ':::' alone behind its last line",
        ((PUMP, "Pull the plug first.\n:::", "Pull the plug first."),),
    ),
    Told(
        "panel-unknown",
        "error",
        PUMP,
        31,
        "'warnnig' is not a signal word",
        "did you mean 'warning'? the four are danger, warning, caution and notice",
        ((PUMP, "::: warning", "::: warnnig"),),
    ),
    Told(
        "panel-stray",
        "error",
        DOOR,
        19,
        "':::' closes a panel that was never opened",
        "take the line out, or open the panel with '::: warning' above it",
        ((DOOR, "The seal has", "The old one:\n\n:::\n\nThe seal has"),),
    ),
    Told(
        "picture-alt",
        "error",
        PUMP,
        38,
        "the picture '2026-001/pump.svg' has no words that stand for it",
        "say between the brackets what it shows: ![pump seen from below](…)",
        ((PUMP, "![The pump seen from below]", "![]"),),
    ),
    Told(
        "picture-remote",
        "error",
        PUMP,
        38,
        "the picture 'https://example.org/pump.svg' lies elsewhere",
        "copy it into the bulletin's own folder and name it there",
        ((PUMP, "(2026-001/pump.svg)", "(https://example.org/pump.svg)"),),
    ),
    Told(
        "picture-outside",
        "error",
        PUMP,
        38,
        "the picture '../../pump.svg' is not in the house",
        "copy it into the bulletin's own folder and name it there",
        ((PUMP, "(2026-001/pump.svg)", "(../../pump.svg)"),),
    ),
    Told(
        "link-scheme",
        "error",
        PUMP,
        36,
        "the link to 'javascript:go' is not followed",
        "link to http, https, mailto or a file of the house",
        ((PUMP, "Seat the connector;", "[Seat](javascript:go) the connector;"),),
    ),
    Told(
        "quantity",
        "error",
        PUMP,
        36,
        "'Nmm' is no unit that is known here",
        "did you mean N·m? Otherwise take the braces away",
        ((PUMP, "{2 N m}", "{2 Nmm}"),),
    ),
]

# Rules that the reading of a body keeps, not the table of rules.
NOTED = {told.rule for told in TOLD} - {rule.name for rule in RULES}


BODY_RULES = (
    "panel-unclosed",
    "panel-unknown",
    "panel-stray",
    "picture-alt",
    "picture-remote",
    "picture-outside",
    "link-scheme",
    "quantity",
)


@pytest.mark.parametrize("case", TOLD, ids=[case.rule for case in TOLD])
def test_a_mistake_is_told_in_its_place_in_full_and_alone(case: Told, tmp_path: Path) -> None:
    found = proofed(tmp_path, edited(case.edits))
    assert list(map(told, found)) == [told(case.problem)]


def test_every_rule_of_the_table_has_its_mistake_here() -> None:
    assert {rule.name for rule in RULES} <= {case.rule for case in TOLD}
    assert len(RULES) >= 70


def test_the_rules_on_the_form_of_a_body_have_theirs_too() -> None:
    assert set(BODY_RULES) == NOTED


# Rules whose message needs no name: the line it stands on is the whole of what is wrong, or it is
# something that is not there at all.
NAMELESS = {
    "built-outside",
    "built-partly-outside",
    "applies-to-none",
    "block-for-none",
    "likelihood-sum",
    "safety-hazard",
    "safety-hazard-key",
    "safety-range",
    "safety-action",
    "safety-steps",
    "safety-part",
    "safety-contact",
    "panel-stray",
}


def _named(message: str) -> set[str]:
    """Return what a message names: words in quotes, numbers and codes, dates, names in capitals."""
    quoted = re.findall(r"'([^']+)'|<(\w+)>", message)
    numbers = re.findall(r"\b[A-Z]*\d[\w-]*", message)
    names = re.findall(r"(?<=\w )[A-Z][\w-]+|[Ll]eak|hollin", message)
    return {word for pair in quoted for word in pair if word} | {*numbers, *names}


@pytest.mark.parametrize("case", TOLD, ids=[case.rule for case in TOLD])
def test_a_message_names_the_thing_that_is_wrong(case: Told) -> None:
    assert bool(_named(case.message)) or case.rule in NAMELESS


VERBS = (
    "add", "call", "copy", "correct", "did you mean", "give", "keep", "leave", "limit", "link",
    "list", "looks like", "lower", "make", "name", "put", "save", "say", "see", "take",
    "widen", "write",
)  # fmt: skip


@pytest.mark.parametrize("case", TOLD, ids=[case.rule for case in TOLD])
def test_a_remedy_is_something_to_do_in_plain_words(case: Told) -> None:
    says = case.remedy.casefold()
    assert any(re.search(rf"(?:^|[^\w]){verb}\b", says) for verb in VERBS)
    assert "None" not in case.remedy and "{" not in case.remedy.replace("{12 N", "")
