"""The usual cautions for each hazard that a bulletin can name.

Each gives what a safety message needs by ANSI Z535.6: signal word, the nature of the hazard, the
consequence of not avoiding it, and how to avoid it; and to whom it defers (local code, licensed
practice). Words and order are data, in ``data/hazards.json``. The scald time at 60 °C (140 °F, six
seconds for adults) is that of CPSC document 5098, "Tap Water Scalds".
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from kb.resources import data

WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")


@dataclass(frozen=True, slots=True)
class Hazard:
    """The usual caution for one hazard. *word* is a signal word in capitals."""

    name: str
    word: str
    title: str
    nature: str
    consequence: str
    avoid: tuple[str, ...]
    defer: str

    @property
    def alerts(self) -> bool:
        """Tell whether the safety-alert symbol stands before the word: never with NOTICE."""
        return self.word != "NOTICE"


@cache
def hazards() -> Mapping[str, Hazard]:
    """Return every hazard by name."""
    rows = json.loads(data("hazards.json").read_text("utf-8"))
    return {
        name: Hazard(name=name, **{**row, "avoid": tuple(row["avoid"])})
        for name, row in rows.items()
    }


def cautions(names: Iterable[str]) -> tuple[Hazard, ...]:
    """Return the cautions for these hazards, the gravest signal word first."""
    known = hazards()
    found = {name: known[name] for name in names if name in known}
    return tuple(
        sorted(found.values(), key=lambda h: (WORDS.index(h.word), list(known).index(h.name)))
    )
