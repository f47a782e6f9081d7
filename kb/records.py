"""The frozen records that pass from stage to stage. Nothing here reads, decides or prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Literal, NamedTuple

from kb.dates import Days
from kb.errors import Problem
from kb.pickled import pickled_by_values

Kind = Literal["repair", "running-change", "introduction", "normal", "safety", "parts", "reference"]
Status = Literal["draft", "in-force", "withdrawn"]
PartStatus = Literal["current", "running-out", "pending", "gone"]
Relation = Literal["same", "forward", "kit", "changed"]

KINDS: tuple[Kind, ...] = (
    "repair",
    "running-change",
    "introduction",
    "normal",
    "safety",
    "parts",
    "reference",
)
STATUSES: tuple[Status, ...] = ("draft", "in-force", "withdrawn")
PART_STATUSES: tuple[PartStatus, ...] = ("current", "running-out", "pending", "gone")
RELATIONS: tuple[Relation, ...] = ("same", "forward", "kit", "changed")
HAZARDS: tuple[str, ...] = (
    "electricity",
    "gas",
    "refrigerant",
    "hot-water",
    "hot-surface",
    "sharp-edges",
    "moving-parts",
    "heavy",
    "pressure",
    "chemicals",
)

ALWAYS = Days()


@pickled_by_values
@dataclass(frozen=True, slots=True)
class Count:
    """A range of whole numbers, both ends included; ``None`` leaves an end open."""

    low: int | None = None
    high: int | None = None

    def __contains__(self, number: int) -> bool:
        return (self.low is None or self.low <= number) and (
            self.high is None or number <= self.high
        )


@pickled_by_values
@dataclass(frozen=True, slots=True)
class SerialRange:
    """Whole serials from *first* to *last* as typed; a single serial has both the same."""

    first: str
    last: str


@pickled_by_values
@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One way in which a bulletin applies: every condition given must hold, none of *but_not*.

    Empty tuples and ``None`` mean "not given". *families* stand as in families.yaml, *models* are
    patterns as typed, *plants* plant codes in capitals.
    """

    families: tuple[str, ...] = ()
    models: tuple[str, ...] = ()
    revision: Count | None = None
    built: Days | None = None
    plants: tuple[str, ...] = ()
    serials: tuple[SerialRange, ...] = ()
    but_not: tuple[Block, ...] = ()


@pickled_by_values
@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check of a fault-finding list. *likelihood* is 0..1, *minutes* is above 0."""

    cause: str
    test: str = ""
    likelihood: float = 0.0
    minutes: float = 1.0
    fix: str = ""
    parts: tuple[str, ...] = ()
    last: bool = False
    before: tuple[str, ...] = ()


@pickled_by_values
@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """A part that a bulletin asks for, under the number as typed."""

    number: str
    quantity: int = 1
    in_hand: bool = False
    all: bool = False
    note: str = ""


@pickled_by_values
@dataclass(frozen=True, slots=True)
class Coverage:
    """A change of warranty term: *years* for *component*, from ``purchase`` or ``built``."""

    component: str
    years: float
    start: Literal["purchase", "built"]


@pickled_by_values
@dataclass(frozen=True, slots=True)
class Age:
    """Advice that falls due when a unit is *years* old."""

    years: float
    advice: str


@pickled_by_values
@dataclass(frozen=True, slots=True, kw_only=True)
class Bulletin:
    """One bulletin as read and checked.

    *file* is the path below the house; *lines* maps a front-matter path (``built``,
    ``checks[0].cause``, ``symptoms[1]``) to its line; *body_line* is the line of the body's start.
    """

    number: str
    title: str
    kind: Kind
    issued: date
    component: tuple[str, ...]
    where: tuple[Block, ...]
    body: str = ""
    revised: date | None = None
    status: Status = "in-force"
    summary: str = ""
    supersedes: tuple[str, ...] = ()
    related: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()
    minutes: float | None = None
    checks: tuple[Check, ...] = ()
    keep: tuple[str, ...] = ()
    parts: tuple[PartLine, ...] = ()
    coverage: Coverage | None = None
    age: Age | None = None
    file: str = ""
    body_line: int = 1
    lines: Mapping[str, int] = field(default_factory=dict, compare=False, hash=False)

    def line(self, path: str) -> int:
        """Return the line of a front-matter path, of its nearest parent, or 1."""
        while path:
            if path in self.lines:
                return self.lines[path]
            cut = max(path.rfind("."), path.rfind("["))
            path = path[:cut] if cut > 0 else ""
        return 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Scheme:
    """A serial scheme: a layout of fixed places and what the characters in them mean.

    *layout* holds one letter a character (``PYWWNNNNN``), blanks removed. *year_letters* is empty
    where years are digits. *week* is ``iso`` or ``jan-1``.
    """

    name: str
    layout: str
    plants: Mapping[str, str] = field(default_factory=dict)
    year_letters: str = ""
    year_first: int = 0
    month_letters: str = ""
    week: Literal["iso", "jan-1"] = "iso"
    used: Days = ALWAYS
    examples: tuple[Example, ...] = ()
    line: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A serial whose reading is known; proved on every run."""

    serial: str
    plant: str | None = None
    built: Days | None = None
    sequence: int | None = None
    line: int = 1


@dataclass(frozen=True, slots=True)
class SchemeUse:
    """A scheme as one family uses it, cut to *used*."""

    name: str
    used: Days = ALWAYS


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A product line that shares its construction."""

    name: str
    product: str
    models: tuple[str, ...]
    produced: Days
    schemes: tuple[SchemeUse, ...]
    line: int = 1
    lines: Mapping[str, int] = field(default_factory=dict, compare=False, hash=False)
    components: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()


class PartRow(NamedTuple):
    """One row of parts.csv. *since* is kept as a stretch of days; *models* are patterns."""

    number: str
    name: str
    component: str = ""
    status: PartStatus = "current"
    replaced_by: str = ""
    relation: Relation | None = None
    models: tuple[str, ...] = ()
    since: Days | None = None
    since_text: str = ""
    note: str = ""
    line: int = 1


class KitRow(NamedTuple):
    """One row of kits.csv: *quantity* of part *number* lie in *kit*."""

    kit: str
    number: str
    quantity: int = 1
    line: int = 1


@dataclass(frozen=True, slots=True)
class HouseWords:
    """words.yaml: rings of words that mean the same, and spellings put right."""

    same: tuple[tuple[str, ...], ...] = ()
    spelled: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """Everything read from one house, frozen, with every problem met while reading it.

    *bulletins* holds those that are sound, by file; *unsound* those with errors, as far as they
    could be read, so that the rules can say what else is wrong with them; *files* every file of the
    house (path below the house), pictures included.
    """

    folder: Path
    name: str = ""
    language: str = "en"
    units: Literal["metric", "us"] = "metric"
    site: str = ""
    contact: str = ""
    families: Mapping[str, Family] = field(default_factory=dict)
    schemes: Mapping[str, Scheme] = field(default_factory=dict)
    parts: tuple[PartRow, ...] = ()
    kits: tuple[KitRow, ...] = ()
    words: HouseWords = HouseWords()
    bulletins: tuple[Bulletin, ...] = ()
    files: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    components: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    unsound: tuple[Bulletin, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to read a serial: *built* has both ends set; *code_days* is before any cut."""

    scheme: str
    plant: str | None
    built: Days
    sequence: int | None
    code_days: Days


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One machine as far as it is known.

    *readings* is empty where no serial was given or none could be read; *unreadable* then says
    why and what a sound one looks like. *revision* is None where the digit is not known.
    """

    model: str
    family: Family
    revision: int | None = None
    serial: str = ""
    readings: tuple[Reading, ...] = ()
    unreadable: str = ""


Verdict = Literal["yes", "no", "maybe"]


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a bulletin applies to a unit, why in words, and what would settle a maybe."""

    applies: Verdict
    why: str
    settle: str = ""
