"""The reference tables of the large house: families, models, serial schemes, parts and kits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice, product
from random import Random

from tests.bench.big_words import EVERYWHERE, KEPT, PRODUCTS, towns

# Schemes: name -> (lines of serials.yaml, letters of its plants).
SCHEMES = {
    "ridge": (
        "layout: P Y WW NNNNN\nplant: {K: Kelrigg works, L: Langmere works}\n"
        "year: {letters: ABCDEFHJKLMNPRSTUVWX, first: 2010}\nweek: iso\nused: 2010..\n"
        "examples: [{serial: K P 14 00031, plant: K, built: 2022-W14, sequence: 31}]",
        "KL",
    ),
    "dale": (
        "layout: YY JJJ P NNNN\nplant: {K: Kelrigg works, S: Saldenford works}\nused: 2008..\n"
        "examples: [{serial: 18 045 K 0117, plant: K, built: 2018-02-14, sequence: 117}]",
        "KS",
    ),
    "ghyll": (
        "layout: P WW Y NNNNN\nplant: {L: Langmere works, S: Saldenford works}\nweek: jan-1\n"
        "used: 2012..\n"
        "examples: [{serial: S 07 3 00412, plant: S, built: 2023-02-12..2023-02-18}]",
        "LS",
    ),
    "spur": (
        "layout: P YYYY M NNNNNN\nplant: {A: Aldbury works, B: Bramley works}\n"
        "month: {letters: 123456789OND}\nused: 2009..\n"
        "examples: [{serial: A 2021 O 000123, plant: A, built: 2021-10, sequence: 123}]",
        "AB",
    ),
}
_NAMES = [
    "Ash",
    "Birch",
    "Cove",
    "Delph",
    "Esk",
    "Fell",
    "Glen",
    "Howe",
    "Isle",
    "Keld",
    "Lathe",
    "Mell",
    "Ness",
    "Orrest",
    "Pike",
    "Raise",
    "Seat",
    "Tarn",
    "Ure",
    "Wath",
]
_ENDS = ["dale", "mark", "stone", "wood", ""]
_STATUS = (("current", 80), ("running-out", 8), ("gone", 10), ("pending", 2))


@dataclass
class Line:
    """One family: what the bulletins need to know of it."""

    name: str
    product: str
    models: list[str]
    first: int
    last: int | None
    schemes: tuple[str, ...]
    components: list[str]
    codes: list[str]
    parts: dict[str, list[str]] = field(default_factory=dict)

    @property
    def plants(self) -> str:
        """The plants' letters."""
        return "".join(sorted(set("".join(SCHEMES[name][1] for name in self.schemes))))


def families(rng: Random, models: int) -> list[Line]:
    """Return 60 to 100 families for a large house, fewer for a small one."""
    number = min(models, max(4, min(80, models // 6)))
    names = islice((a + b for b in reversed(_ENDS) for a in _NAMES), number)
    starts = islice(product("BCDFGHJKLMNPRSTVWXZ", "ADEHKLNPRTX"), None, None, 2)
    lines = []
    for at, (name, start) in enumerate(zip(names, starts, strict=False)):
        sort = list(PRODUCTS)[at % len(PRODUCTS)]
        share = models * (at + 1) // number - models * at // number
        lines.append(_family(rng, name, sort, "".join(start), share))
    return lines


def _family(rng: Random, name: str, sort: str, start: str, models: int) -> Line:
    first = rng.randint(2010, 2021)
    shapes = (f"{start}{size}{letter}" for letter in "ABCDEHKMPSTW" for size in range(30, 100, 5))
    prefix = rng.choice("EFC") + rng.choice(("", "-"))
    return Line(
        name=name,
        product=sort,
        models=sorted(islice(shapes, models)),
        first=first,
        last=rng.choice((None, None, None, min(2026, first + rng.randint(5, 9)))),
        schemes=tuple(
            rng.sample(["ridge", "dale", "spur"], 1) if rng.random() < 0.7 else ["dale", "ghyll"]
        ),
        components=[*PRODUCTS[sort].split(", "), *EVERYWHERE.split(", ")],
        codes=sorted(f"{prefix}{n:02}" for n in rng.sample(range(1, 90), rng.randint(8, 30))),
    )


def families_yaml(lines: list[Line]) -> str:
    """Return families.yaml."""
    return "\n".join(
        f"{line.name}:\n  product: {line.product}\n  models: [{', '.join(line.models)}]\n"
        f"  produced: {line.first}-03..{line.last or ''}\n  scheme: {_uses(line)}\n"
        f"  codes: [{', '.join(line.codes)}]\n"
        for line in lines
    )


def _uses(line: Line) -> str:
    if len(line.schemes) == 1:
        return line.schemes[0]
    turn = line.first + 3
    return f"{{{line.schemes[0]}: ..{turn}-06, {line.schemes[1]}: {turn}-01..}}"


def serials_yaml() -> str:
    """Return serials.yaml."""
    return "\n".join(
        f"{name}:\n" + "".join(f"  {row}\n" for row in rows.split("\n"))
        for name, (rows, _) in SCHEMES.items()
    )


def words_yaml() -> str:
    """Return words.yaml with a few rings of this house."""
    return "same:\n  - [sump, well, pump pit]\n  - [lint, fluff]\nspelled:\n  gaskit: gasket\n"


def parts_csv(rng: Random, lines: list[Line], number: int) -> str:
    """Return parts.csv, and note in each family which numbers can be ordered, by component."""
    rows = ["number,name,component,status,replaced_by,relation,models,since,note"]
    for at, line in enumerate(lines):
        share = number * (at + 1) // len(lines) - number * at // len(lines)
        rows.extend(_part_rows(rng, line, f"{at + 110}", share))
    return "\n".join(rows) + "\n"


def _part_rows(rng: Random, line: Line, block: str, number: int) -> Iterator[str]:
    """Yield the rows of one family; each may be replaced by one that comes after it."""
    serials = sorted(rng.sample(range(1000, 10000), min(number, 9000)))
    numbers = [f"{block}-{serial}" for serial in serials]
    for at, own in enumerate(numbers):
        component = line.components[at % len(line.components)]
        status = rng.choices([s for s, _ in _STATUS], [w for _, w in _STATUS])[0]
        after = numbers[at + len(line.components) :: len(line.components)][:3]
        kit = f"{block}-K{at // 40:03}" if at % 40 == 39 else ""
        row = _row(rng, line, own, component, status, after, kit)
        if row[3] == "current" and not row[4]:
            line.parts.setdefault(component, []).append(own)
        yield ",".join(row)
        if kit:
            yield f"{kit},Kit for {component},{component},current,,,,,"


def _row(
    rng: Random, line: Line, own: str, component: str, status: str, after: list[str], kit: str
) -> list[str]:
    where = rng.choice(towns()[:60])
    name = f"{component[0].upper()}{component[1:]} {where} {rng.randint(1, 99)}"
    models = f"{line.models[0][:2]}??{rng.choice(line.models)[-1]}" if rng.random() < 0.3 else ""
    since = f"{rng.randint(line.first, 2025)}-W{rng.randint(1, 52):02}"
    note = f"with {rng.choice(line.components)}" if rng.random() < 0.1 else ""
    if kit:
        return [own, name, component, "gone", kit, "kit", "", since, note]
    if not after or status in ("current", "pending"):
        fit = "current" if status in ("gone", "running-out") else status
        return [own, name, component, fit, "", "", models, "", note]
    relation = rng.choice(("same", "forward", "forward"))
    return [own, name, component, status, rng.choice(after), relation, "", since, note]


def kits_csv(parts: str) -> str:
    """Return kits.csv: each kit holds the part that it took the place of, and the one before it."""
    rows = ["kit,number,quantity"]
    before = ""
    for row in parts.splitlines()[1:]:
        cells = row.split(",")
        if cells[5] == "kit":
            rows += [f"{cells[4]},{cells[0]},1", *([f"{cells[4]},{before},2"] if before else [])]
        before = cells[0] if cells[3] == "current" and "-K" not in cells[0] else ""
    return "\n".join(rows) + "\n"


def kept(line: Line) -> list[str]:
    """Return the components that bulletins of this house say to leave in."""
    return [name for name in KEPT.split(", ") if name in line.components]
