"""A small house for visits and round-ups, with commands run against it in this process."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from kb.cli import kb
from tests.conftest import SMALL_HOUSE

TODAY = "2026-11-25"
UNIT = ("--model", "TD45A3", "--serial", "K P 14 00031")  # built 2022-W14 at Kirkholm

PARTS = """\
number,name,component,status,replaced_by,relation,models,since,note
HR-310-4120,"Drain pump, first form",drain pump,gone,HR-310-4126,forward,,2019-W08,
HR-310-4126,"Drain pump, sealed rotor",drain pump,running-out,,,,,
HR-310-4144,Non-return valve,drain pump,current,,,,,
HR-310-1204,Filter cylinder,filter,gone,HR-310-1223,kit,,,
HR-310-1216,Filter mesh,filter,gone,HR-310-1223,kit,,,
HR-310-1223,Filter set,filter,current,,,,,
HR-310-7318,Main control,main control,current,,,,,
HR-310-7620,Pump connector,connector,current,,,,,
HR-310-6320,Door spring,door,current,,,,,
HR-310-6321,Door cord,door,gone,,,,,
"""

PUMP = """\
---
number: 2024-001
title: Drain pump hums but moves no water
kind: repair
issued: 2024-02-05
family: Tarn
component: [drain pump, connector]
symptoms: [hums but does not drain]
codes: [E21]
hazards: [hot-water, electricity]
tools: [star driver T20, Jug]
consumables: [silicone grease]
minutes: 30
checks:
  - {cause: connector loose, test: pull each wire, likelihood: 0.5, minutes: 5, fix: seat it}
  - {cause: rotor slips, test: turn it, likelihood: 0.3, minutes: 6, parts: [HR-310-4120]}
  - {cause: valve stuck, test: lift it, likelihood: 0.1, minutes: 4, parts: [HR-310-4144]}
keep: [HR-310-7318]
parts:
  - {number: HR-310-4120, quantity: 1, in-hand: yes}
---
Something holds the rotor. See to the connector first.
"""

DOOR = """\
---
number: 2024-002
title: Door falls open with a bang
kind: repair
issued: 2024-03-04
revised: 2026-02-10
family: Tarn
component: door
symptoms: [door drops, falls open]
hazards: [heavy, sharp-edges]
tools: [star driver t20]
checks:
  - {cause: spring broken, test: look behind the plinth, likelihood: 0.6, minutes: 4,
     parts: [HR-310-6320]}
  - {cause: cord off its wheel, test: look at the wheel, likelihood: 0.2, minutes: 8,
     parts: [HR-310-6321]}
parts:
  - {number: HR-310-6320, quantity: 2, all: yes, note: both sides}
---
Springs age alike. Never work under an open door that nothing holds.
"""

FILTER = """\
---
number: 2025-003
title: Filter clogged, gritty glasses
kind: repair
issued: 2025-01-13
family: Tarn
component: filter
symptoms: [gritty glasses]
parts:
  - {number: HR-310-1204, quantity: 1}
  - {number: HR-310-1216, quantity: 1}
---
The mesh lets sand pass once it is worn.
"""

RECALL = """\
---
number: 2026-004
title: Recall, connector of the pump runs hot
kind: safety
issued: 2026-02-02
family: Tarn
built: 2022-W10..2022-W20
plant: K
component: connector
symptoms: [smells of burning]
hazards: [electricity]
tools: [crimping tool]
minutes: 12
parts:
  - {number: HR-310-7620, in-hand: yes}
---
**Recall.** The connector runs hot. Pull the plug.
"""

HOSE = """\
---
number: 2026-005
title: Inlet hoses of ten years
kind: safety
issued: 2026-05-04
models: [TD45A, TD45B, TD60A, TD60B]
component: inlet hose
hazards: [pressure]
age: {years: 10, advice: "Renew the inlet hose."}
---
Old hoses burst.
"""

NORMAL = """\
---
number: 2026-006
title: A cup of water in the sump belongs there
kind: normal
issued: 2026-01-12
family: Tarn
component: sump
symptoms: [water in the sump]
---
It keeps the pump's seal from drying out. Tell the owner so.
"""

WASHER = """\
---
number: 2026-007
title: Two connectors for the washers
kind: running-change
issued: 2026-03-31
family: [Cairn, Tarn]
component: connector
supersedes: [2023-008]
---
From January 2026 both families carry the same connector.
"""

OLD = """\
---
number: 2023-008
title: One connector for the washers
kind: parts
issued: 2023-06-05
revised: 2026-01-05
family: Cairn
component: connector
---
Superseded by a later one.
"""

WITHDRAWN = """\
---
number: 2026-009
title: Washers that wander
kind: repair
status: withdrawn
issued: 2026-02-20
family: Cairn
component: feet
symptoms: [wanders]
---
Not so.
"""

DRAFT = """\
---
number: 2026-010
title: Draft about the pump that hums
kind: repair
status: draft
issued: 2026-02-21
family: Tarn
component: drain pump
symptoms: [hums but does not drain]
parts:
  - {number: HR-310-7318}
---
Not yet.
"""

HOUSE: dict[str, str] = {
    **SMALL_HOUSE,
    "reference/parts.csv": PARTS,
    "2024/2024-001.md": PUMP,
    "2024/2024-002.md": DOOR,
    "2025/2025-003.md": FILTER,
    "2026/2026-004.md": RECALL,
    "2026/2026-005.md": HOSE,
    "2026/2026-006.md": NORMAL,
    "2026/2026-007.md": WASHER,
    "2023/2023-008.md": OLD,
    "2026/2026-009.md": WITHDRAWN,
    "2026/2026-010.md": DRAFT,
}


def write_house(folder: Path, files: Mapping[str, str] = HOUSE) -> Path:
    """Write a house into *folder* and return it."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Told:
    """What a command said, and how it ended."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """The one JSON object on standard output."""
        answer: dict[str, Any] = json.loads(self.out)
        return answer


def run(*words: object, today: str = TODAY) -> Told:
    """Run `kb` with these words on *today*."""
    done = CliRunner().invoke(kb, ["--today", today, *map(str, words)], prog_name="kb")
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return Told(done.exit_code, done.stdout, done.stderr)
